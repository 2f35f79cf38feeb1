using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records;
using Incubation.Service.Alarms;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Service.Tests.Benches;

/// <summary>A bench that cannot plan: what it says, and that it goes on.</summary>
public sealed class PlanTroubleTest : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-trouble-").FullName;
    private readonly DataFile file;
    private readonly ClinicHost clinic;

    public PlanTroubleTest()
    {
        file = DataFile.Open(Path.Combine(folder, "a.db"));
        clinic = new ClinicHost(file);
    }

    private static Instant LastInstant { get; } = Instant.FromUtc(9999, 12, 31, 23, 59, 59);

    public void Dispose()
    {
        file.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task Add_ReadyOnTheLastDay_SetAsideInWordsAndTheUrgentOnePlanned()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(ReadyAt("R1", LastInstant), BenchRig.Request("R2", priority: Priority.Urgent));

        Assert.Equal(new RequestId("R2"), rig.Runner.Present.View.Offers[0].Action.Subject);
        var snapshot = Snapshot(rig);
        var left = Assert.Single(snapshot.NotPlanned);
        Assert.Equal(("SP-R1", "set-aside",
            "set aside: ready on 9999-12-31, later than the 14 days that plans look ahead"),
            (left.Specimen, left.Cause, left.Text));
        var alarm = Assert.Single(snapshot.Alarms);
        Assert.Equal(("set-aside/R1", true, "SP-R1 is set aside", "R1"),
            (alarm.Id, alarm.Line, alarm.Title, alarm.Request));
        Assert.Contains("ready only on 9999-12-31", alarm.Text, StringComparison.Ordinal);

        await rig.Must(new BenchCommand.WithdrawRequest(new RequestId("R1")));
        await rig.Until(view => view.State.Run.Trouble is null);
        Assert.Empty(Snapshot(rig).Alarms);
        Assert.Empty(Snapshot(rig).NotPlanned);
    }

    [Fact]
    public async Task InWork_NoPlanCanBeMade_AlarmWithItsWindowUntilItIsGone()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R2"), Endless("R1"));
        Assert.Equal("set aside: no plan can be made with it", Assert.Single(Snapshot(rig).NotPlanned).Text);

        // Somebody runs it all the same.
        await rig.Must(new BenchCommand.Mixed(new RequestId("R1")));
        rig.Advance(Duration.FromSeconds(25));
        await rig.Must(new BenchCommand.Loaded(new RequestId("R1"), new CartridgePlace.InSlot(new SlotNumber(3)),
            false));
        await rig.Until(view => view.State.Run.Trouble is { Works: false });

        var snapshot = Snapshot(rig);
        var alarm = snapshot.Alarms.Single(one => one.Id.StartsWith("cannot-plan/", StringComparison.Ordinal));
        Assert.Equal(("high", "No plan can be made", ""), (alarm.Priority, alarm.Title, alarm.Request));
        Assert.StartsWith("SP-R1 stands in the way.", alarm.Text, StringComparison.Ordinal);
        Assert.Equal(rig.Now + Duration.FromMinutes(8), snapshot.Slots[2].Opens);
        Assert.Equal(snapshot.Slots[2].Opens,
            snapshot.Alarms.Single(one => one.Id == "window-in-danger/R1").From);
        var restarted = rig.Again();
        await using (restarted)
            Assert.False(restarted.State.Run.Trouble!.Works);

        await rig.Must(new BenchCommand.Discarded(new RequestId("R1"), DiscardReason.WindowClosed, null));
        await rig.Until(view => view.State.Run.Trouble is null && !view.View.Offers.IsEmpty);
        Assert.DoesNotContain(Snapshot(rig).Alarms, one => one.Id.StartsWith("cannot", StringComparison.Ordinal));
    }

    [Fact]
    public async Task StepNotKnown_WhileTheLogCannotBeWritten_IsSaidAgainLater()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R2"));
        var (clock, log) = (new BenchClock(rig.Time, 1), rig.Log.Copy());
        var loop = new BenchLoop(rig.State, log, clock, () => new IterationBudget(50),
            () => new IterationBudget(50), () => rig.Provenance().Id, new Lines(),
            new ClockGuard(clock, () => DateTimeZone.Utc, isRealTime: true), SearchPolicy.Live, StepPatience.Usual);
        rig.Time.Advance(TimeSpan.FromMinutes(10));
        Assert.NotEmpty(LiveBench.NotKnown(loop.State, clock.Now, StepPatience.Usual));
        log.Next = FakeBenchLog.Write.Fails;

        var look = await loop.KeepTimeAsync();

        Assert.Empty(loop.State.NotKnown);
        Assert.InRange(loop.SleepAfter(look), Duration.FromSeconds(1), BenchLoop.RetryAfter);
    }

    /// <summary>
    /// A write that is told as failed and is in the log is read before anything else of the same moment is written.
    /// </summary>
    [Fact]
    public async Task StepsNotKnown_TheFirstWrittenAndToldAsFailed_TheSecondIsWrittenBehindIt()
    {
        await using var rig = await BenchRig.OpenAsync(readers: 2, hands: 2);
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"), BenchRig.Request("R3"));
        var (clock, lines, log) = (new BenchClock(rig.Time, 1), new Lines(), rig.Log.Copy());
        var loop = new BenchLoop(rig.State, log, clock, () => new IterationBudget(50),
            () => new IterationBudget(50), () => rig.Provenance().Id, lines,
            new ClockGuard(clock, () => DateTimeZone.Utc, isRealTime: true), SearchPolicy.Live, StepPatience.Usual);
        rig.Time.Advance(TimeSpan.FromMinutes(10));
        Assert.Equal(2, LiveBench.NotKnown(loop.State, clock.Now, StepPatience.Usual).Length);
        log.Next = FakeBenchLog.Write.FailsAfterTheDisk;

        await loop.KeepTimeAsync();
        log.Next = FakeBenchLog.Write.Succeeds;
        rig.Time.Advance(TimeSpan.FromSeconds(6));
        await loop.KeepTimeAsync();

        Assert.DoesNotContain(lines.Faults, fault => fault is InvalidOperationException);
        Assert.Equal(log.Entries.Count, loop.State.Revision);
        Assert.Equal(2, log.Entries.Count(entry => entry.Event is BenchEvent.StepNotKnown));
    }

    [Fact]
    public async Task Plan_RefusedAgainWhileTheLogCannotBeWritten_LoggedOnce()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R2"));
        var (clock, lines) = (new BenchClock(rig.Time, 1), new Lines());
        var loop = new BenchLoop(rig.State, rig.Log, clock, () => new IterationBudget(50),
            () => new IterationBudget(50), () => rig.Provenance().Id, lines,
            new ClockGuard(clock, () => DateTimeZone.Utc, isRealTime: true), SearchPolicy.Live,
            StepPatience.Usual);
        await loop.HearAsync(new CommandEnvelope(new BenchCommand.AddRequests([Endless("R1")]), rig.Provenance()));
        rig.Log.Next = FakeBenchLog.Write.Fails;

        for (var time = 1; time <= 3; time++)
        {
            await loop.KeepTimeAsync();
            rig.Time.Advance(TimeSpan.FromSeconds(6));
        }

        Assert.Single(lines.Said, line => line.Contains("PlanNotValid", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Wait_NothingCanBePlannedYet_TriedAgainByTime()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Must(new BenchCommand.NotePlanning(false, [], [], null));
        await rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1")]));

        await rig.UntilPlanned(PlanCause.RequestsChanged);

        Assert.Null(rig.State.Run.Trouble);
    }

    private BenchSnapshot Snapshot(BenchRig rig) =>
        new SnapshotWriter(clinic, new BenchClock(rig.Time, 1), new NoHostAlarms())
            .Write(rig.Runner.Present, Chart.LaneLayout.Wide);

    private static BenchRequest ReadyAt(string id, Instant ready)
    {
        var wanted = BenchRig.Request(id);
        return wanted with { Request = wanted.Request with { Ready = ready } };
    }

    /// <summary>Its clear ends so late that no plan with it is adopted.</summary>
    private static BenchRequest Endless(string id)
    {
        var wanted = BenchRig.Request(id, "DX");
        return wanted with { Assay = wanted.Assay with { Clear = Duration.FromDays(100) } };
    }
}
