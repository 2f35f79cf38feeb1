using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Who says something, when, through what. Every command and every recorded event carries one.</summary>
/// <param name="Id">Names the command, so that sending it again is harmless.</param>
/// <param name="At">When it happened: the first touch of a report; the stated time where a person stated one.</param>
/// <param name="Arrived">When the bench received it.</param>
/// <param name="Person">Who.</param>
/// <param name="Device">Through what.</param>
/// <param name="Identity">Whether it is known that it was this person; stands in the log as an event of its own where
/// it is not.</param>
/// <param name="ClockInDoubt">Whether the host doubted its own clock when it came: nothing is judged by the time
/// then.</param>
/// <param name="Claimed">The time as the text that came, where <paramref name="At"/> is not that time but its arrival;
/// null where the time was taken over. Stands in the log as an event of its own.</param>
/// <param name="Sender">Who was signed in and sent it, where that is another than <paramref name="Person"/>; null where
/// it is the same, or where nobody was signed in. Stands in the log as an event of its own.</param>
public sealed record Provenance(
    ReportId Id, Instant At, Instant Arrived, PersonId Person, DeviceId Device, Identity Identity = Identity.Checked,
        bool ClockInDoubt = false, string? Claimed = null, PersonId? Sender = null);

/// <summary>Whether it was checked who the person was.</summary>
public enum Identity
{
    /// <summary>Signed in at the time.</summary>
    Checked,

    /// <summary>The tablet was locked: the person named is the last who was signed in on it.</summary>
    NotChecked,
}

/// <summary>
/// A request with the facts of its assay that the bench uses, copied so that a replay never depends on a catalogue.
/// </summary>
/// <param name="Request">What is wanted.</param>
/// <param name="Assay">The assay as approved in this version.</param>
/// <param name="AssayVersion">Version of the assay, from 1.</param>
/// <param name="Unit">UCUM unit of the result.</param>
/// <param name="Facts">Further facts of its assay and specimen that the bench uses; null where none were given.</param>
public sealed record BenchRequest(Request Request, Assay Assay, int AssayVersion, string Unit, RunFacts? Facts = null)
{
    /// <summary>What somebody has noted about it, in their words; null where nobody has.</summary>
    public string? Comment { get; init; }
}

/// <summary>Why a plan was made.</summary>
public enum PlanCause
{
    RequestsChanged,
    BatchStarted,
    Report,
    StepOverran,
    WindowClosed,
    Restarted,

    /// <summary>A search that nothing else had asked for. Not given any more; logs may hold it.</summary>
    Search,

    /// <summary>A report was corrected, taken back or settled by an answer.</summary>
    Corrected,

    /// <summary>Hands, slots or readers came or went.</summary>
    MeansChanged,
}

/// <summary>Where an adopted plan comes from.</summary>
/// <param name="Cause">Why it was made.</param>
/// <param name="Seed">Seed of the search.</param>
/// <param name="Iterations">Iterations that the search did.</param>
/// <param name="PlannerVersion">Version of the planner.</param>
public sealed record PlanOrigin(PlanCause Cause, ulong Seed, long Iterations, string PlannerVersion);

/// <summary>Why a cartridge was thrown away.</summary>
public enum DiscardReason
{
    WindowClosed,
    MixtureTooOld,
    WellOverfilled,
    Bubbles,
    Dropped,
    ReaderFault,
    Other,

    /// <summary>Gone when its place was found empty or taken: thrown away without a report.</summary>
    FoundGone,

    /// <summary>Its request was withdrawn.</summary>
    Withdrawn,

    /// <summary>The incubator was outside its tolerance for longer than its assay allows.</summary>
    Temperature,

    /// <summary>Lost while the server was down.</summary>
    PowerCut,

    /// <summary>A control of its kit lot was rejected: the mixture may not be loaded.</summary>
    ControlsFailed,
}

/// <summary>What the reader gave: a number, one beyond the measuring range, or a refusal with its code.</summary>
public abstract record ReadResult
{
    private ReadResult() { }

    /// <summary>A value as displayed, digits and decimals kept, optionally led by &lt; or &gt;.</summary>
    public sealed record Measured(string Value, string Unit) : ReadResult;

    /// <summary>The reader gave no value; its code or words.</summary>
    public sealed record NoValue(string Code) : ReadResult;
}

/// <summary>The lot from which a request is run in the next batch.</summary>
/// <param name="Request">Which, by its id in this batch.</param>
/// <param name="Lot">The lot.</param>
/// <param name="LoadBy">When it must be loaded then, or null.</param>
public sealed record OtherLot(RequestId Request, LotCode Lot, Instant? LoadBy);

/// <summary>One of several things that are told together.</summary>
/// <param name="At">When it happened, as a person states it.</param>
/// <param name="What">A report of hands, or the answer to a question.</param>
public sealed record Told(Instant At, BenchCommand What);

/// <summary>Something said to a bench.</summary>
public abstract partial record BenchCommand
{
    private BenchCommand() { }

    /// <summary>Wants something to happen; may be refused.</summary>
    public abstract record Instruction : BenchCommand;

    /// <summary>
    /// Says what has already happened; never refused for being wrong, only for being unreadable or already recorded.
    /// </summary>
    public abstract record Report : BenchCommand;

    /// <summary>A report of a step at which a cartridge's label can be scanned.</summary>
    public abstract record AtLabel : Report
    {
        /// <summary>Whose cartridge.</summary>
        public abstract RequestId Request { get; init; }

        /// <summary>What was said of its label; null where nobody asks for labels.</summary>
        public LabelScan? Scan { get; init; }
    }

    /// <summary>Sets a bench up; the first command of its stream.</summary>
    public sealed record OpenBench(BenchId Bench, string Name, BenchSetup Setup, Duration PromptAhead) : Instruction;

    /// <summary>Puts requests on the bench's batch.</summary>
    public sealed record AddRequests(IReadOnlyList<BenchRequest> Requests) : Instruction;

    /// <summary>
    /// Takes back a request: before its mix it is gone, afterwards its cartridge is to be thrown away.
    /// </summary>
    /// <param name="Request">Which.</param>
    /// <param name="Why">Why, in a person's words: it is given up then. Without a reason it is asked for before the
    /// batch is closed.</param>
    public sealed record WithdrawRequest(RequestId Request, string? Why = null) : Instruction;

    /// <summary>
    /// Orders the repeat of a discarded or unreadable cartridge; the bench gives it an id of its own.
    /// </summary>
    public sealed record OrderRepeat(RequestId Of) : Instruction;

    /// <summary>Begins the batch: from here steps are offered.</summary>
    public sealed record StartBatch : Instruction;

    /// <summary>
    /// Ends the batch; refused while a cartridge is in work, a result is missing, or a request without a value has no
    /// fate.
    /// </summary>
    /// <param name="Lots">Other lots for what is carried over, where its own may not be used any more; said by the host
    /// itself.</param>
    public sealed record CloseBatch(IReadOnlyList<OtherLot>? Lots = null) : Instruction;

    /// <summary>A request without a value goes on in the next batch.</summary>
    public sealed record CarryOver(RequestId Request) : Instruction;

    /// <summary>No value is looked for any more.</summary>
    /// <param name="Request">Which; not in work.</param>
    /// <param name="Why">Why, in a person's words.</param>
    /// <param name="Confirmed">Of a patient's specimen: that the person means it.</param>
    public sealed record GiveUpRequest(RequestId Request, string Why, bool Confirmed) : Instruction;

    /// <summary>What was said to become of a request is taken back.</summary>
    public sealed record RevokeFate(RequestId Request) : Instruction;

    /// <summary>Follows a plan from now on; refused unless it is valid from the state at the command's time.</summary>
    public sealed record AdoptPlan(Plan Plan, PlanOrigin Origin) : Instruction;

    /// <summary>"Seen": ends an alarm's sound, not the alarm.</summary>
    public sealed record AcknowledgeAlarm(AlarmKey Alarm) : Instruction;

    /// <summary>
    /// Takes back this device's own last report: "this was never so". Where later reports rest on it they are taken
    /// back with it, and must be named: whoever undoes has seen them listed.
    /// </summary>
    /// <param name="Of">The report.</param>
    /// <param name="With">The later reports that rest on it, all of them; null or empty where none does.</param>
    public sealed record Undo(ReportId Of, IReadOnlyList<ReportId>? With = null) : Instruction;

    /// <summary>
    /// An earlier report was otherwise: at another time, in another slot or reader, another card. A reason is needed
    /// after
    /// <see cref="Revisions.CorrectWithoutReasonWithin"/> or from another device. What it was stays in the log.
    /// </summary>
    /// <param name="Of">The report.</param>
    /// <param name="At">When it really happened, or null where the time was right.</param>
    /// <param name="Place">Where, or null where the place was right.</param>
    /// <param name="Lot">Which card, or null where it was right.</param>
    /// <param name="Reason">Why, in words.</param>
    /// <param name="NeverDone">Whether it was never so at all: it is taken back, with what rests on it.</param>
    public sealed record CorrectReport(ReportId Of, Instant? At, CartridgePlace? Place, LotCode? Lot, string? Reason,
        bool NeverDone = false) : Instruction;

    /// <summary>Makes a request that is not mixed yet urgent, or routine again.</summary>
    public sealed record ChangePriority(RequestId Request, Priority Priority) : Instruction;

    /// <summary>The results of a request that is not mixed yet should be there at another time.</summary>
    /// <param name="Request">Which.</param>
    /// <param name="Due">When; null for no time of its own.</param>
    public sealed record ChangeDue(RequestId Request, Instant? Due) : Instruction;

    /// <summary>Something is noted about a request that is not over, in the place of what was noted before.</summary>
    /// <param name="Request">Which.</param>
    /// <param name="Comment">What, in a person's words; null for nothing any more.</param>
    public sealed record CommentRequest(RequestId Request, string? Comment) : Instruction;

    /// <summary>A request is not ready after all.</summary>
    /// <param name="Request">Which; not yet mixed.</param>
    /// <param name="Ready">When it will be; null holds it back without a time.</param>
    public sealed record ChangeReady(RequestId Request, Instant? Ready) : Instruction;

    /// <summary>Hands step away, or a slot, a reader or the incubator goes out of use, from now on.</summary>
    /// <param name="Resource">What.</param>
    /// <param name="For">For how long; null until somebody says otherwise.</param>
    /// <param name="Why">A word for people, or null.</param>
    /// <param name="Anyway">For hands: although cartridges would be lost, whom the refusal has named.</param>
    public sealed record PutOutOfUse(BenchResource Resource, Duration? For, string? Why, bool Anyway = false)
        : Instruction;

    /// <summary>Hands are back, or a slot, a reader or the incubator is in use again.</summary>
    public sealed record PutBackInUse(BenchResource Resource) : Instruction;

    /// <summary>A pair of hands joins or leaves; the one with the highest number leaves.</summary>
    public sealed record ChangeHands(int Hands) : Instruction;

    /// <summary>New requests are turned away, or taken again.</summary>
    public sealed record PauseIntake(bool Paused) : Instruction;

    /// <summary>How warm the incubator must be, and what follows where it is not.</summary>
    public sealed record SetIncubator(IncubatorRule Rule) : Instruction;

    /// <summary>A probe should send what it measures in the incubator; the bench says where it does not.</summary>
    /// <param name="Probe">The program that sends it.</param>
    /// <param name="Every">So often; null where it is not expected any more.</param>
    public sealed record ExpectProbe(DeviceId Probe, Duration? Every) : Instruction;

    /// <summary>Says what is asked of the labels on the bench's cartridges from now on.</summary>
    public sealed record AskForLabels(LabelDemand Demand) : Instruction;

    /// <summary>The host was down and is back. Said by the host itself, before any other command.</summary>
    /// <param name="LastAlive">The last that is known from before.</param>
    /// <param name="ClockBelieved">Whether the host's time can be believed.</param>
    public sealed record NoteRestart(Instant LastAlive, bool ClockBelieved) : Instruction;

    /// <summary>The host's time has come into doubt, or is agreed again. Said by the host itself.</summary>
    /// <param name="Ahead">How far what it was compared with is ahead of it; null where it is agreed.</param>
    public sealed record NoteClock(Duration? Ahead) : Instruction;

    /// <summary>What keeps the bench from planning everything, or does not any more. Said by the host itself.</summary>
    /// <param name="Works">Whether a plan can be made of what is not set aside.</param>
    /// <param name="SetAside">Requests to be left out of plans.</param>
    /// <param name="WithoutEnd">What is to be planned as out of use until somebody says otherwise.</param>
    /// <param name="Because">The cartridge in work that no plan can be made with, or null.</param>
    public sealed record NotePlanning(bool Works, ImmutableArray<RequestId> SetAside,
        ImmutableArray<BenchResource> WithoutEnd, RequestId? Because) : Instruction;

    /// <summary>
    /// Nobody knows whether a step was done that hands are believed to be at; refused while its allowed time runs. Said
    /// by the host itself, which has the patience with each kind of step.
    /// </summary>
    /// <param name="Hands">Whose.</param>
    /// <param name="Action">What they are believed to be doing.</param>
    public sealed record NoteStepNotKnown(HandsNumber Hands, StepAction Action) : Instruction;

    /// <summary>
    /// What the controls of a kit lot let its patients' cartridges do from now on. Said by the host itself.
    /// </summary>
    public sealed record SetLotGate(LotCode Lot, LotGate Gate) : Instruction;

    /// <summary>
    /// A specimen is not run: its condition, its label or its age does not allow it. It stays on record (42 CFR
    /// 493.1283).
    /// </summary>
    /// <param name="Specimen">Which.</param>
    /// <param name="Assay">For which assay.</param>
    /// <param name="Why">Why, in a person's words.</param>
    public sealed record RejectSpecimen(SpecimenId Specimen, AssayCode Assay, string Why) : Instruction;

    /// <summary>A person confirms that something is ready, since the command's time.</summary>
    public sealed record ConfirmReady(ReadinessKey Key) : Instruction;

    /// <summary>Answers a question that stands.</summary>
    /// <param name="Question">Which.</param>
    /// <param name="Answer">What.</param>
    /// <param name="Slot">Where the answer names a slot.</param>
    /// <param name="TimeStated">Whether the command's time is the answer's: when it happened.</param>
    /// <param name="Lot">Where the answer names a card.</param>
    public sealed record AnswerQuestion(QuestionKey Question, Answer Answer, SlotNumber? Slot = null,
        bool TimeStated = false, LotCode? Lot = null) : Instruction;

    /// <summary>
    /// Records what the bench knew after a row of its stream. Said by the host itself, before what stands up to there
    /// is erased.
    /// </summary>
    public sealed record KeepCheckpoint(long UpTo, BenchCheckpoint Checkpoint) : Instruction;

    /// <summary>
    /// "What was reported on this device while it was locked was mine": every such report that is not settled.
    /// </summary>
    public sealed record SettleIdentity : Instruction;

    /// <summary>Specimen and buffer are mixed.</summary>
    /// <param name="Request">Whose cartridge.</param>
    /// <param name="TimeStated">Whether a person stated the time of the mix's end; else it lies between the step's
    /// begin and the tap.</param>
    public sealed record Mixed(RequestId Request, bool TimeStated = false) : Report;

    /// <summary>The well is loaded; the reaction clock has started.</summary>
    /// <param name="Request">Whose cartridge.</param>
    /// <param name="Place">Where it reacts.</param>
    /// <param name="TimeStated">Whether a person stated the time of the load's end; else it lies between the step's
    /// begin and the tap.</param>
    public sealed record Loaded(RequestId Request, CartridgePlace Place, bool TimeStated) : AtLabel;

    /// <summary>The read is started.</summary>
    /// <param name="Request">Whose cartridge.</param>
    /// <param name="Reader">In which reader.</param>
    /// <param name="StatedInTime">After the window has closed: "it was started in time", at the stated time;
    /// flagged.</param>
    public sealed record ReadStarted(RequestId Request, ReaderNumber Reader, bool StatedInTime) : AtLabel;

    /// <summary>The read cartridge is taken out.</summary>
    public sealed record Cleared(RequestId Request, ReaderNumber Reader) : AtLabel;

    /// <summary>The card of a lot is in the reader; the lot was scanned or its last characters typed.</summary>
    public sealed record CardChanged(ReaderNumber Reader, LotCode Lot) : Report;

    /// <summary>
    /// What was done while nobody reported, told together: decided in the order of its times, recorded all or none.
    /// </summary>
    /// <param name="Reports">At least one; each with the time that a person states for it.</param>
    public sealed record Several(IReadOnlyList<Told> Reports) : Report;

    /// <summary>
    /// This card is in the reader, as somebody sees; the lot was scanned or its last characters typed.
    /// </summary>
    public sealed record CardSeen(ReaderNumber Reader, LotCode Lot) : Report;

    /// <summary>What the incubator's thermometer or probe shows.</summary>
    public sealed record TemperatureMeasured(Celsius Value) : Report;

    /// <summary>A cartridge was thrown away.</summary>
    public sealed record Discarded(RequestId Request, DiscardReason Reason, string? InWords) : Report;

    /// <summary>The result that the reader shows.</summary>
    /// <param name="Request">Whose cartridge.</param>
    /// <param name="Result">What the reader shows.</param>
    /// <param name="Identity">What it shows as the specimen's identity; null where nobody asked.</param>
    public sealed record ResultEntered(RequestId Request, ShownResult Result, ShownIdentity? Identity = null) : Report
    {
        /// <summary>
        /// Whether it is taken only where the cartridge has no result yet: by wire, and in a row that showed none, no
        /// result takes another's place.
        /// </summary>
        public bool OnlyFirst { get; init; }

        /// <summary>Which amendments of whoever says it count at once; the host knows.</summary>
        public AmendsAlone Alone { get; init; }
    }

    /// <summary>The step that was offered to these hands has not been begun.</summary>
    public sealed record NotBegun(HandsNumber Hands) : Report;
}
