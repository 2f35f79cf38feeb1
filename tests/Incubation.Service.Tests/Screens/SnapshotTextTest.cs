using Incubation.Bench;
using Incubation.Chart;
using Incubation.Model;
using Incubation.Records;
using Incubation.Service.Alarms;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using Incubation.Service.Tests.Support;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Tests.Screens;

/// <summary>What screens show, in words.</summary>
public sealed class SnapshotTextTest : IDisposable
{
    private static readonly RequestId R1 = new("R1");
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-words-").FullName;
    private readonly DataFile file;
    private readonly ClinicHost clinic;

    public SnapshotTextTest()
    {
        file = DataFile.Open(Path.Combine(folder, "a.db"));
        clinic = new ClinicHost(file);
    }

    public void Dispose()
    {
        file.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task Write_WholeCartridge_EachStepInWords()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1", priority: Priority.Urgent));
        var seen = new List<(string, string)>();
        while (rig.Runner.Present.View.Offers is [var offer])
        {
            var snapshot = Snapshot(rig);
            seen.Add((snapshot.Offers[0].Title, snapshot.Offers[0].Button));
            Assert.Null(snapshot.Batch.Idle);
            Assert.Equal(offer.Action is not StepAction.CardChange, snapshot.Offers[0].Urgent);
            if (Instant.Max(offer.ReportFrom, offer.PlannedEnd) is var at && at > rig.Now)
                rig.Advance(at - rig.Now);
            await rig.Must(Simulation.VirtualAide.ReportOf(offer.Action));
            await rig.Until(view => view.View.Offers.IsEmpty || view.View.Offers[0].Action != offer.Action);
        }

        Assert.Equal(
        [
            ("Change the card to DA-L1", "Card DA-L1 is in"),
            ("Clear the reader", "Cleared"),
            ("Load SP-R1 into slot 1", "Loaded"),
            ("Mix SP-R1", "Mixed"),
            ("Move slot 1 to the reader", "Moved, read started"),
        ], seen.Order());
    }

    [Fact]
    public async Task Write_TwoReadersTwoHands_NumbersSaid()
    {
        await using var rig = await BenchRig.OpenAsync(readers: 2, hands: 2);
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));

        var snapshot = Snapshot(rig);

        Assert.Equal("Hands 1", snapshot.Offers.Single(offer => offer.Hands == 1).HandsText);
        Assert.Contains(snapshot.Upcoming, coming => coming.Title.Contains("reader 1", StringComparison.Ordinal)
            || coming.Title.Contains("reader 2", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Write_UrgentInMidBatch_IsSaidUntilItIsMixed()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1", priority: Priority.Urgent));
        Assert.Empty(Snapshot(rig).Urgent);

        rig.Advance(Duration.FromSeconds(10));
        await rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R7", priority: Priority.Urgent),
            BenchRig.Request("R8")]));
        await rig.UntilPlanned(PlanCause.RequestsChanged);
        var said = Assert.Single(Snapshot(rig).Urgent);
        Assert.Equal("R7", said.Request);
        Assert.Matches("^Urgent: SP-R7, result by about [0-9:]+, begin at [0-9:]+$", said.Text);

        await rig.Must(new BenchCommand.Mixed(new RequestId("R7")));
        Assert.Empty(Snapshot(rig).Urgent);
    }

    [Theory]
    [InlineData(1, "1 request.")]
    [InlineData(2, "2 requests.")]
    public async Task Write_BeforeStart_ReadyWithLinkAndRightPlural(int requests, string words)
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Must(
            new BenchCommand.AddRequests(
                [.. Enumerable.Range(1, requests).Select(number => BenchRig.Request("R" + number))]));
        await rig.UntilPlanned(PlanCause.RequestsChanged);

        var idle = Snapshot(rig).Batch.Idle!;

        Assert.Equal("Ready to start", idle.Title);
        Assert.StartsWith(words, idle.Detail, StringComparison.Ordinal);
        Assert.Equal("batch/bench-1", idle.Link);
    }

    [Fact]
    public async Task Write_NoRequests_SaysWhatToDo()
    {
        await using var rig = await BenchRig.OpenAsync();

        Assert.Equal("No requests yet", Snapshot(rig).Batch.Idle!.Title);
    }

    [Fact]
    public async Task Write_LastCartridgeCleared_AsksForResultThenClosing()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        await RunToClear(rig);

        var missing = Snapshot(rig);
        Assert.Equal(("finished", "Enter 1 result"), (missing.Batch.Phase, missing.Batch.Idle!.Title));
        Assert.Equal("SP-R1", Assert.Single(missing.MissingResults).Specimen);

        await rig.Must(new BenchCommand.ResultEntered(R1, new ShownResult.Value("1.5")));
        await rig.Until(view => view.View.Totals.ResultsMissing == 0);
        var done = Snapshot(rig);
        Assert.Equal("Batch finished", done.Batch.Idle!.Title);
        Assert.Empty(done.MissingResults);
    }

    [Fact]
    public async Task Write_WindowClosed_AlarmWithItsTaps()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromSeconds(50));
        await rig.Must(new BenchCommand.Mixed(R1));
        rig.Advance(Duration.FromSeconds(25));
        await rig.Must(new BenchCommand.Loaded(R1, new CartridgePlace.InSlot(new SlotNumber(3)), false));
        rig.Advance(Duration.FromMinutes(11));
        await rig.Until(view => view.State.Adopted!.Plan.Lost.Count == 1);

        var alarm = Snapshot(rig).Alarms.Single(alarm => alarm.Id == "window-closed/R1");

        Assert.Equal("Slot 3: window closed", alarm.Title);
        Assert.Equal(("high", "Alarm", 1), (alarm.Priority, alarm.Word, alarm.Reader));
        Assert.Equal(["discard", "started-in-time", "acknowledge"], alarm.Actions);
        Assert.Equal(new AlarmKey(AlarmKind.WindowClosed, R1), AlarmText.Parse(alarm.Id));
    }

    [Fact]
    public async Task Write_AfterReport_UndoNamesItAndItsDevice()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        await rig.Must(new BenchCommand.Mixed(R1));
        await rig.Until(view => view.State.Find(R1)!.Phase is CartridgePhase.Mixed);

        var undo = Snapshot(rig).Undo!;

        Assert.Equal(("Undo: mixed SP-R1", "tablet-1"), (undo.Text, undo.Device));
    }

    [Fact]
    public async Task Write_WindowInDanger_OffersTheReadInThePlannedReader()
    {
        await using var rig = await BenchRig.OpenAsync(readers: 2);
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromSeconds(50));
        await rig.Must(new BenchCommand.Mixed(R1));
        rig.Advance(Duration.FromSeconds(25));
        await rig.Must(new BenchCommand.Loaded(R1, new CartridgePlace.InSlot(new SlotNumber(3)), false));
        await rig.Until(view => view.View.Alarms.Any(alarm => alarm.Key.Kind == AlarmKind.WindowInDanger));

        var alarm = Snapshot(rig).Alarms.Single(alarm => alarm.Id == "window-in-danger/R1");

        Assert.Equal(["read-started", "acknowledge"], alarm.Actions);
        Assert.Equal(rig.State.Adopted!.Plan.Steps.Select(step => step.Action).OfType<StepAction.Move>()
            .Single().Reader.Value, alarm.Reader);
        Assert.Equal(Escalation.At(alarm.From, alarm.Deadline), alarm.EscalatesAt);
    }

    [Fact]
    public async Task Write_MixtureInDanger_OffersTheLoadAsPlanned()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));
        rig.Advance(Duration.FromSeconds(50));
        // Mixed out of the plan's order: its load is not the hands' next step.
        var second = rig.State.Adopted!.Plan.Steps.Select(step => step.Action).OfType<StepAction.Mix>().Last().Request;
        await rig.Must(new BenchCommand.Mixed(second));
        await rig.Until(view => view.View.Alarms.Any(alarm => alarm.Key.Kind == AlarmKind.MixtureInDanger
            || alarm.Key.Kind == AlarmKind.MixtureTooOld));
        var planned = rig.State.Adopted!.Plan.Steps.Select(step => step.Action).OfType<StepAction.Load>()
            .Single(load => load.Request == second);

        var alarm = AlarmText.Write(rig.State,
            new Alarm(new AlarmKey(AlarmKind.MixtureInDanger, second), rig.Now, null, null, false), [],
            DateTimeZone.Utc);

        Assert.Equal(["loaded", "acknowledge"], alarm.Actions);
        Assert.Equal(((CartridgePlace.InSlot)planned.Place).Slot.Value, alarm.Slot);
    }

    [Fact]
    public async Task Write_MoreStepsThanAScreenShows_ThoseOfCartridgesInWorkAreThereForAScreenAlone()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin([.. Enumerable.Range(1, 4).Select(number => BenchRig.Request("R" + number))]);
        rig.Advance(Duration.FromSeconds(50));
        var first = ((StepAction.Mix)rig.Runner.Present.View.Offers[0].Action).Request;
        await rig.Must(new BenchCommand.Mixed(first));
        await rig.Until(view => view.View.Offers is [{ Action: StepAction.Load }]);

        var later = Snapshot(rig).Upcoming.Skip(8).ToList();

        Assert.NotEmpty(later);
        Assert.All(later, step => Assert.True(step.Kind == "card-change" || step.Request == first.Value));
        Assert.Contains(Snapshot(rig).Upcoming, step => step.Kind == "clear" && step.Request == first.Value);
    }

    [Fact]
    public void Prompts_OfTheTableOfConditions_AreTheStepsThatHandsAreOffered()
    {
        var (reader, slot) = (new ReaderNumber(1), new CartridgePlace.InSlot(new SlotNumber(1)));
        StepAction[] steps = [new StepAction.Mix(R1), new StepAction.Load(R1, slot), new StepAction.Move(R1, reader),
            new StepAction.Clear(R1, reader), new StepAction.CardChange(reader, new LotCode("L")),
            new StepAction.Discard(R1)];
        Assert.Equal(steps.Select(StepText.Kind), Conditions.Prompts.Select(prompt => prompt.Code));
    }

    public static TheoryData<AlarmKind> Kinds => [.. Enum.GetValues<AlarmKind>()];

    [Theory]
    [MemberData(nameof(Kinds))]
    public void AlarmId_EveryKind_ReadsBack(AlarmKind kind)
    {
        var key = new AlarmKey(kind, new RequestId("R/1"));

        Assert.Equal(key, AlarmText.Parse(AlarmText.IdOf(key)));
    }

    /// <summary>Those that the host raises bring their sentences with them.</summary>
    [Theory]
    [MemberData(nameof(Kinds))]
    public async Task Alarm_EveryKindOfABench_HasASentenceOfItsOwn(AlarmKind kind)
    {
        if (kind is AlarmKind.ClockInDoubt or AlarmKind.NoScreen or AlarmKind.NotSentOn)
            return;
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        var alarm = new Alarm(new AlarmKey(kind, new RequestId("R1")), BenchRig.Start, null, null, false);

        var written = AlarmText.Write(rig.State, alarm, [], DateTimeZone.Utc);

        Assert.NotEmpty(written.Title);
        Assert.NotEmpty(written.Text);
    }

    [Fact]
    public void Refusals_EveryOne_HasSentence() => Assert.All(Enum.GetValues<Refusal>(), why =>
        Assert.EndsWith(".", RefusalText.Say(new Decision.Refused(why, "R1")), StringComparison.Ordinal));

    [Theory]
    [InlineData(0, "0:00")]
    [InlineData(59.6, "1:00")]
    [InlineData(754, "12:34")]
    [InlineData(3600, "1:00:00")]
    [InlineData(-5, "0:00")]
    public void Length_Seconds_AsPeopleSay(double seconds, string words) =>
        Assert.Equal(words, Say.Length(Duration.FromSeconds(seconds)));

    private static async Task RunToClear(BenchRig rig)
    {
        while (rig.Runner.Present.View.Offers is [var offer])
        {
            if (Instant.Max(offer.ReportFrom, offer.PlannedEnd) is var at && at > rig.Now)
                rig.Advance(at - rig.Now);
            await rig.Must(Simulation.VirtualAide.ReportOf(offer.Action));
            await rig.Until(view => view.View.Offers.IsEmpty || view.View.Offers[0].Action != offer.Action);
        }
    }

    private BenchSnapshot Snapshot(BenchRig rig) =>
        new SnapshotWriter(clinic, new BenchClock(rig.Time, 1), new NoHostAlarms())
            .Write(rig.Runner.Present, LaneLayout.Wide);
}
