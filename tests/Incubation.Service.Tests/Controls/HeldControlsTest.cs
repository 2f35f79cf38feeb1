using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Instruments;
using Incubation.Service.Connections;
using Incubation.Service.Decisions;
using Incubation.Service.Instruments;
using Incubation.Service.Record;
using Incubation.Service.Stock;
using Incubation.Service.Text;
using Incubation.Service.Waiting;
using Incubation.Service.Tests.Support;
using static Incubation.Service.Tests.Support.ControlsHouse;

namespace Incubation.Service.Tests.Controls;

/// <summary>A doubtful control opens nothing: it is judged, or it waits for a person, never both.</summary>
public sealed partial class HeldControlsTest : IAsyncLifetime
{
    private ControlsHouse? house;

    private ControlsHouse House => house!;

    public async ValueTask InitializeAsync()
    {
        house = await ControlsHouse.OpenAsync();
        await House.SetTargets();
        await House.AddPatient("SP-1");
        await House.AddControls();
        await House.Must(new BenchCommand.StartBatch());
    }

    public async ValueTask DisposeAsync()
    {
        if (house is not null)
            await house.DisposeAsync();
    }

    [Fact]
    public async Task HeldControls_OpenNoGateAndStayDue_UntilTheyAreReleased()
    {
        var first = await RunHeld(1, "200");
        await RunHeld(2, "250");

        Assert.Empty(History.Runs);
        Assert.Equal(LotGate.AwaitingControls, House.Gate);
        Assert.Equal([1, 2], House.Desk.DueOn(House.State).Single().Levels.Select(control => control.Level));
        Assert.Equal(2, Decisions().For(Ines).Count(line => line.Kind == DecisionKind.HeldResult));
        Assert.Equal(2, Decisions().For(Lena).Count);
        Assert.Equal(0, Decisions().Count(Lena));

        await House.Must(new BenchCommand.ReleaseResult(first, "The label was read again."));
        await House.Gates.SettleAsync();
        Assert.Equal((ControlVerdict.Accepted, JudgementCause.Released),
            (History.Runs.Single().Verdict, History.Runs.Single().Cause));
        Assert.Equal([2], House.Desk.DueOn(House.State).Single().Levels.Select(control => control.Level));
    }

    [Fact]
    public async Task AnAmendedControl_IsJudgedAnew()
    {
        await House.RunControl(1, "200");
        await House.RunControl(2, "250");
        Assert.Equal(LotGate.Open, House.Gate);

        await House.Must(new BenchCommand.AmendResult(Control(1), new ShownResult.Value("230"), "Read again."));
        await House.Gates.SettleAsync();
        Assert.Equal(LotGate.Failed, House.Gate);
        Assert.Equal((ControlVerdict.Rejected, 1, JudgementCause.Amended),
            (History.AwaitingAction.Single().Verdict, History.AwaitingAction.Single().Revision,
                History.AwaitingAction.Single().Cause));
        Assert.Contains(Decisions().For(Ines), line => line.Kind == DecisionKind.RejectedControl);
        Assert.Contains(Decisions().For(Ines), line => line.Kind == DecisionKind.ReleasedToReview);
    }

    /// <summary>What a control gave is not known while its amendment waits: until then it is none.</summary>
    [Fact]
    public async Task AControlWhoseAmendmentWaits_IsSetAsideUntilItIsDecided()
    {
        await House.RunControl(1, "200");
        await House.RunControl(2, "250");
        Assert.Equal(LotGate.Open, House.Gate);

        await House.Must(new BenchCommand.ProposeAmendment(Control(1), new ShownResult.Value("201"), "Read again."));
        await House.Gates.SettleAsync();
        Assert.Equal(LotGate.AwaitingControls, House.Gate);
        Assert.Equal(ControlVerdict.SetAside, House.Clinic.Log.Controls.LatestOf(Control(1))!.Verdict);
        var line = Assert.Single(Decisions().For(Ines), line => line.Kind == DecisionKind.AmendmentToDecide);
        Assert.Contains("amended from 200 mg/L to 201 mg/L", line.What, StringComparison.Ordinal);
        Assert.DoesNotContain(Decisions().For(Ines), line => line.Kind == DecisionKind.HeldResult);

        var answer = await House.Runner.SendAsync(new BenchCommand.DeclineAmendment(Control(1), "Compared."),
            House.Provenance() with { Person = new PersonId("second") });
        Assert.True(answer.Recorded, answer.Sentence);
        await House.Gates.SettleAsync();
        Assert.Equal(LotGate.Open, House.Gate);
        Assert.Equal("200", House.Clinic.Log.Controls.LatestOf(Control(1))!.Shown);
        Assert.DoesNotContain(Decisions().For(Ines), line => line.Kind == DecisionKind.AmendmentToDecide);
    }

    /// <summary>The tablet says what there is to do, and not only that the lot is kept back.</summary>
    [Fact]
    public async Task AControlWithoutItsResult_IsWhatTheTabletAsksFor()
    {
        await House.RunThrough(House.State.Find(Control(1))!);
        await House.RunThrough(House.State.Find(Control(2))!);
        // The plan of what is left comes after the report.
        await House.Until(() => Title() == "Enter 2 results");
        await House.Must(new BenchCommand.ResultEntered(Control(1), new ShownResult.Value("213")));
        await House.Gates.SettleAsync();
        await House.Until(() => Title() == "Enter 1 result");

        string? Title() => IdleText.Write(House.Runner.Present, NodaTime.DateTimeZone.Utc)?.Title;
    }

    /// <summary>
    /// What the gate has held, and let out when the controls were accepted, rests on them more than anything else.
    /// </summary>
    [Fact]
    public async Task ResultsThatTheGateLetOut_AreReviewedWhenTheirControlProvesWrong()
    {
        var patient = House.State.Cartridges.First(one => one.Wanted.Request.Kind == RequestKind.Patient);
        await House.RunThrough(patient);
        await House.Must(new BenchCommand.ResultEntered(patient.Id, new ShownResult.Value("4.2")));
        // It ran although its controls were due: that is another hold, which a supervisor has lifted.
        await House.Must(new BenchCommand.ReleaseResult(patient.Id, "The ward waits."));
        await House.RunControl(1, "200");
        await House.RunControl(2, "250");
        Assert.Empty(House.Desk.ToReview(Kit));

        await House.Must(new BenchCommand.AmendResult(Control(1), new ShownResult.Value("230"), "Read again."));
        await House.Gates.SettleAsync();
        Assert.Equal([patient.Id], House.Desk.ToReview(Kit).Select(line => line.Result.Request));
    }

    /// <summary>
    /// What an earlier version judged although it was held is set aside once, by an event of its own, and what went out
    /// meanwhile is to be reviewed.
    /// </summary>
    [Fact]
    public async Task ControlsJudgedByAnEarlierVersion_AreHeldAgainstTheRuleOnce()
    {
        await RunHeld(1, "200");
        await RunHeld(2, "250");
        await Close();
        foreach (var level in new[] { 1, 2 })
            House.Clinic.Log.Record(new ClinicEvent.ControlJudged(Judged(level)), House.Provenance());
        Assert.Equal(2, History.Standing.Count());

        await House.Gates.OpenAsync();
        Assert.Empty(History.Standing);
        Assert.All(History.Present, run => Assert.Equal(
            (ControlVerdict.SetAside, JudgementCause.RuleChanged), (run.Verdict, run.Cause)));
        Assert.NotEmpty(History.AwaitingReview);
        var said = House.Clinic.Log.Revision;
        await House.Crash();
        await House.Gates.OpenAsync();
        Assert.Equal(said, House.Clinic.Log.Revision);
    }

    [Fact]
    public async Task HeldWhenItsBatchWasClosed_StaysListedUntilItIsReleased()
    {
        var list = Decisions();
        var first = await RunHeld(1, "200");
        Assert.Equal("batch/bench-1#result-R02", Assert.Single(list.For(Ines)).Address);
        await House.RunControl(2, "250");
        await Close();
        var line = Assert.Single(list.For(Ines), line => line.Kind == DecisionKind.HeldResult);
        Assert.Equal($"record/bench-1/1/release?request={first}", line.Address);

        var desk = new ReleaseService(Book(), House.Clinic, House.Gates, House.Clock);
        var shown = desk.Find("bench-1", 1, first.Value)!;
        Assert.Equal("why", Assert.Single(await desk.ReleaseAsync(Ines, shown, " ")).Member);
        Assert.NotEmpty(await desk.ReleaseAsync(Lena, shown, "The label was read again."));
        Assert.Empty(await desk.ReleaseAsync(Ines, shown, "The label was read again."));
        Assert.Equal(2, History.Standing.Count());
        Assert.DoesNotContain(list.For(Ines), one => one.Kind == DecisionKind.HeldResult);
        Assert.Null(desk.Find("bench-1", 1, first.Value));
    }

    /// <summary>Between an entry and its judgement a batch may be closed, and the server may end.</summary>
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task ClosedBeforeItWasJudged_IsJudgedAllTheSame(bool crash)
    {
        await House.RunControl(1, "200");
        await House.RunControl(2, "230", settle: false);
        await Close();
        Assert.Single(History.Runs);
        if (crash)
            await House.Crash();
        Assert.True(House.Gates.HasUnjudged(House.State));
        await (crash ? House.Gates.OpenAsync() : House.Gates.SettleAsync());

        Assert.Equal(ControlVerdict.Rejected, History.AwaitingAction.Single().Verdict);
        Assert.Equal(LotGate.Failed, House.Gate);
        Assert.False(House.Gates.HasUnjudged(House.State));
        var said = House.Clinic.Log.Revision;
        await House.Gates.SettleAsync();
        Assert.Equal(said, House.Clinic.Log.Revision);
    }

    /// <summary>Amended, and its batch closed at once: what is judged is the value that stands.</summary>
    [Fact]
    public async Task AmendedJustBeforeTheClose_IsJudgedAsItStands()
    {
        await House.RunControl(1, "200");
        await House.RunControl(2, "250");
        var control = Control(2);
        await House.Must(new BenchCommand.AmendResult(control, new ShownResult.Value("230"), "Read again."));
        await Close();
        Assert.Equal(LotGate.Open, House.Gate);
        await House.AddPatient("SP-2");

        Assert.Equal((control, ControlVerdict.Rejected),
            (History.AwaitingAction.Single().Request, History.AwaitingAction.Single().Verdict));
        Assert.Equal(LotGate.Failed, House.Gate);
    }

    [Fact]
    public async Task ABatchOfWhichAllIsJudged_IsClosedWithoutAnotherJudgement()
    {
        await House.RunControl(1, "200");
        await House.RunControl(2, "250");
        await Close();
        await House.Gates.SettleAsync();
        Assert.Equal(2, History.Runs.Count);
        await House.Crash();
        await House.Gates.OpenAsync();
        Assert.Equal(2, History.Runs.Count);
    }

    /// <summary>Whether a control was run after what was put right depends on when it came out of the reader.</summary>
    [Fact]
    public async Task AControlWhoseTimeIsCorrected_IsJudgedAnew()
    {
        await House.RunControl(1, "200");
        var before = Assert.Single(History.Runs);
        var cleared = House.State.Story.Last(told => told.Event is BenchEvent.Cleared).Id;
        var then = before.At - NodaTime.Duration.FromSeconds(5);
        await House.Must(new BenchCommand.CorrectReport(cleared, then, null, null, "It was earlier."));
        Assert.True(House.Gates.HasUnjudged(House.State));
        await House.Gates.SettleAsync();

        Assert.Equal(2, History.Runs.Count);
        var after = Assert.Single(History.Standing);
        Assert.Equal((then, 1, JudgementCause.TimeCorrected, ControlVerdict.Accepted),
            (after.At, after.Revision, after.Cause, after.Verdict));
        Assert.False(House.Gates.HasUnjudged(House.State));
    }

    /// <summary>
    /// A held result whose cartridge was thrown away, and of which somebody has said what becomes, waits for nobody
    /// after the close; an amendment of it does.
    /// </summary>
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task HeldAndThrownAway_WithAFate_WaitsForItsAmendmentAloneAfterTheClose(bool wasProposed)
    {
        var list = Decisions();
        var first = await RunHeld(1, "200");
        await House.Must(new BenchCommand.Discarded(first, DiscardReason.Dropped, null));
        if (wasProposed)
            await House.Must(new BenchCommand.ProposeAmendment(first, new ShownResult.Value("201"), "Read again."));
        await House.RunControl(2, "250");
        await House.Must(new BenchCommand.GiveUpRequest(first, "It is run again.", true));
        await Close();

        // What becomes of the request was said before the close: an amendment alone is still to be decided.
        if (wasProposed)
        {
            Assert.Equal(DecisionKind.AmendmentToDecide, Assert.Single(list.For(Ines),
                line => line.Address.StartsWith("record/", StringComparison.Ordinal)).Kind);
            var looks = new SecondLookService(Book(), House.Clinic, House.Gates, House.Clock);
            Assert.Empty(await looks.DecideAsync(Ines, looks.Find("bench-1", 1, first.Value)!, true, "Compared."));
        }

        Assert.DoesNotContain(list.For(Ines),
            line => line.Address.StartsWith("record/", StringComparison.Ordinal));
        // What was thrown away is used for nothing, whoever has decided what.
        var stands = Book().Batch(BenchOne, 1)!.Cartridges.Single(one => one.Request == first);
        Assert.Equal((CartridgeStatus.Discarded, false, null),
            (stands.Standing, stands.Use.IsJudged, stands.Released));
        Assert.Equal(2, Assert.Single(History.Standing).Control.Level);
    }

    /// <summary>
    /// A result that nothing holds, and whose cartridge is thrown away after its read, is reported to nobody: somebody
    /// says what becomes of the request before the batch is closed.
    /// </summary>
    [Theory]
    [InlineData("give up")]
    [InlineData("repeat")]
    [InlineData("it was cleared")]
    public async Task CleanAndThrownAway_WaitsUntilItIsReportedOrHasAFate(string ends)
    {
        var (list, waiting) = (Decisions(), Waiting());
        var patient = await RunPatient("4.2");
        Assert.True(House.State.Find(patient)!.Use.IsReported);
        Assert.DoesNotContain(waiting.List(Ines, []).Waiting, line => line.Request == patient.Value);
        await House.Must(new BenchCommand.Discarded(patient, DiscardReason.Dropped, null));

        Assert.False(House.State.Find(patient)!.Use.IsReported);
        var line = Assert.Single(list.For(Ines), line => line.Kind == DecisionKind.DiscardedResult);
        Assert.Equal(("batch/bench-1#result-R01", true), (line.Address, line.MayDecide(Lena)));
        Assert.Contains("4.2 mg/L · entered, but its cartridge was discarded", line.What, StringComparison.Ordinal);
        Assert.True(Assert.Single(waiting.List(Ines, []).Waiting, one => one.Request == patient.Value).IsOpen);
        Assert.False((await House.Runner.SendAsync(new BenchCommand.CloseBatch(), House.Provenance())).Recorded);

        await House.Must(ends switch
        {
            "give up" => new BenchCommand.GiveUpRequest(patient, "The ward wants none.", true),
            "repeat" => new BenchCommand.OrderRepeat(patient),
            _ => new BenchCommand.Undo(House.State.Story.Last(told => told.Event is BenchEvent.Discarded).Id),
        });
        Assert.DoesNotContain(list.For(Ines), line => line.Kind == DecisionKind.DiscardedResult);
        Assert.Equal(ends == "it was cleared", House.State.Find(patient)!.Use.IsReported);
        if (ends == "repeat")
            await House.Must(new BenchCommand.GiveUpRequest(new RequestId($"{patient}-2"), "No specimen.", true));
        await Close();
        Assert.DoesNotContain(list.For(Ines), one => one.What.Contains("SP-1", StringComparison.Ordinal));
    }

    /// <summary>A former version closed such a batch without a word: a person looks at it now.</summary>
    [Fact]
    public async Task CleanAndThrownAway_InABatchThatAFormerVersionClosed_IsListedUntilItIsDecided()
    {
        var patient = await RunPatient("4.2");
        await House.Must(new BenchCommand.Discarded(patient, DiscardReason.Dropped, null));
        new BenchStreams(House.File).Append(BenchOne, House.State.Revision,
            [new BenchEntry(new BenchEvent.BatchClosed(1), House.Provenance())]);
        await House.Crash();

        var line = Assert.Single(Decisions().For(Ines), line => line.Kind == DecisionKind.DiscardedResult);
        Assert.Equal($"record/bench-1/1/release?request={patient}", line.Address);
        Assert.True(Assert.Single(Waiting().Closed(Ines), one => one.Request == patient.Value).IsOpen);
        var desk = new ReleaseService(Book(), House.Clinic, House.Gates, House.Clock);
        Assert.Empty(await desk.ReleaseAsync(Ines, desk.Find("bench-1", 1, patient.Value)!, "It was run again."));

        Assert.DoesNotContain(Decisions().For(Ines), line => line.Kind == DecisionKind.DiscardedResult);
        Assert.Equal((false, "It was run again."), Assert.Single(Waiting().Closed(Ines), one =>
            one.Request == patient.Value) is var said ? (said.IsOpen, said.Fate) : default);
        Assert.Null(desk.Find("bench-1", 1, patient.Value));
        Assert.False(Book().Batch(BenchOne, 1)!.Cartridges.Single(one => one.Request == patient).Use.IsReported);
    }

    /// <summary>What the batch's rows tell of and the clinic's rows too is one line, not two.</summary>
    [Theory]
    [InlineData(DecisionKind.AmendmentToDecide)]
    [InlineData(DecisionKind.HeldResult)]
    public async Task HeldAtTheCloseAndAmendedSince_IsListedOnce(DecisionKind kind)
    {
        var first = await RunHeld(1, "200");
        await House.RunControl(2, "250");
        await Close();
        var (was, now) = (new ReadResult.Measured("200", "mg/L"), new ReadResult.Measured("1,234", "mg/L"));
        House.Clinic.Log.Record(kind == DecisionKind.AmendmentToDecide
            ? [new ClinicEvent.ClosedAmendmentProposed(BenchOne, 1, first, was, now, "Read again.", null, null)]
            : [new ClinicEvent.ClosedResultAmended(BenchOne, 1, first, was, now, "Read again.", null, null),
                new ClinicEvent.ClosedResultQuestioned(BenchOne, 1, first, ValueQuestion.NotOneNumber)],
            House.Provenance());

        Assert.Equal(kind, Assert.Single(Decisions().For(Ines), one => one.Address.Contains(first.Value,
            StringComparison.Ordinal)).Kind);
    }

    /// <summary>A page that stands open is told within a second, once for all that came in it.</summary>
    [Fact]
    public async Task WhatComesToWait_IsToldToOpenPages()
    {
        var list = Decisions();
        using var watch = new DecisionWatch(House.Book, House.Clinic, House.Clock);
        var told = 0;
        watch.Changed += () => told++;
        var first = await RunHeld(1, "200");
        House.Time.Advance(TimeSpan.FromSeconds(1));
        Assert.True(told > 0);
        await House.RunControl(2, "250");
        await Close();
        House.Time.Advance(TimeSpan.FromSeconds(1));
        told = 0;

        var desk = new ReleaseService(Book(), House.Clinic, House.Gates, House.Clock);
        Assert.Empty(await desk.ReleaseAsync(Ines, desk.Find("bench-1", 1, first.Value)!, "Read again."));
        House.Time.Advance(TimeSpan.FromSeconds(1));
        Assert.Equal(1, told);
        Assert.DoesNotContain(list.For(Ines), one => one.Kind == DecisionKind.HeldResult);
    }

    private LotHistory History => House.Clinic.Log.Controls.Of(Kit);

    private RequestId Control(int level) =>
        House.State.Cartridges.Last(cartridge => cartridge.Wanted.Facts?.Control?.Level == level).Id;

    private async Task<RequestId> RunHeld(int level, string value)
    {
        var control = House.State.Find(Control(level))!;
        await House.RunThrough(control);
        await House.Must(new BenchCommand.ResultEntered(control.Id, new ShownResult.Value(value), ShownIdentity.None));
        await House.Gates.SettleAsync();
        return control.Id;
    }

    private async Task<RequestId> RunPatient(string value)
    {
        await House.RunControl(1, "200");
        await House.RunControl(2, "250");
        var patient = House.State.Cartridges.First(one => one.Wanted.Request.Kind == RequestKind.Patient);
        await House.RunThrough(patient);
        await House.Must(new BenchCommand.ResultEntered(patient.Id, new ShownResult.Value(value)));
        return patient.Id;
    }

    private async Task Close()
    {
        foreach (var waiting in House.State.Cartridges.Where(one => one.Stage is CartridgeStage.Waiting).ToList())
            await House.Must(new BenchCommand.WithdrawRequest(waiting.Id, "asked for by mistake"));
        await House.Must(new BenchCommand.CloseBatch());
    }

    private ControlRun Judged(int level)
    {
        var one = Book().Batch(BenchOne, 1)!.Cartridges.Single(one => one.Control?.Level == level);
        var target = House.Clinic.Log.Controls.Target(Da, one.Control!)!.Target;
        return History.Judged(new ControlRun(one.Request, BenchOne, 1, Da, Kit, one.Control!, 0, one.Clear.To!.Value,
            House.Clock.Now, level == 1 ? "200" : "250", level == 1 ? 200 : 250, target, [],
            ControlVerdict.NotJudged), ControlRules.All);
    }

    private CartridgeProjection Book() => new(House.File, House.Clinic.Log.Amended);

    private WaitingService Waiting() => new(House.Book, Book(), House.Clinic, House.Clock);

    private DecisionList Decisions() => new(House.Clinic, House.Book, Book(),
        new LateReportService(Book(), House.Clinic, House.Clock),
        new UncheckedResults(House.Clinic, Book(), House.Clock),
        new ProgrammeDecisions(House.Clinic, new StockSettings(30)),
        new WireRights(House.Clinic, House.Book, new WireStore(House.File, House.Clinic.Log)), new CertificateEnds(),
        House.Clock);
}
