using Incubation.Bench;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Records.Tests;

/// <summary>
/// A bench's morning in which everything happens that can be recorded, said through the bench itself.
/// </summary>
internal sealed class BenchStory
{
    private readonly List<BenchEntry> entries = [];
    private BenchState? state;
    private Instant now = Rows.Morning;
    private int commands;

    private BenchStory() { }

    public static BenchCommand.OpenBench Open { get; } = new(
        Rows.Bench, "Bench 1", new BenchSetup(1, 8, 1, Duration.FromSeconds(25), Duration.FromSeconds(15), 0.25),
            Duration.FromSeconds(20));

    /// <summary>A request with invented assay facts, not for patients.</summary>
    public static BenchRequest Request(string id, string assay, int minutes,
        IncubationPlace place = IncubationPlace.Incubator) => new(
        ClinicStory.Request(id, AssayCode.Of(assay), assay + "-L1").Request with { RepeatLeft = true, LoadBy = null },
        ClinicStory.Assay(AssayCode.Of(assay), minutes) with { Place = place }, 1, "mg/L",
        RunFacts.Of(ClinicStory.Sheet(AssayCode.Of(assay), minutes),
            new Particulars("1980-02-29", "serum", null, null, null)) with
        { Warmth = null, Materials = null });

    /// <summary>The entries, in order.</summary>
    public static IReadOnlyList<BenchEntry> Tell()
    {
        var story = new BenchStory();
        story.TellFirstBatch();
        story.TellSecondBatch();
        return story.entries;
    }

    /// <summary>A morning on which life differs from the plan, in every way that can be recorded.</summary>
    public static IReadOnlyList<BenchEntry> TellOtherwise()
    {
        var story = new BenchStory();
        story.TellWhatComesAndGoes();
        story.TellWhatContradicts();
        return story.entries;
    }

    /// <summary>A batch of which everything is ready.</summary>
    public static IReadOnlyList<BenchEntry> TellReadiness()
    {
        var story = new BenchStory();
        story.Say(0, Open);
        var asking = Request("R01", "A", 3);
        var sheet = ClinicStory.Sheet(ClinicStory.A, 3);
        story.Say(1,
            new BenchCommand.AddRequests(
                [asking with { Facts = asking.Facts! with { Warmth = sheet.Warmth, Materials = sheet.Materials } }]));
        story.Say(1, new BenchCommand.RejectSpecimen(SpecimenId.Of("SP-R09"), AssayCode.Of("A"), "clotted"));
        story.Say(1, new BenchCommand.TemperatureMeasured(new Celsius(25.2)));
        story.Say(1, new BenchCommand.ConfirmReady(ReadinessKey.Materials(LotCode.Of("A-L1"))));
        for (var reader = 1; reader <= Open.Setup.Readers; reader++)
            story.Say(1, new BenchCommand.ConfirmReady(ReadinessKey.ReaderCheck(ReaderNumber.Of(reader))));
        story.Say(1, new BenchCommand.StartBatch());
        story.Plan(PlanCause.BatchStarted);
        return story.entries;
    }

    /// <summary>A result that is held, released, amended and told.</summary>
    public static IReadOnlyList<BenchEntry> TellResults()
    {
        var (story, r01) = ReadAResult(RequestKind.Control);
        story.Say(6, new BenchCommand.ResultEntered(r01, new ShownResult.Value("151"), ShownIdentity.None));
        story.Say(30, new BenchCommand.ReleaseResult(r01, "read again on the display"));
        story.Say(30, new BenchCommand.AmendResult(r01, new ShownResult.Value("161"), "typed wrong"));
        story.Say(30, new BenchCommand.TellCritical(r01, "nurse on ward 3", true));
        return story.entries;
    }

    /// <summary>
    /// A result that cannot be is held, amended to one that was critical and told, and amended again: of the first
    /// correction another is told, of the second nobody need be.
    /// </summary>
    public static IReadOnlyList<BenchEntry> TellAnImpossibleResult()
    {
        var (story, r01) = ReadAResult(RequestKind.Patient);
        story.Say(6, new BenchCommand.ResultEntered(r01, new ShownResult.Value("<200"), new ShownIdentity("SP-R01")));
        story.Say(30, new BenchCommand.AmendResult(r01, new ShownResult.Value(">200"), "the sign was wrong",
            AmendmentReason.Misread));
        story.Say(30, new BenchCommand.TellCritical(r01, "Dr. Invented", true));
        story.Say(30, new BenchCommand.AmendResult(r01, new ShownResult.Value("20"), "read again",
            AmendmentReason.MeasuredAgain));
        story.Say(30, new BenchCommand.TellCritical(r01, "nurse on ward 3", false, "the doctor is away"));
        story.Say(30, new BenchCommand.AmendResult(r01, new ShownResult.Value("20.1"), "a digit was missed",
            AmendmentReason.Typed));
        story.Say(30, new BenchCommand.WaiveTelling(r01, "the difference is none"));
        return story.entries;
    }

    /// <summary>
    /// Amendments that wait for a second person: one is declined, one confirmed, one waits at the end.
    /// </summary>
    public static IReadOnlyList<BenchEntry> TellSecondLooks()
    {
        var (story, r01) = ReadAResult(RequestKind.Patient);
        story.Say(6, new BenchCommand.ResultEntered(r01, new ShownResult.Value("16"), new ShownIdentity("SP-R01")));
        story.Say(30, new BenchCommand.ProposeAmendment(r01, new ShownResult.Value("160"), "a zero was missed",
            AmendmentReason.Typed));
        story.Look(30, new BenchCommand.DeclineAmendment(r01, "the reader's memory says 16"));
        story.Say(30, new BenchCommand.ProposeAmendment(r01, new ShownResult.Value("17"), "read again",
            AmendmentReason.MeasuredAgain));
        story.Look(30, new BenchCommand.ConfirmAmendment(r01, "the reader's memory says 17"));
        story.Say(30, new BenchCommand.ProposeAmendment(r01, new ShownResult.Value("18"), "read once more"));
        return story.entries;
    }

    /// <summary>
    /// A bench on which the time of a read was told wrong, entered upon, and put right afterwards; or released, and
    /// then told otherwise once more.
    /// </summary>
    public static IReadOnlyList<BenchEntry> TellACorrectedTime(bool isReleased = false)
    {
        var (story, r01) = ReadAResult(RequestKind.Patient);
        var read = story.entries.Single(entry => entry.Event is BenchEvent.ReadStarted).Provenance;
        var wrong = read.At - Duration.FromSeconds(60);
        story.Say(10, new BenchCommand.CorrectReport(read.Id, wrong, null, null, "a slip"));
        story.Say(10, new BenchCommand.ResultEntered(r01, new ShownResult.Value("16")));
        if (isReleased)
            story.Say(20, new BenchCommand.ReleaseResult(r01, "the reader's memory says so"));
        story.Say(30, new BenchCommand.CorrectReport(read.Id,
            isReleased ? wrong - Duration.FromSeconds(5) : read.At, null, null, "it was right at first"));
        return story.entries;
    }

    private static (BenchStory Story, RequestId Request) ReadAResult(RequestKind kind)
    {
        var (story, r01) = (new BenchStory(), RequestId.Of("R01"));
        var wanted = Request("R01", "A", 3);
        story.Say(0, Open);
        story.Say(1, new BenchCommand.AddRequests(
            [wanted with { Request = wanted.Request with { Kind = kind } }]));
        story.Say(1, new BenchCommand.StartBatch());
        story.Plan(PlanCause.BatchStarted);
        story.Say(50, new BenchCommand.Mixed(r01));
        story.Say(20, new BenchCommand.Loaded(r01, Slot(3), TimeStated: false));
        story.Say(24, new BenchCommand.CardChanged(ReaderNumber.Of(1), LotCode.Of("A-L1")));
        story.Say(180, new BenchCommand.ReadStarted(r01, ReaderNumber.Of(1), StatedInTime: false));
        story.Say(41, new BenchCommand.Cleared(r01, ReaderNumber.Of(1)));
        return (story, r01);
    }

    /// <summary>
    /// A morning on which controls are awaited, a lot is blocked, and something of it is loaded all the same.
    /// </summary>
    public static IReadOnlyList<BenchEntry> TellGates()
    {
        var story = new BenchStory();
        var lot = LotCode.Of("A-L1");
        story.Say(0, Open);
        story.Say(1, new BenchCommand.SetLotGate(lot, LotGate.AwaitingControls));
        story.Say(1,
            new BenchCommand.AddRequests([Request("R01", "A", 3), Request("R02", "A", 3), Request("R03", "A", 3)]));
        story.Say(1, new BenchCommand.StartBatch());
        story.Say(1, new BenchCommand.SetLotGate(lot, LotGate.ResultsHeld));
        story.Plan(PlanCause.MeansChanged);
        story.Say(50, new BenchCommand.Mixed(RequestId.Of("R01")));
        story.Say(20, new BenchCommand.Loaded(RequestId.Of("R01"), Slot(1), TimeStated: false));
        story.Say(50, new BenchCommand.Mixed(RequestId.Of("R02")));
        story.Say(5, new BenchCommand.SetLotGate(lot, LotGate.Failed));
        story.Plan(PlanCause.MeansChanged);
        story.Say(20, new BenchCommand.Loaded(RequestId.Of("R02"), Slot(2), TimeStated: false));
        story.Say(60, new BenchCommand.SetLotGate(lot, LotGate.Open));
        story.Say(2, new BenchCommand.SetLotGate(lot, LotGate.AwaitingControls));
        story.Plan(PlanCause.MeansChanged);
        return story.entries;
    }

    /// <summary>A morning on which a new lot's results are held until it was compared.</summary>
    public static IReadOnlyList<BenchEntry> TellComparison()
    {
        var story = new BenchStory();
        var lot = LotCode.Of("A-L1");
        story.Say(0, Open);
        story.Say(1, new BenchCommand.SetLotGate(lot, LotGate.AwaitingComparison));
        story.Say(1, new BenchCommand.AddRequests([Request("R01", "A", 3)]));
        story.Say(1, new BenchCommand.StartBatch());
        story.Plan(PlanCause.BatchStarted);
        story.Say(50, new BenchCommand.Mixed(RequestId.Of("R01")));
        return story.entries;
    }

    /// <summary>A specimen of proficiency testing, run like a patient's.</summary>
    public static IReadOnlyList<BenchEntry> TellProficiency()
    {
        var story = new BenchStory();
        var request = Request("R01", "A", 3);
        story.Say(0, Open);
        story.Say(1, new BenchCommand.AddRequests([request with
        {
            Request = request.Request with { Kind = RequestKind.Proficiency },
        }]));
        story.Say(1, new BenchCommand.StartBatch());
        story.Plan(PlanCause.BatchStarted);
        story.Say(50, new BenchCommand.Mixed(RequestId.Of("R01")));
        return story.entries;
    }

    /// <summary>A morning on which not everything can be planned, and then nothing.</summary>
    public static IReadOnlyList<BenchEntry> TellPlanTrouble()
    {
        var story = new BenchStory();
        var far = Request("R02", "A", 3);
        story.Say(0, Open);
        story.Say(1, new BenchCommand.AddRequests([Request("R01", "A", 3),
            far with { Request = far.Request with { Ready = Instant.FromUtc(9999, 12, 31, 23, 59, 59) } }]));
        story.Say(1, new BenchCommand.StartBatch());
        story.Say(0, new BenchCommand.PutOutOfUse(new BenchResource.Slot(new SlotNumber(8)), null, "cracked"));
        story.Say(0, new BenchCommand.NotePlanning(true, [RequestId.Of("R02")],
            [new BenchResource.Slot(new SlotNumber(8))], null));
        story.Plan(PlanCause.BatchStarted);
        story.Say(50, new BenchCommand.Mixed(RequestId.Of("R01")));
        story.Say(1, new BenchCommand.NotePlanning(false, [RequestId.Of("R02")], [], RequestId.Of("R01")));
        story.Plan(PlanCause.Report);
        story.Say(1, new BenchCommand.NotePlanning(false, [], [], null));
        return story.entries;
    }

    /// <summary>A morning on which nobody knows of some steps whether they were done.</summary>
    public static IReadOnlyList<BenchEntry> TellNotKnown()
    {
        var story = new BenchStory();
        var hands = new HandsNumber(1);
        story.Say(0, Open);
        story.Say(1, new BenchCommand.AddRequests([Request("R01", "A", 3), Request("R02", "A", 3)]));
        story.Say(1, new BenchCommand.StartBatch());
        story.Plan(PlanCause.BatchStarted);
        story.Say(200, new BenchCommand.NoteStepNotKnown(hands, story.Doing(hands)));
        story.Plan(PlanCause.MeansChanged);
        story.Answer(5, QuestionKind.StepNotKnown, Bench.Answer.NotBegun);
        story.Plan(PlanCause.Report);
        var first = story.Doing(hands).Subject!.Value;
        story.Say(50, new BenchCommand.Mixed(first));
        story.Plan(PlanCause.Report);
        story.Say(200, new BenchCommand.NoteStepNotKnown(hands, story.Doing(hands)));
        story.Plan(PlanCause.MeansChanged);
        story.Say(20, new BenchCommand.Loaded(first, Slot(1), TimeStated: false));
        story.Plan(PlanCause.Report);
        story.Say(100, new BenchCommand.NoteStepNotKnown(hands, story.Doing(hands)));
        story.Plan(PlanCause.MeansChanged);
        story.Say(1, new BenchCommand.Discarded(RequestId.Of("R02"), DiscardReason.Dropped, null));
        return story.entries;
    }

    private StepAction Doing(HandsNumber hands) => state!.Adopted!.NextOf(hands)!.Step.Action;

    private void TellWhatComesAndGoes()
    {
        Say(0, Open);
        Say(1,
            new BenchCommand.SetIncubator(new IncubatorRule(new Celsius(25), new Celsius(1.5),
                [new TemperatureRule(AssayCode.Of("B"), Duration.FromMinutes(2))])));
        Say(1,
            new BenchCommand.AddRequests([Request("R01", "A", 3), Request("R02", "A", 3), Request("R03", "B", 8),
                Request("R04", "B", 8)]));
        Say(1, new BenchCommand.PauseIntake(true));
        Say(1, new BenchCommand.PauseIntake(false));
        Say(1, new BenchCommand.ChangeReady(RequestId.Of("R04"), null));
        Say(1, new BenchCommand.StartBatch());
        Plan(PlanCause.BatchStarted);
        Say(2, new BenchCommand.ChangeHands(2));
        Say(2, new BenchCommand.ChangeHands(1));
        Say(1, new BenchCommand.PutOutOfUse(new BenchResource.Slot(new SlotNumber(8)), null, "cracked"));
        Say(1, new BenchCommand.PutOutOfUse(new BenchResource.Hands(new HandsNumber(1)), Duration.FromMinutes(2),
            "telephone"));
        Plan(PlanCause.MeansChanged);
        Say(20, new BenchCommand.PutBackInUse(new BenchResource.Hands(new HandsNumber(1))));
        Plan(PlanCause.MeansChanged);
        Say(50, new BenchCommand.Mixed(RequestId.Of("R01")));
        Say(20, new BenchCommand.Loaded(RequestId.Of("R01"), Slot(1), TimeStated: false));
        Say(24, new BenchCommand.CardChanged(ReaderNumber.Of(1), LotCode.Of("A-L1")));
        Say(5, new BenchCommand.TemperatureMeasured(new Celsius(27.25)));
        Say(30, new BenchCommand.TemperatureMeasured(new Celsius(25)));
        Plan(PlanCause.Report);
    }

    private void TellWhatContradicts()
    {
        Say(40, new BenchCommand.NoteRestart(now + Duration.FromSeconds(5), ClockBelieved: true));
        Say(3, new BenchCommand.NoteClock(Duration.FromSeconds(7)));
        Say(3, new BenchCommand.NoteClock(null));
        Answer(4, QuestionKind.PowerCut, Bench.Answer.Seen);
        Say(6, new BenchCommand.CardSeen(ReaderNumber.Of(1), LotCode.Of("A-L1")));
        Say(50, new BenchCommand.Mixed(RequestId.Of("R02")));
        Say(1, new BenchCommand.Mixed(RequestId.Of("R02")));
        var second = Say(25, new BenchCommand.Loaded(RequestId.Of("R02"), Slot(1), TimeStated: false));
        Answer(5, QuestionKind.Contradiction, Bench.Answer.InSlot, SlotNumber.Of(2));
        Say(5, new BenchCommand.CorrectReport(second, now - Duration.FromSeconds(3), Slot(3), null, "wrong row"));
        Plan(PlanCause.Corrected);
        Say(9, new BenchCommand.WithdrawRequest(RequestId.Of("R02")));
        Plan(PlanCause.RequestsChanged);
        Say(8, new BenchCommand.Discarded(RequestId.Of("R02"), DiscardReason.Withdrawn, null));
        Plan(PlanCause.Report);
    }

    private void Answer(double secondsLater, QuestionKind kind, Answer answer, SlotNumber? slot = null) =>
        Say(secondsLater, new BenchCommand.AnswerQuestion(
        LiveBench.View(state!, now).Questions.First(question => question.Key.Kind == kind).Key, answer, slot));

    private void TellFirstBatch()
    {
        Say(0, Open);
        Say(1,
            new BenchCommand.AddRequests([Request("R01", "A", 3), Request("R02", "B", 8), Request("R03", "A", 3),
                Request("R04", "C", 5, IncubationPlace.Reader)]));
        Say(1, new BenchCommand.WithdrawRequest(RequestId.Of("R03")));
        Plan(PlanCause.RequestsChanged);
        Say(10, new BenchCommand.StartBatch());
        Plan(PlanCause.BatchStarted);
        Say(2.5, new BenchCommand.NotBegun(HandsNumber.Of(1)));
        Say(48.125, new BenchCommand.Mixed(RequestId.Of("R01")));
        var wrong = Say(3, new BenchCommand.Mixed(RequestId.Of("R02")));
        Say(2, new BenchCommand.Undo(wrong));
        Say(20, new BenchCommand.Loaded(RequestId.Of("R01"), Slot(3), TimeStated: false));
        Plan(PlanCause.Report);
        Say(45, new BenchCommand.Mixed(RequestId.Of("R02")));
        Say(20, new BenchCommand.Loaded(RequestId.Of("R02"), Slot(3), TimeStated: true));
        Say(24, new BenchCommand.CardChanged(ReaderNumber.Of(1), LotCode.Of("A-L1")));
        Say(100, new BenchCommand.ReadStarted(RequestId.Of("R01"), ReaderNumber.Of(1), StatedInTime: false));
        Say(41, new BenchCommand.Cleared(RequestId.Of("R01"), ReaderNumber.Of(1)));
        Say(6, new BenchCommand.ResultEntered(RequestId.Of("R01"), new ShownResult.Value("< 0.50")));
        Say(700, new BenchCommand.AcknowledgeAlarm(new AlarmKey(AlarmKind.WindowClosed, RequestId.Of("R02"))));
        Say(4,
            new BenchCommand.Discarded(RequestId.Of("R02"), DiscardReason.Other,
                "ließ sich nicht finden: \"slot 3\" was empty"));
        Plan(PlanCause.WindowClosed);
        Say(24, new BenchCommand.CardChanged(ReaderNumber.Of(1), LotCode.Of("C-L1")));
        Say(45, new BenchCommand.Mixed(RequestId.Of("R04")));
        Say(22, new BenchCommand.Loaded(RequestId.Of("R04"), new CartridgePlace.InReader(ReaderNumber.Of(1)),
            TimeStated: false));
        Say(360, new BenchCommand.Cleared(RequestId.Of("R04"), ReaderNumber.Of(1)));
        Say(9, new BenchCommand.ResultEntered(RequestId.Of("R04"), new ShownResult.NoValue("E-7")));
        foreach (var open in Fates.Open(state!).ToList())
            Say(1, new BenchCommand.GiveUpRequest(open.Id, "a new specimen is asked for", Confirmed: true));
        Say(5, new BenchCommand.CloseBatch());
    }

    private void TellSecondBatch()
    {
        Say(60,
            new BenchCommand.AddRequests([Request("R05", "A", 3), Request("R06", "A", 3), Request("R07", "B", 8),
                Request("R08", "B", 8)]));
        Say(1, new BenchCommand.StartBatch());
        Plan(PlanCause.Search);
        Say(50, new BenchCommand.Mixed(RequestId.Of("R05")));
        Say(20, new BenchCommand.Loaded(RequestId.Of("R05"), Slot(1), TimeStated: false));
        Say(50, new BenchCommand.Mixed(RequestId.Of("R06")));
        Say(25, new BenchCommand.Discarded(RequestId.Of("R06"), DiscardReason.Bubbles, null));
        Say(3, new BenchCommand.OrderRepeat(RequestId.Of("R06")));
        Say(24, new BenchCommand.CardChanged(ReaderNumber.Of(1), LotCode.Of("A-L1")));
        Say(270, new BenchCommand.ReadStarted(RequestId.Of("R05"), ReaderNumber.Of(1), StatedInTime: true));
        Say(60, new BenchCommand.Mixed(RequestId.Of("R07")));
        Say(22, new BenchCommand.Loaded(RequestId.Of("R07"), Slot(8), TimeStated: false));
        Plan(PlanCause.Restarted);
    }

    private static CartridgePlace.InSlot Slot(int number) => new(SlotNumber.Of(number));

    private ReportId Say(double secondsLater, BenchCommand command)
    {
        now += Duration.FromSeconds(secondsLater);
        return Try(command)
            ? entries[^1].Provenance.Id : throw new InvalidOperationException($"The bench refused {command}.");
    }

    /// <summary>Adopts a better plan where there is one.</summary>
    private void Plan(PlanCause cause)
    {
        var proposed = PlanReplacement.Propose(state!, now, cause, 1, new IterationBudget(50));
        if (proposed.Count > 0 && !proposed.Any(Try))
            throw new InvalidOperationException($"No plan was adopted at {now}.");
    }

    /// <summary>Another person says something.</summary>
    private void Look(double secondsLater, BenchCommand command)
    {
        now += Duration.FromSeconds(secondsLater);
        if (!Try(command, "second"))
            throw new InvalidOperationException($"The bench refused {command}.");
    }

    private bool Try(BenchCommand command) => Try(command, "aide");

    private bool Try(BenchCommand command, string by)
    {
        var provenance = new Provenance(ReportId.Of($"story-{++commands}"), now, now + Duration.FromMilliseconds(35),
            PersonId.Of(by), DeviceId.Of("tablet-1"));
        if (LiveBench.Decide(state, command, provenance) is not Decision.Accepted accepted)
            return false;
        foreach (var entry in accepted.Entries(provenance))
        {
            entries.Add(entry);
            state = LiveBench.Apply(state, entries[^1]);
        }
        return true;
    }
}
