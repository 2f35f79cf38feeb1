using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// In what a report differs from what the bench believed or a rule allows. The fact stands; its result is held.
/// </summary>
public enum Deviation
{
    /// <summary>The step that should come before was never reported.</summary>
    OutOfOrder,

    /// <summary>The mixture was older than the assay allows when it was loaded.</summary>
    LateLoad,

    /// <summary>The load ended after its "load by" time.</summary>
    LoadedAfterLoadBy,

    /// <summary>Another cartridge was believed to be in the slot.</summary>
    SlotBelievedTaken,

    /// <summary>Another cartridge was believed to be in the reader.</summary>
    ReaderBelievedTaken,

    /// <summary>The read started before the window can have opened.</summary>
    EarlyRead,

    /// <summary>The read started after the window may have closed.</summary>
    LateRead,

    /// <summary>Reported after the window had closed: "it was started in time".</summary>
    StatedInTime,

    /// <summary>The reader was believed to hold the card of another lot, or none.</summary>
    OtherCard,

    /// <summary>The place is not one where this assay reacts, or does not exist on this bench.</summary>
    OtherPlace,

    /// <summary>Reported while the server's time was in doubt: whether it was early or late is not known.</summary>
    ClockInDoubt,

    /// <summary>The read is said to have started before the cartridge's load can have ended.</summary>
    ReadBeforeLoad,

    /// <summary>The incubator was outside its tolerance while the cartridge reacted in it.</summary>
    TemperatureOutside,

    /// <summary>It was loaded although the controls of its kit lot were not accepted.</summary>
    ControlsNotAccepted,

    /// <summary>
    /// A control of its kit lot was rejected while it was in work, or before its result was released.
    /// </summary>
    ControlsFailed,

    /// <summary>
    /// The time that came with it cannot be, and it is recorded as of its arrival: whether it was early or late is not
    /// known until somebody says when it was.
    /// </summary>
    TimeNotTaken,

    /// <summary>
    /// It was told sooner after the same hands' previous report than hands can do it (<see cref="Quickness"/>).
    /// </summary>
    TooQuick,

    /// <summary>Its label was not scanned, although the clinic demands that it is.</summary>
    NotScanned,

    /// <summary>It was done with this cartridge while the plan's next was another.</summary>
    OtherThanPlanned,
}

/// <summary>Why the time that came with a report was not taken over.</summary>
public enum TimeFault
{
    /// <summary>It cannot be read as an instant.</summary>
    Unreadable,

    /// <summary>It lies after the report's arrival.</summary>
    AfterArrival,

    /// <summary>
    /// It lies before the earliest that it can have been: the last batch's close, the bench's opening, or when the
    /// cartridge's request came.
    /// </summary>
    TooEarly,
}

/// <summary>A request as it goes on in the next batch.</summary>
/// <param name="Wanted">The request there.</param>
/// <param name="RepeatOf">The request whose cartridge gave no value, where this is its repeat; else null.</param>
/// <param name="Since">Since when somebody waits for its value.</param>
/// <param name="HeldBack">Whether it was held back, and nobody knows when it will be ready.</param>
public sealed record CarriedRequest(BenchRequest Wanted, RequestId? RepeatOf, Instant Since, bool HeldBack);

/// <summary>Something that happened on a bench. Events copy every fact that applying them needs.</summary>
public abstract partial record BenchEvent
{
    private BenchEvent() { }

    public sealed record BenchOpened(BenchId Bench, string Name, BenchSetup Setup, Duration PromptAhead) : BenchEvent;

    public sealed record RequestsAdded(ImmutableArray<BenchRequest> Requests) : BenchEvent;

    public sealed record RequestWithdrawn(RequestId Request) : BenchEvent;

    /// <summary>A request that was added by the same command is the repeat of another.</summary>
    /// <param name="Of">The other.</param>
    /// <param name="Repeat">The repeat.</param>
    public sealed record RepeatOrdered(RequestId Of, RequestId Repeat) : BenchEvent;

    /// <summary>A request without a value goes on in the next batch; one that waits is taken out of this one.</summary>
    public sealed record RequestCarriedOver(RequestId Request) : BenchEvent;

    /// <summary>
    /// No value is looked for any more for a request; one that waits is taken out of the batch.
    /// </summary>
    public sealed record RequestGivenUp(RequestId Request, string Why) : BenchEvent;

    /// <summary>What was said to become of a request is not so; one that was not mixed waits again.</summary>
    public sealed record FateRevoked(RequestId Request) : BenchEvent;

    /// <summary>
    /// What was carried over from a batch stands in the next one. Recorded with the close, and after it: so it belongs
    /// to the next batch, and is kept as long as that.
    /// </summary>
    /// <param name="From">The batch that was closed.</param>
    /// <param name="Requests">What came from it.</param>
    public sealed record RequestsCarriedOver(int From, ImmutableArray<CarriedRequest> Requests) : BenchEvent;

    public sealed record BatchStarted(int Batch) : BenchEvent;

    public sealed record BatchClosed(int Batch) : BenchEvent;

    /// <param name="Plan">The plan.</param>
    /// <param name="Origin">Where it comes from.</param>
    /// <param name="Spares">Spare time of each of its steps, in its order; null where nothing is at stake. Copied, so
    /// that a replay does not depend on how spare time is worked out today.</param>
    public sealed record PlanAdopted(Plan Plan, PlanOrigin Origin, ImmutableArray<Duration?> Spares) : BenchEvent;

    /// <summary>What keeps the bench from planning everything, from now on.</summary>
    /// <param name="Works">Whether a plan can be made of what is not set aside.</param>
    /// <param name="SetAside">Requests that are left out of plans; empty where none is any more.</param>
    /// <param name="WithoutEnd">What is planned as out of use until somebody says otherwise.</param>
    /// <param name="Because">The cartridge in work that no plan can be made with, or null.</param>
    public sealed record PlanningNoted(bool Works, ImmutableArray<RequestId> SetAside,
        ImmutableArray<BenchResource> WithoutEnd, RequestId? Because) : BenchEvent;

    /// <param name="Request">Whose result.</param>
    /// <param name="Result">What the reader shows.</param>
    /// <param name="Held">Whether something held it when it was entered.</param>
    /// <param name="Identity">What the reader showed as the specimen's identity.</param>
    /// <param name="Shown">That, where it was another's; null where it was not, and from former versions.</param>
    public sealed record ResultEntered(RequestId Request, ReadResult Result, bool Held, ResultIdentity Identity,
        string? Shown = null) : BenchEvent;

    /// <summary>A specimen was rejected for an assay, and why.</summary>
    public sealed record SpecimenRejected(SpecimenId Specimen, AssayCode Assay, string Why) : BenchEvent;

    /// <summary>A person has confirmed that something is ready.</summary>
    /// <param name="Key">What.</param>
    /// <param name="Since">Since when: when the kit was taken out, when the self-check was done.</param>
    public sealed record ReadinessConfirmed(ReadinessKey Key, Instant Since) : BenchEvent;

    /// <summary>A held result was released, and why.</summary>
    public sealed record ResultReleased(RequestId Request, string Why) : BenchEvent
    {
        /// <summary>
        /// Whether a word that nobody need be told ends with it; null where none was, or by a former version.
        /// </summary>
        public bool? EndsWaiver { get; init; }
    }

    /// <summary>A result was amended: what it was, what it is, and why.</summary>
    public sealed record ResultAmended(RequestId Request, ReadResult Before, ReadResult After, string Why,
        AmendmentReason? Reason = null) : BenchEvent;

    /// <summary>An amendment was entered that waits for a second person: the result is held until then.</summary>
    public sealed record AmendmentProposed(RequestId Request, ReadResult Before, ReadResult After, string Why,
        AmendmentReason? Reason = null) : BenchEvent;

    /// <summary>A second person confirmed the amendment that waited, and why: it is made with this.</summary>
    public sealed record AmendmentConfirmed(RequestId Request, string Why) : BenchEvent;

    /// <summary>A second person declined the amendment that waited, and why: the result stays what it was.</summary>
    public sealed record AmendmentDeclined(RequestId Request, string Why) : BenchEvent;

    /// <summary>
    /// The value that was entered or amended to with this cannot be: it is held until a supervisor releases it, or it
    /// is amended to one that can.
    /// </summary>
    public sealed record ResultQuestioned(RequestId Request, ValueQuestion Question) : BenchEvent;

    /// <summary>
    /// Somebody was told of a result, whether it was read back, and why not the person who was told of the earlier one.
    /// </summary>
    public sealed record CriticalTold(RequestId Request, string Whom, bool ReadBack, string? Why = null) : BenchEvent;

    /// <summary>A supervisor says that nobody need be told of a result, and why.</summary>
    public sealed record TellingWaived(RequestId Request, string Why) : BenchEvent;

    public sealed record StepNotBegun(HandsNumber Hands, Instant At) : BenchEvent;

    /// <summary>
    /// Nobody knows whether a step was done that hands were believed to be at: they count as free from now on.
    /// </summary>
    /// <param name="Hands">Whose.</param>
    /// <param name="Action">What they were doing.</param>
    /// <param name="Begun">When they can have begun it at the earliest.</param>
    /// <param name="Since">Since when it is not known.</param>
    public sealed record StepNotKnown(HandsNumber Hands, StepAction Action, Instant Begun, Instant Since) : BenchEvent;

    public sealed record ReportUndone(ReportId Report) : BenchEvent;

    /// <summary>
    /// Reports of this batch are revised: one told late, corrected, taken back or answered. The reports as they were
    /// told stay in the log; from here on the batch's story is as it stands now, told in the order of its times.
    /// </summary>
    /// <param name="Undone">Reports that were never so.</param>
    /// <param name="Corrected">Reports that were otherwise.</param>
    /// <param name="Verdicts">Reports that are judged otherwise now.</param>
    /// <param name="Reason">Why, in a person's words; or null.</param>
    public sealed record ReportsRevised(
        ImmutableArray<ReportId> Undone, ImmutableArray<Correction> Corrected, ImmutableArray<Verdict> Verdicts,
            string? Reason) : BenchEvent;

    /// <summary>
    /// A step that was reported already, from another tablet or by a second tap; nothing new is recorded.
    /// </summary>
    /// <param name="Of">The report that told it first.</param>
    public sealed record SaidAgain(ReportId Of) : BenchEvent;

    /// <summary>
    /// A question that stood was answered; what follows from the answer stands beside this in the same command.
    /// </summary>
    public sealed record QuestionSettled(QuestionKey Question, Answer Answer) : BenchEvent;

    /// <summary>
    /// Hands are away, or a slot, a reader or the incubator is out of use, from and to the entry's instants.
    /// </summary>
    public sealed record PutOutOfUse(CalendarEntry Entry) : BenchEvent;

    /// <summary>Hands are back, or a slot, a reader or the incubator is in use again.</summary>
    public sealed record PutBackInUse(BenchResource Resource) : BenchEvent;

    /// <summary>So many pairs of hands work on the bench from now on.</summary>
    public sealed record HandsChanged(int Hands) : BenchEvent;

    public sealed record IntakePaused : BenchEvent;

    public sealed record IntakeResumed : BenchEvent;

    /// <param name="Request">Which.</param>
    /// <param name="Ready">When it will be ready; null holds it back without a time.</param>
    public sealed record ReadyChanged(RequestId Request, Instant? Ready) : BenchEvent;

    /// <summary>How much waiting for a request that is not mixed hurts, from now on.</summary>
    public sealed record PriorityChanged(RequestId Request, Priority Priority) : BenchEvent;

    /// <summary>When the results of a request that is not mixed should be there, from now on.</summary>
    /// <param name="Request">Which.</param>
    /// <param name="Due">When; null for no time of its own.</param>
    public sealed record DueChanged(RequestId Request, Instant? Due) : BenchEvent;

    /// <summary>What is noted about a request, from now on.</summary>
    /// <param name="Request">Which.</param>
    /// <param name="Comment">What; null for nothing any more.</param>
    public sealed record RequestCommented(RequestId Request, string? Comment) : BenchEvent;

    /// <summary>A cartridge in work is not wanted any more, or spoilt: it is to be thrown away.</summary>
    public sealed record DiscardAsked(RequestId Request, DiscardReason Reason) : BenchEvent;

    public sealed record IncubatorSet(IncubatorRule Rule) : BenchEvent;

    /// <param name="Value">What was measured.</param>
    /// <param name="Outside">Whether that is outside the tolerance.</param>
    /// <param name="Marked">Cartridges that were reacting in the incubator, and are marked where it is outside.</param>
    public sealed record TemperatureMeasured(Celsius Value, bool Outside, ImmutableArray<RequestId> Marked)
        : BenchEvent;

    /// <summary>A probe is expected to send what it measures.</summary>
    /// <param name="Probe">The program that sends it.</param>
    /// <param name="Every">So often; null where it is not expected any more.</param>
    public sealed record ProbeExpected(DeviceId Probe, Duration? Every) : BenchEvent;

    /// <summary>What is asked of the labels on the bench's cartridges from here on.</summary>
    public sealed record LabelsAsked(LabelDemand Demand) : BenchEvent;

    /// <summary>The server is back after it was down.</summary>
    public sealed record Restarted(Outage Outage) : BenchEvent;

    /// <summary>The host's time has come into doubt: it differs from what it was compared with.</summary>
    /// <param name="Ahead">How far that is ahead of the host's time; negative where it is behind.</param>
    public sealed record ClockDoubted(Duration Ahead) : BenchEvent;

    /// <summary>The host's time is agreed again.</summary>
    public sealed record ClockAgreed : BenchEvent;

    /// <summary>What the controls of a kit lot let its patients' cartridges do, from now on.</summary>
    /// <param name="Lot">The lot.</param>
    /// <param name="Gate">What they may do.</param>
    /// <param name="Marked">Cartridges whose results are held because a control has failed.</param>
    public sealed record LotGateSet(LotCode Lot, LotGate Gate, ImmutableArray<RequestId> Marked) : BenchEvent;

    public sealed record AlarmAcknowledged(AlarmKey Alarm) : BenchEvent;

    /// <summary>
    /// Who sent the command that this belongs to was not known: its person is the last who was signed in on the device.
    /// </summary>
    public sealed record IdentityNotChecked : BenchEvent;

    /// <summary>
    /// The command that this belongs to was sent by another person than the one under whose name it stands.
    /// </summary>
    /// <param name="Sender">Who was signed in when it was sent.</param>
    public sealed record SentByAnother(PersonId Sender) : BenchEvent;

    /// <summary>The report that this belongs to was made by a scan of its cartridge's label.</summary>
    /// <param name="Request">Whose cartridge the label names.</param>
    public sealed record LabelScanned(RequestId Request) : BenchEvent;

    /// <summary>
    /// A result was entered under a name that was not checked: it is held until a supervisor releases it.
    /// </summary>
    /// <param name="Request">Whose result.</param>
    /// <param name="Sender">Who was signed in and sent it; null where nobody was signed in.</param>
    public sealed record ResultNotChecked(RequestId Request, PersonId? Sender) : BenchEvent;

    /// <summary>
    /// It was said (by a correction, an answer, a look at the card, an undo or a late report) that what held a result
    /// after its entry was otherwise: it stays held until a supervisor releases it.
    /// </summary>
    /// <param name="Request">Whose result.</param>
    /// <param name="From">When the step was that was corrected, as it was told; null where no time was.</param>
    /// <param name="To">When it was by the correction; null where no time was.</param>
    public sealed record ResultKeptHeld(RequestId Request, Instant? From, Instant? To) : BenchEvent;

    /// <summary>
    /// Something was learnt of a cartridge that was not known when its result was released: the result waits again.
    /// </summary>
    /// <param name="Request">Whose result.</param>
    public sealed record ReleaseEnded(RequestId Request) : BenchEvent;

    /// <summary>
    /// The time that came with the report that this belongs to was not taken over: it is recorded as of its arrival.
    /// </summary>
    /// <param name="Claimed">The time as the text that came.</param>
    /// <param name="Why">Why it was not taken over.</param>
    public sealed record TimeNotTaken(string Claimed, TimeFault Why) : BenchEvent;

    /// <summary>
    /// What the bench knew after a row of its stream, between two batches: a replay can begin there when the rows
    /// before are erased. It changes nothing in what is believed.
    /// </summary>
    /// <param name="UpTo">That row.</param>
    /// <param name="Checkpoint">What the bench knew.</param>
    public sealed record CheckpointKept(long UpTo, BenchCheckpoint Checkpoint) : BenchEvent;

    /// <summary>Reports made while a device was locked were this person's, who has signed in and said so.</summary>
    public sealed record IdentitySettled(ImmutableArray<ReportId> Reports, PersonId Person) : BenchEvent;
}

/// <summary>An event as it stands in the log: what happened, and who said so, when, through what.</summary>
public sealed record BenchEntry(BenchEvent Event, Provenance Provenance);
