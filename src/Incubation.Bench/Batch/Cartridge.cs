using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>How far a request has come on the bench.</summary>
public abstract record CartridgeStage
{
    private CartridgeStage() { }

    /// <summary>Not mixed.</summary>
    public sealed record Waiting : CartridgeStage;

    /// <summary>In work.</summary>
    public sealed record InWork(CartridgePhase Phase) : CartridgeStage;

    /// <summary>
    /// In work, but later reports contradict where it was believed to be; left out of plans until settled by a clear or
    /// a discard.
    /// </summary>
    /// <param name="By">The report that contradicts it.</param>
    /// <param name="Last">How far it had come: only its place is in doubt.</param>
    /// <param name="Since">When that was reported.</param>
    public sealed record Astray(ReportId By, CartridgePhase Last, Instant Since) : CartridgeStage;

    /// <summary>Read and taken out.</summary>
    public sealed record Cleared(Instant End) : CartridgeStage;

    /// <summary>Thrown away.</summary>
    public sealed record Discarded(Instant End, DiscardReason Reason, string? InWords) : CartridgeStage;

    /// <summary>Withdrawn before it was mixed.</summary>
    public sealed record Withdrawn : CartridgeStage;
}

/// <summary>A request and its cartridge on the bench.</summary>
/// <param name="Wanted">The request with the assay facts that it runs under.</param>
/// <param name="Stage">How far it has come.</param>
/// <param name="Deviations">Everything in which its reports differed; not empty means that its result is held until
/// somebody releases it.</param>
/// <param name="ReadInWindow">Whether the read started inside the window; null while not read.</param>
/// <param name="Result">What the reader gave, or null.</param>
public sealed record Cartridge(
    BenchRequest Wanted,
    CartridgeStage Stage,
    ImmutableArray<Deviation> Deviations,
    bool? ReadInWindow,
    ReadResult? Result)
{
    public RequestId Id => Wanted.Request.Id;

    /// <summary>When its request came: none of its steps can have been done before.</summary>
    public Instant Came { get; init; } = Instant.MinValue;

    /// <summary>Since when it is wanted, where that was before it came to this batch; else null.</summary>
    public Instant? WantedSince { get; init; }

    /// <summary>Since when somebody waits for its value.</summary>
    public Instant WaitsSince => WantedSince ?? Came;

    /// <summary>The batch from which it was carried over, or null.</summary>
    public int? FromBatch { get; init; }

    /// <summary>The request whose repeat it is, in this batch or an earlier one; or null.</summary>
    public RequestId? RepeatOf { get; init; }

    /// <summary>What somebody has said becomes of it without a value; null where nobody has.</summary>
    public RequestFate? Fate { get; init; }

    /// <summary>Not ready after all, and nobody knows when it will be: left out of plans until it has a time.</summary>
    public bool HeldBack { get; init; }

    /// <summary>Why it must be thrown away although its window may still be open; null where nothing says so.</summary>
    public DiscardReason? MustGo { get; init; }

    /// <summary>
    /// For how long in all, until the incubator was last back in its tolerance, it has reacted outside it.
    /// </summary>
    public Duration OutsideFor { get; init; }

    /// <summary>The phase, or null when not in work.</summary>
    public CartridgePhase? Phase => (Stage as CartridgeStage.InWork)?.Phase;

    /// <summary>How far it has come, wherever it is; null when not in work.</summary>
    public CartridgePhase? Reached => Phase ?? (Stage as CartridgeStage.Astray)?.Last;

    /// <summary>Whether nothing remains to be done with the cartridge itself.</summary>
    public bool IsOver => Stage is CartridgeStage.Cleared or CartridgeStage.Discarded or CartridgeStage.Withdrawn;

    /// <summary>
    /// Whether its result was entered while its lot's controls were not accepted, and they have not been since.
    /// </summary>
    public bool HeldForControls { get; init; }

    /// <summary>
    /// Whether an entry of its result waited for a supervisor, or one had decided on it, and it was taken back or
    /// entered anew: what is entered then waits too.
    /// </summary>
    public bool HeldBefore { get; init; }

    /// <summary>
    /// Whether its result waits for a supervisor who releases it, whatever else it waits for: nothing else that anybody
    /// says lets it out.
    /// </summary>
    internal bool AwaitsRelease => Result is not null && Status?.Released is null && ResultUse.HoldsOf(this).Any(hold =>
        hold is not (ResultHold.AmendmentWaits or ResultHold.ImpossibleValue or ResultHold.Controls));

    /// <summary>
    /// Whether whatever is entered of it next waits for a supervisor: its entry is held by what was entered, and not by
    /// its cartridge's steps or its lot, or one before it was; and nobody has released it.
    /// </summary>
    internal bool HoldsNextEntry => Status?.Released is null && (HeldBefore || (Result is not null && Status is
    { Identity: ResultIdentity.Missing or ResultIdentity.Different } or { NotChecked: true }
            or { Question: not null } or { Kept: not null }));

    /// <summary>
    /// Whether another value for its result is for a supervisor to say: it is a control's, by which patients' results
    /// go out, or it was amended before, or a supervisor has released it as it stands, or it waits for one.
    /// </summary>
    public bool ChangeWaits => Result is not null && (Wanted.Request.Kind == RequestKind.Control
        || Status is { Released: not null } or { Earlier.IsEmpty: false } || AwaitsSupervisor);

    /// <summary>Whether an amendment of its result waits for a supervisor.</summary>
    /// <param name="alone">Which amendments of whoever enters it count at once.</param>
    public bool AmendmentWaits(AmendsAlone alone) =>
        alone == AmendsAlone.None || (alone == AmendsAlone.Undecided && ChangeWaits);

    /// <summary>
    /// Whether another entry of its result would be used at once, while another value is for a supervisor to say. A
    /// patient's that waits for one waits on however it is entered; a control's is never replaced without a word.
    /// </summary>
    public bool EntryIsAmendment => ChangeWaits
        && (Wanted.Request.Kind == RequestKind.Control || !AwaitsSupervisor);

    private bool AwaitsSupervisor => AwaitsRelease || Status is { Question: not null, Released: null };

    /// <summary>Whether its result is held; one of a cartridge that was thrown away is not to be released.</summary>
    public bool IsHeld => Stage is not CartridgeStage.Discarded && Waits;

    /// <summary>Whether its result is held, or would be if its cartridge had not been thrown away.</summary>
    internal bool Waits => (Status?.Released is null || Status.Proposal is not null)
        && ResultUse.HoldOfEntered(this) != ResultHold.None;

    /// <summary>What its result may be used for now.</summary>
    public ResultUse Use => ResultUse.Of(this);

    /// <summary>Whether it has a value; one of a cartridge that was thrown away is used for nothing.</summary>
    public bool HasValue => Result is ReadResult.Measured && Stage is not CartridgeStage.Discarded;

    /// <summary>What has become of its result since it was entered; null before.</summary>
    public ResultStatus? Status { get; init; }

    /// <summary>The value as it is reported, with its marks; null where there is none.</summary>
    public MarkedResult? Marked => Result is ReadResult.Measured measured
        ? MarkedResult.Of(Wanted.Facts?.Results ?? ResultRule.AsDisplayed, measured.Value)
        : null;

    /// <summary>Why somebody must be told of its result; null where nobody need be, or somebody was.</summary>
    public TellingDuty? Telling => Wanted.Request.Kind == RequestKind.Patient && Result is { } result
        && Status is { } status
        ? TellingDuty.Of(Wanted.Facts?.Results ?? ResultRule.AsDisplayed, ResultValue.All(result, status)) : null;

    /// <summary>Why somebody must be told once its result is amended to another; null where nobody need be.</summary>
    public TellingDuty? TellingAfter(ReadResult after) => Wanted.Request.Kind == RequestKind.Patient
        && Result is { } result && Status is { } status
        ? TellingDuty.Of(Wanted.Facts?.Results ?? ResultRule.AsDisplayed, ResultValue.All(result, status)
            .Add(new ResultValue(after, status.EnteredAt, status.EnteredBy, "", null, null))) : null;

    /// <summary>Whether somebody must still be told of its result: its batch is not closed before.</summary>
    public bool MustBeTold => Telling is not null;

    /// <summary>Whether it was read and taken out, and its result is wanted and has not been entered.</summary>
    public bool ResultMissing => Stage is CartridgeStage.Cleared && Result is null && MustGo is null;
}
