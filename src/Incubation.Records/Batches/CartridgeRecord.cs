using System.Collections.Immutable;
using System.Text.Json.Serialization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Reports;
using NodaTime;

namespace Incubation.Records.Batches;

/// <summary>What became of a cartridge.</summary>
public enum CartridgeStatus
{
    /// <summary>Not mixed.</summary>
    Waiting,

    /// <summary>Mixed, reacting or being read.</summary>
    InWork,

    /// <summary>Reports contradict each other about where it is.</summary>
    InDoubt,

    /// <summary>Read and taken out; its result is missing.</summary>
    ResultMissing,

    /// <summary>Read, with a result that deviations hold.</summary>
    ResultHeld,

    /// <summary>Read, with its result.</summary>
    Done,

    /// <summary>Thrown away.</summary>
    Discarded,

    /// <summary>Taken back before it was mixed.</summary>
    Withdrawn,
}

/// <summary>A step of a cartridge as it stands after all corrections, beside what was planned.</summary>
/// <param name="Planned">When it should have been done by the plan in force when it was reported; null where no plan
/// had it.</param>
/// <param name="From">The earliest that it can have been; null where it was not done.</param>
/// <param name="To">The latest that it can have been; null where it was not done.</param>
/// <param name="Hands">Whose hands, or null.</param>
/// <param name="Person">Who reported it, or null.</param>
/// <param name="Device">Through what, or null.</param>
public sealed record RecordedStep(Instant? Planned, Instant? From, Instant? To, HandsNumber? Hands, PersonId? Person,
    DeviceId? Device)
{
    /// <summary>Neither planned nor done.</summary>
    public static RecordedStep None { get; } = new(null, null, null, null, null, null);
}

/// <summary>A cartridge as the record tells of it.</summary>
/// <param name="Bench">The bench that ran it.</param>
/// <param name="Batch">Number of the batch.</param>
/// <param name="Request">Names the cartridge.</param>
/// <param name="Specimen">What was collected.</param>
/// <param name="Assay">The assay.</param>
/// <param name="AssayName">Its name.</param>
/// <param name="AssayVersion">The version that it ran under.</param>
/// <param name="Lot">Lot of kit and card.</param>
/// <param name="Kind">Patient or control.</param>
/// <param name="Priority">Routine or urgent.</param>
/// <param name="At">When work on it began; before that, when it was requested.</param>
/// <param name="Standing">What became of it.</param>
/// <param name="Mix">The mix: its planned start, its begin and its end.</param>
/// <param name="Load">The load: its planned end, and the interval in which it ended.</param>
/// <param name="Read">The start of the read.</param>
/// <param name="Clear">The clear: its planned start, its begin and its end.</param>
/// <param name="WindowOpens">From when it might be read, or null.</param>
/// <param name="WindowCloses">By when its read had to start, or null.</param>
/// <param name="Slot">Its slot, or null.</param>
/// <param name="Reader">Its reader, or null.</param>
/// <param name="InWindow">Whether its read started inside the window; null where that is not known.</param>
/// <param name="Deviations">In what it differed.</param>
/// <param name="Corrections">How often its reports were corrected, taken back or settled.</param>
/// <param name="Result">What the reader gave, or null.</param>
/// <param name="ResultEntered">When and by whom the result was entered.</param>
/// <param name="Discard">When and by whom it was thrown away.</param>
/// <param name="Reason">Why it was thrown away, or null.</param>
/// <param name="ReasonInWords">Why, in a person's words, or null.</param>
public sealed record CartridgeRecord(
    BenchId Bench,
    int Batch,
    RequestId Request,
    SpecimenId Specimen,
    AssayCode Assay,
    string AssayName,
    int AssayVersion,
    LotCode Lot,
    RequestKind Kind,
    Priority Priority,
    Instant At,
    CartridgeStatus Standing,
    RecordedStep Mix,
    RecordedStep Load,
    RecordedStep Read,
    RecordedStep Clear,
    Instant? WindowOpens,
    Instant? WindowCloses,
    int? Slot,
    int? Reader,
    bool? InWindow,
    ImmutableArray<Deviation> Deviations,
    int Corrections,
    ReadResult? Result,
    RecordedStep ResultEntered,
    RecordedStep Discard,
    DiscardReason? Reason,
    string? ReasonInWords)
{
    /// <summary>The value as it is reported, with its marks; null where there is none.</summary>
    public MarkedResult? Marked { get; init; }

    /// <summary>What holds its result, or that it has none.</summary>
    public ResultHold Hold { get; init; }

    /// <summary>What its result may be used for.</summary>
    [JsonIgnore]
    public ResultUse Use => ResultUse.Of(Kind, Hold);

    /// <summary>The control material that was run; null for a patient's specimen.</summary>
    public ControlMaterial? Control { get; init; }

    /// <summary>Why its held result was released, in words; null where it was not.</summary>
    public string? Released { get; init; }

    /// <summary>When and by whom its held result was released.</summary>
    public RecordedStep Release { get; init; } = RecordedStep.None;

    /// <summary>
    /// What its result was before each amendment, with when, by whom and why, the first first; those that came after
    /// its batch was closed too.
    /// </summary>
    public ImmutableArray<EarlierResult> Amendments { get; init; } = [];

    /// <summary>Its times as reports count them; null only where a cartridge is made up.</summary>
    public CartridgeTiming? Timing { get; init; }

    /// <summary>The identity that the reader showed, where it was another's; null where that is not known.</summary>
    public string? ShownIdentity { get; init; }

    /// <summary>The last release of it that does not cover what was learnt of it since; null where none was.</summary>
    public ResultRelease? EndedRelease { get; init; }

    /// <summary>
    /// What was entered before its result and typed anew, the first first: when, by whom, and what stood.
    /// </summary>
    public ImmutableArray<EarlierResult> Replaced { get; init; } = [];

    /// <summary>When it was first entered with nothing that held it; null where something held it then.</summary>
    public Instant? Out { get; init; }

    /// <summary>When it could first be reported, where something holds it now; null where it never could.</summary>
    [JsonIgnore]
    public Instant? OutBefore => Standing != CartridgeStatus.ResultHeld || Released is not null ? null
        : Out ?? EndedRelease?.At;

    /// <summary>What is asked about its value; null where it is possible, or somebody released it.</summary>
    public ValueQuestion? Question { get; init; }

    /// <summary>The correction that would have let its held result out; null where none would have.</summary>
    public KeptHold? Kept { get; init; }

    /// <summary>The amendment of its result that waits for a second person; null where none does.</summary>
    public AmendmentProposal? Proposal { get; init; }

    /// <summary>Amendments of its result that a second person declined, the first first.</summary>
    public ImmutableArray<DeclinedAmendment> Declined { get; init; } = [];

    /// <summary>What holds its result apart from an amendment that waits.</summary>
    public ResultHold HoldUnamended { get; init; }

    /// <summary>What holds its result apart from what is asked about its value, and from an amendment.</summary>
    public ResultHold HoldOtherwise { get; init; }

    /// <summary>
    /// All that would hold its result apart from what is asked about its value and from an amendment, if nobody had
    /// released it; in the order in which it is asked.
    /// </summary>
    public ImmutableArray<ResultHold> HoldsUnreleased { get; init; } = [];

    /// <summary>The first of them; none where there is none.</summary>
    [JsonIgnore]
    public ResultHold HoldUnreleased => HoldsUnreleased.FirstOrDefault();

    /// <summary>
    /// Whether its result waits for a person's decision. Where its cartridge was thrown away after it was entered it is
    /// used for nothing: what becomes of the request says it all, and an amendment is decided.
    /// </summary>
    [JsonIgnore]
    public bool AwaitsDecision => Standing == CartridgeStatus.ResultHeld
        || (Standing == CartridgeStatus.Discarded && Result is not null && (Proposal is not null
            // Former versions closed a batch without asking what becomes of whoever waits for it.
            || (IsLostUnsaid && Result is ReadResult.Measured)));

    /// <summary>
    /// Whether it has no value, and nobody has said what becomes of the request, nor looked at it since its batch was
    /// closed.
    /// </summary>
    [JsonIgnore]
    public bool IsLostUnsaid => IsWithoutValue && Fate is null && !IsDecidedSinceClose;

    /// <summary>How often its result was amended since its batch was closed.</summary>
    [JsonIgnore]
    public int AmendedSinceClose { get; init; }

    /// <summary>Whether a person has decided on its result since its batch was closed.</summary>
    [JsonIgnore]
    public bool IsDecidedSinceClose { get; init; }

    /// <summary>Whether it has a value; one of a cartridge that was thrown away is used for nothing.</summary>
    [JsonIgnore]
    public bool HasValue => Result is ReadResult.Measured && Standing != CartridgeStatus.Discarded;

    /// <summary>Every value that its result has had; null where there is none.</summary>
    public ResultHistory? Values { get; init; }

    /// <summary>Why somebody must be told of its result; null where nobody need be, or somebody was.</summary>
    public TellingDuty? Telling { get; init; }

    /// <summary>What becomes of it, where it has no value; null where it has one, or nobody has said.</summary>
    public RequestFate? Fate { get; init; }

    /// <summary>Whether it has no value, and no request that it repeats stands for it.</summary>
    public bool IsWithoutValue { get; init; }

    /// <summary>Since when somebody waited for its value.</summary>
    public Instant WaitsSince { get; init; }

    /// <summary>The batch from which it was carried over, or null.</summary>
    public int? FromBatch { get; init; }

    /// <summary>The request whose repeat it is, or null.</summary>
    public RequestId? RepeatOf { get; init; }

    /// <summary>The first result, where it was amended; else null.</summary>
    public ReadResult? First { get; init; }

    /// <summary>Whether its result was entered under a name that was not checked.</summary>
    public bool ResultNotChecked { get; init; }

    /// <summary>Whether it then went out without being held, as former versions let it.</summary>
    public bool WentOutNotChecked { get; init; }

    /// <summary>Who sent that result, where that was another than whose name it bears; else null.</summary>
    public PersonId? ResultSentBy { get; init; }
}

/// <summary>A batch as the record tells of it: running ones as they stand.</summary>
/// <param name="Number">Its number on the bench.</param>
/// <param name="Before">What the bench knew before it; null at the beginning of the stream.</param>
/// <param name="First">Sequence of its first row in the bench's stream.</param>
/// <param name="Last">Sequence of its last row so far.</param>
/// <param name="State">The bench before the batch was closed, or as it stands.</param>
/// <param name="Started">Who started it, or null.</param>
/// <param name="Closed">Who closed it, or null while it is open.</param>
/// <param name="Cartridges">Its cartridges in the order in which they were requested.</param>
/// <param name="Happenings">Everything else that stands in its part of the stream, in order: no step, no plan.</param>
/// <param name="Times">The same cartridges in times, for reports.</param>
/// <param name="Use">What it had and how long it was used; null while nothing was done.</param>
public sealed record BatchRecord(
    int Number,
    BenchCheckpoint? Before,
    long First,
    long Last,
    BenchState State,
    Provenance? Started,
    Provenance? Closed,
    ImmutableArray<CartridgeRecord> Cartridges,
    ImmutableArray<BenchEntry> Happenings,
    ImmutableArray<CartridgeTimes> Times,
    BatchUse? Use)
{
    /// <summary>Reports that were undone later, as they stood then.</summary>
    public ImmutableDictionary<ReportId, BenchEvent.StoryEvent> Undone { get; init; } =
        ImmutableDictionary<ReportId, BenchEvent.StoryEvent>.Empty;

    /// <summary>The cartridge whose step a report told, or had told; null where it told of none.</summary>
    public RequestId? SubjectOf(ReportId report) =>
        (State.Story.Find(told => told.Id == report)?.Event ?? Undone.GetValueOrDefault(report))?.Subject;
}

/// <summary>A batch as it was recorded: to be played again.</summary>
/// <param name="Before">The bench before its first entry; null where that opened the bench.</param>
/// <param name="Entries">Its entries in order.</param>
/// <param name="IsClosed">Whether the last of them closed it.</param>
public sealed record RecordedBatch(BenchState? Before, ImmutableArray<BenchEntry> Entries, bool IsClosed);
