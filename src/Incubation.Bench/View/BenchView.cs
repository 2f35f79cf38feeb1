using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>A window or a machine at risk.</summary>
public enum AlarmKind
{
    /// <summary>A read has not been started and its guard is about to be, or is being, used up.</summary>
    WindowInDanger,

    /// <summary>A read window has closed and no read was reported.</summary>
    WindowClosed,

    /// <summary>The adopted plan gives this cartridge up.</summary>
    CannotBeSaved,

    /// <summary>A mixture is about to become too old to load.</summary>
    MixtureInDanger,

    /// <summary>A mixture is too old to load.</summary>
    MixtureTooOld,

    /// <summary>Reports contradict each other about where this cartridge is.</summary>
    CartridgeAstray,

    /// <summary>The incubator is outside its tolerance while this cartridge reacts in it.</summary>
    IncubatorOutside,

    /// <summary>The same, and its assay's rule will have the cartridge thrown away.</summary>
    IncubatorSpoils,

    /// <summary>The server's time disagrees with something; raised by the host.</summary>
    ClockInDoubt,

    /// <summary>Clocks run at a bench of which no screen can be seen and heard; raised by the host.</summary>
    NoScreen,

    /// <summary>An alarm could not be sent on to where it should go; raised by the host.</summary>
    NotSentOn,
}

/// <summary>
/// How urgent an alarm is; modelled on the three priorities of IEC 60601-1-8:2006 + A1:2012 + A2:2020.
/// </summary>
public enum AlarmPriority
{
    Low,
    Medium,
    High,
}

/// <summary>
/// Names an alarm: one of a kind for each cartridge. Those that the host raises are no cartridge's: in the place of the
/// request stands what tells one occurrence from the next.
/// </summary>
public sealed record AlarmKey(AlarmKind Kind, RequestId Request);

/// <summary>
/// An alarm that stands, or that will stand from <see cref="From"/> if nothing is reported until then.
/// </summary>
/// <param name="Key">Names it.</param>
/// <param name="From">Since, or from, when it stands.</param>
/// <param name="Until">When it gives way to another alarm, or null.</param>
/// <param name="Deadline">What can still be kept until when, or null when nothing can.</param>
/// <param name="Acknowledged">Whether a person has seen it: no sound then.</param>
public sealed record Alarm(AlarmKey Key, Instant From, Instant? Until, Instant? Deadline, bool Acknowledged)
{
    /// <summary>
    /// Where its cartridge can only be thrown away: the reason for it that is chosen at first; else null.
    /// </summary>
    public DiscardReason? Reason { get; init; }

    /// <summary>How urgent.</summary>
    public AlarmPriority Priority => Conditions.Of(Key.Kind).Priority;

    /// <summary>From when it goes to others, unless somebody has acknowledged it.</summary>
    public Instant EscalatesAt => Conditions.Of(Key.Kind).GoesOnAtOnce ? From : Escalation.At(From, Deadline);

    /// <summary>Whether it stands at an instant.</summary>
    public bool StandsAt(Instant now) => From <= now && (Until is not { } until || now < until);
}

/// <summary>A step that a pair of hands is asked to do next.</summary>
/// <param name="Action">What.</param>
/// <param name="Hands">Whose.</param>
/// <param name="PromptAt">When it is announced.</param>
/// <param name="MayBegin">When it may begin; it counts as begun from then on.</param>
/// <param name="PlannedEnd">When its allowed time has passed.</param>
/// <param name="LatestStart">It must begin no later, or a window is lost (the guard left untouched); null where nothing
/// is at stake.</param>
/// <param name="ReportFrom">When it can be reported as done: a read not before its window opens.</param>
/// <param name="AskWhenAfter">A mix or load reported later than this is asked for the time of its end; else
/// null.</param>
/// <param name="Window">The read window that a move must keep; else null.</param>
/// <param name="Reason">For a discard: the reason with which it is thrown away; else null.</param>
public sealed record Offer(
    StepAction Action,
    HandsNumber Hands,
    Instant PromptAt,
    Instant MayBegin,
    Instant PlannedEnd,
    Instant? LatestStart,
    Instant ReportFrom,
    Instant? AskWhenAfter,
    ReadWindow? Window,
    DiscardReason? Reason = null);

/// <summary>A step that comes later.</summary>
/// <param name="Step">The planned step.</param>
/// <param name="Spare">How much later than planned it may begin before a window is lost; null where nothing is at
/// stake.</param>
public sealed record UpcomingStep(PlannedStep Step, Duration? Spare);

/// <summary>A slot and what is in it.</summary>
/// <param name="Slot">Which.</param>
/// <param name="Cartridge">What is in it, or null.</param>
/// <param name="Window">Its read window, or null.</param>
/// <param name="MoveAt">Planned start of its move, or null.</param>
/// <param name="OutOfUse">Until when it is out of use and why, or null.</param>
public sealed record SlotView(SlotNumber Slot, Cartridge? Cartridge, ReadWindow? Window, Instant? MoveAt,
    CalendarEntry? OutOfUse = null);

/// <summary>A reader and what is in it.</summary>
/// <param name="Reader">Which.</param>
/// <param name="Card">The card known to be in it, or null.</param>
/// <param name="Cartridge">The cartridge in it, or null.</param>
/// <param name="ReadyAt">When its read has ended by the assay's time, or null.</param>
/// <param name="CardDoubt">Why its card is not known until somebody sees it, or null.</param>
/// <param name="OutOfUse">Until when it is out of use and why, or null.</param>
public sealed record ReaderView(ReaderNumber Reader, LotCode? Card, Cartridge? Cartridge, Instant? ReadyAt,
    CardDoubt? CardDoubt = null, CalendarEntry? OutOfUse = null);

/// <summary>Why a request is not planned; hosts have the words.</summary>
public enum NotPlannedCause
{
    /// <summary>It is not ready, and nobody has said when it will be.</summary>
    HeldBack,

    /// <summary>Every reader is out of use.</summary>
    NoReader,

    /// <summary>Every slot is out of use.</summary>
    NoSlot,

    /// <summary>All hands are away.</summary>
    NoHands,

    /// <summary>It wants another temperature than its batch runs at: it stands aside for a later one.</summary>
    OtherTemperature,

    /// <summary>Something that must be so before it is started is not: it stands in the readiness list.</summary>
    NotReady,

    /// <summary>The controls of its kit lot are not accepted, and none is under way.</summary>
    ControlsAwaited,

    /// <summary>A control of its kit lot was rejected.</summary>
    ControlsFailed,
}

/// <summary>A request that waits without a plan.</summary>
public sealed record NotPlanned(RequestId Request, NotPlannedCause Cause);

/// <summary>The batch in numbers.</summary>
/// <param name="Total">Requests, those withdrawn left out.</param>
/// <param name="Done">Cartridges read and taken out.</param>
/// <param name="Reacting">Cartridges reacting.</param>
/// <param name="Waiting">Requests not mixed.</param>
/// <param name="Discarded">Cartridges thrown away.</param>
/// <param name="ReadInWindow">Reads that started inside their window.</param>
/// <param name="ReadOutside">Reads that did not, or may not have.</param>
/// <param name="ResultsMissing">Cartridges cleared whose result has not been entered.</param>
/// <param name="UrgentWaiting">Urgent requests not yet cleared.</param>
/// <param name="UrgentSince">Since when the longest waiting of them could be worked on; null where none waits.</param>
/// <param name="LateNow">Due requests whose due time has passed and that are not cleared.</param>
/// <param name="PerHour">Cartridges cleared per hour since the batch started; null before the first.</param>
/// <param name="Finish">Planned end of the last clear, or the real one when all are over; null without a plan.</param>
public sealed record BatchTotals(
    int Total,
    int Done,
    int Reacting,
    int Waiting,
    int Discarded,
    int ReadInWindow,
    int ReadOutside,
    int ResultsMissing,
    int UrgentWaiting,
    Instant? UrgentSince,
    int LateNow,
    double? PerHour,
    Instant? Finish);

/// <summary>What a bench shows at an instant.</summary>
/// <param name="At">The instant.</param>
/// <param name="Offers">The next step of each pair of hands that has one, the earliest first.</param>
/// <param name="Upcoming">What comes after the offers, by planned start.</param>
/// <param name="Slots">Every slot.</param>
/// <param name="Readers">Every reader.</param>
/// <param name="Alarms">Alarms that stand, and those that will stand if nothing is reported; by start.</param>
/// <param name="Questions">Questions that stand, the oldest first.</param>
/// <param name="Losses">Cartridges that are given up, and why.</param>
/// <param name="Repeats">Cartridges without a value whose repeat can be ordered.</param>
/// <param name="NotPlanned">Requests that wait without a plan, and why.</param>
/// <param name="Totals">The batch in numbers.</param>
/// <param name="ChangesAt">The next instant after <paramref name="At"/> at which what is shown changes by time alone,
/// or null.</param>
/// <param name="ReplanAt">When the adopted plan should be made anew if nothing is reported until then, or null.</param>
public sealed record BenchView(
    Instant At,
    ImmutableArray<Offer> Offers,
    ImmutableArray<UpcomingStep> Upcoming,
    ImmutableArray<SlotView> Slots,
    ImmutableArray<ReaderView> Readers,
    ImmutableArray<Alarm> Alarms,
    ImmutableArray<Question> Questions,
    ImmutableArray<Loss> Losses,
    ImmutableArray<RequestId> Repeats,
    ImmutableArray<NotPlanned> NotPlanned,
    BatchTotals Totals,
    Instant? ChangesAt,
    Instant? ReplanAt);
