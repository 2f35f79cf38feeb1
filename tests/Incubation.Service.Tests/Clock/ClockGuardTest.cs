using System.Text.Json;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Service.Alarms;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.Tests.Support;
using Incubation.TestKit;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Service.Tests.Clock;

/// <summary>
/// The server's time against the log, the tablets and the machine, and what is held while they disagree.
/// </summary>
public sealed class ClockGuardTest
{
    private readonly FakeTimeProvider time = new(BenchRig.Start.ToDateTimeOffset());
    private static readonly JsonSerializerOptions Options = new JsonSerializerOptions()
        .ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);
    private readonly ClockGuard guard;

    public ClockGuardTest() =>
        guard = new ClockGuard(new BenchClock(time, 1), () => DateTimeZone.Utc, isRealTime: true);

    [Theory]
    [InlineData(-86400, false)]
    [InlineData(5, false)]
    [InlineData(5.001, true)]
    public void CompareWithLog_LastEventSoFarAhead_InDoubtBeyondFiveSeconds(double ahead, bool doubted)
    {
        guard.CompareWithLog(BenchRig.Start + Duration.FromSeconds(ahead));
        Assert.Equal(doubted, guard.Doubt is not null);
    }

    [Theory]
    [InlineData(-5.001, true)]
    [InlineData(-5, false)]
    [InlineData(5, false)]
    [InlineData(5.001, true)]
    public void CompareWithTablet_ClockSoFarOff_InDoubtBeyondFiveSeconds(double ahead, bool doubted)
    {
        guard.CompareWithTablet("tablet-1", BenchRig.Start + Duration.FromSeconds(ahead));
        Assert.Equal(doubted, guard.Doubt is not null);
    }

    [Fact]
    public void CompareWithTablet_SecondTime_IsNotComparedAgain()
    {
        guard.CompareWithTablet("tablet-1", BenchRig.Start);
        guard.CompareWithTablet("tablet-1", BenchRig.Start + Duration.FromHours(1));
        Assert.Null(guard.Doubt);
        guard.CompareWithTablet("tablet-2", BenchRig.Start + Duration.FromHours(1));
        Assert.NotNull(guard.Doubt);
    }

    [Fact]
    public void CompareWithTablet_TimeRunsFaster_IsNotCompared()
    {
        var demo = new ClockGuard(new BenchClock(time, 30), () => DateTimeZone.Utc, isRealTime: false);
        demo.CompareWithTablet("tablet-1", BenchRig.Start + Duration.FromHours(1));
        Assert.Null(demo.Doubt);
    }

    [Fact]
    public void CompareWithMachine_SetAndSetBack_AgreesAgainByItself()
    {
        var changes = 0;
        guard.Changed += () => changes++;
        guard.CompareWithMachine(Duration.FromMinutes(-3));
        guard.CompareWithMachine(Duration.FromMinutes(-3));
        Assert.NotNull(guard.Doubt);
        guard.CompareWithMachine(Duration.Zero);
        Assert.Null(guard.Doubt);
        Assert.Equal(2, changes);
    }

    [Fact]
    public void Confirm_SeveralDisagree_AllSettled()
    {
        guard.CompareWithLog(BenchRig.Start + Duration.FromHours(1));
        guard.CompareWithTablet("tablet-1", BenchRig.Start + Duration.FromHours(1));
        Assert.Equal(2, guard.Faults.Count);
        guard.Confirm();
        Assert.Null(guard.Doubt);
        Assert.Empty(guard.Faults);
    }

    [Fact]
    public async Task Runner_TimeInDoubt_ReadIsNotJudgedAndItsResultHeld()
    {
        await using var bench = await InDoubtAfter(Duration.FromMinutes(20));
        // Long after the window has closed, by a clock that may be wrong.
        var runner = bench.Book.Find(BenchRig.Id.Value)!;
        await Must(bench, runner,
            new BenchCommand.ReadStarted(new RequestId("R1"), new ReaderNumber(1), StatedInTime: false));
        await Must(bench, runner, new BenchCommand.Cleared(new RequestId("R1"), new ReaderNumber(1)));
        await Must(bench, runner, new BenchCommand.ResultEntered(new RequestId("R1"), new ShownResult.Value("3.1")));

        var cartridge = runner.Present.State.Find(new RequestId("R1"))!;
        Assert.Contains(Deviation.ClockInDoubt, cartridge.Deviations);
        Assert.DoesNotContain(Deviation.LateRead, cartridge.Deviations);
        Assert.Null(cartridge.ReadInWindow);
        Assert.True(bench.Log.Entries.Select(entry => entry.Event).OfType<BenchEvent.ResultEntered>().Single().Held);
    }

    [Fact]
    public async Task Runner_TimeInDoubt_RecordsExactlyWhatWasDecided()
    {
        await using var bench = await InDoubtAfter(Duration.FromMinutes(20));
        var runner = bench.Book.Find(BenchRig.Id.Value)!;
        await Must(bench, runner,
            new BenchCommand.ReadStarted(new RequestId("R1"), new ReaderNumber(1), StatedInTime: false));
        var entries = bench.Log.Entries;
        var at = entries.ToList().FindLastIndex(entry => entry.Event is BenchEvent.ReadStarted);
        var recorded = entries.Where(entry => entry.Provenance.Id == entries[at].Provenance.Id).ToList();
        var before = entries.TakeWhile(entry => entry.Provenance.Id != entries[at].Provenance.Id)
            .Aggregate((BenchState?)null, LiveBench.Apply);
        Assert.True(recorded[0].Provenance.ClockInDoubt);
        var decided = Assert.IsType<Decision.Accepted>(LiveBench.Decide(
            before, new BenchCommand.ReadStarted(new RequestId("R1"), new ReaderNumber(1), StatedInTime: false),
                recorded[0].Provenance));
        Assert.Equal(decided.Events.Select(Text), recorded.Select(entry => Text(entry.Event)));

        static string Text(BenchEvent happened) => JsonSerializer.Serialize(happened, happened.GetType(), Options);
    }

    [Fact]
    public async Task Runner_TimeInDoubt_NoPlanGivesACartridgeUpUntilConfirmed()
    {
        await using var bench = await InDoubtAfter(Duration.FromMinutes(20));
        var runner = bench.Book.Find(BenchRig.Id.Value)!;
        await Must(bench, runner, new BenchCommand.CardChanged(new ReaderNumber(1), new LotCode("DA-L1")));
        Assert.Empty(runner.Present.State.Adopted!.Plan.Lost);

        var planned = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        bench.Book.Changed += view =>
        {
            if (view.State.Adopted!.Plan.Lost.Count > 0)
                planned.TrySetResult();
        };
        guard.Confirm();
        await planned.Task.WaitAsync(Patience.Usual, TestContext.Current.CancellationToken);
    }

    [Fact]
    public void Alarms_TimeInDoubt_TheClocksAndNothingCalledLost()
    {
        static Alarm Raised(AlarmKind kind) =>
            new(new AlarmKey(kind, new RequestId("R1")), BenchRig.Start, null, null, false);
        using var beside = new Beside(guard);
        var kinds = new[] { AlarmKind.WindowClosed, AlarmKind.WindowInDanger, AlarmKind.CartridgeAstray };
        Assert.DoesNotContain(kinds, kind => beside.Host.Withholds(Raised(kind)));
        Assert.Null(ClockText.Alarm(guard.Doubt));

        guard.CompareWithLog(BenchRig.Start + Duration.FromHours(1));
        Assert.Equal([AlarmKind.WindowClosed], kinds.Where(kind => beside.Host.Withholds(Raised(kind))));
        var shown = AlarmText.Write(ClockText.Alarm(guard.Doubt)!);
        Assert.StartsWith("clock/2026-03-02T", shown.Id, StringComparison.Ordinal);
        Assert.Contains("2026-03-02 09:00:00", shown.Text, StringComparison.Ordinal);
    }

    private sealed record Doubted(BenchRegistry Book, FakeBenchLog Log) : IAsyncDisposable
    {
        public ValueTask DisposeAsync() => Book.DisposeAsync();
    }

    /// <summary>
    /// A bench with one cartridge reacting, continued so much later by a server whose time is in doubt.
    /// </summary>
    private async Task<Doubted> InDoubtAfter(Duration length)
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromSeconds(50));
        await rig.Must(new BenchCommand.Mixed(new RequestId("R1")));
        rig.Advance(Duration.FromSeconds(25));
        await rig.Must(new BenchCommand.Loaded(new RequestId("R1"), new CartridgePlace.InSlot(new SlotNumber(1)),
            TimeStated: false));
        var entries = rig.Log.Entries;
        time.Advance((rig.Now - BenchRig.Start + length).ToTimeSpan());
        guard.CompareWithTablet("tablet-1", BenchRig.Start);

        var log = new FakeBenchLog();
        await log.AppendAsync(BenchRig.Id, 0, entries, CancellationToken.None);
        var book = new BenchRegistry(log, new BenchClock(time, 1), () => new IterationBudget(50),
            NullLogger<BenchRunner>.Instance, guard);
        Assert.True(book.Continue(entries));
        return new Doubted(book, log);
    }

    private async Task Must(Doubted bench, BenchRunner runner, BenchCommand command)
    {
        time.Advance(TimeSpan.FromSeconds(20));
        var now = Instant.FromDateTimeOffset(time.GetUtcNow());
        var provenance = new Provenance(new ReportId(Guid.NewGuid().ToString("N")), now, now, new PersonId("aide"),
            new DeviceId("tablet-1"));
        var answer = await runner.SendAsync(command, provenance);
        Assert.True(answer.Recorded, answer.Sentence);
        Assert.NotEmpty(bench.Log.Entries);
    }
}
