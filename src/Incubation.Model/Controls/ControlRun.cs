using System.Collections.Immutable;
using NodaTime;

namespace Incubation.Model.Controls;

/// <summary>What became of a control.</summary>
public enum ControlVerdict
{
    /// <summary>It breaks no rule that rejects.</summary>
    Accepted,

    /// <summary>It breaks one, or lies beyond what the reader can measure.</summary>
    Rejected,

    /// <summary>The reader gave no value, or nobody has said what it should give.</summary>
    NotJudged,

    /// <summary>It was judged, and its result may not be judged any more: it waits for a person.</summary>
    SetAside,
}

/// <summary>Why a control was judged, or its judgement set aside.</summary>
public enum JudgementCause
{
    /// <summary>Its result came in.</summary>
    Entered,

    /// <summary>A person has released its result, which was held.</summary>
    Released,

    /// <summary>Its result was amended.</summary>
    Amended,

    /// <summary>Its result is held, was taken back, or its cartridge is not what was read.</summary>
    NotToBeJudged,

    /// <summary>A later version of this program takes another rule of what may be judged.</summary>
    RuleChanged,

    /// <summary>The time at which its cartridge was taken out was corrected.</summary>
    TimeCorrected,
}

/// <summary>
/// A control that was run, as it was judged then: a later judgement of the same control supersedes it. All values are
/// in the unit of its assay.
/// </summary>
/// <param name="Request">Its request.</param>
/// <param name="Bench">On which bench.</param>
/// <param name="Batch">In which of its batches.</param>
/// <param name="Assay">The assay.</param>
/// <param name="Lot">The kit lot that it controls.</param>
/// <param name="Control">The control material.</param>
/// <param name="Run">Number of the run that it belongs to, by kit lot and bench: the controls measured
/// together.</param>
/// <param name="At">When its cartridge was taken out of the reader.</param>
/// <param name="JudgedAt">When it was judged.</param>
/// <param name="Shown">What the reader showed.</param>
/// <param name="Value">That as a number; null where it is none.</param>
/// <param name="Target">What it should be; null where nobody has said.</param>
/// <param name="Violations">The rules that it breaks.</param>
/// <param name="Verdict">What became of it.</param>
public sealed record ControlRun(
    RequestId Request, BenchId Bench, int Batch, AssayCode Assay, LotCode Lot, ControlMaterial Control, int Run,
        Instant At, Instant JudgedAt,
    string Shown, decimal? Value, ControlTarget? Target, ImmutableArray<RuleViolation> Violations,
        ControlVerdict Verdict)
{
    /// <summary>How often this control had been judged before, or its judgement set aside.</summary>
    public int Revision { get; init; }

    /// <summary>Why it was judged.</summary>
    public JudgementCause Cause { get; init; }

    /// <summary>How many standard deviations it lies above its mean; null where it cannot be compared.</summary>
    public double? Z => Value is { } value ? Target?.Z(value) : null;

    /// <summary>It as the rules see it; null where it cannot be compared.</summary>
    public ControlPoint? Point => Value is { } value && Target is { } target
        ? new ControlPoint(Request, Control.Lot, Control.Level, Run, value, target) : null;
}

/// <summary>What was done about rejected controls of a kit lot.</summary>
/// <param name="At">When that was written down.</param>
/// <param name="By">By whom.</param>
/// <param name="Found">What was found to be the cause.</param>
/// <param name="Done">What was done about it.</param>
/// <param name="AfterRuns">How many controls of the lot had been judged before.</param>
public sealed record CorrectiveAction(Instant At, PersonId By, string Found, string Done, int AfterRuns)
{
    /// <summary>Through what it was written down, or null.</summary>
    public DeviceId? Device { get; init; }
}

/// <summary>A result that was released between the last good control and the one that was rejected.</summary>
public sealed record ReleasedResult(BenchId Bench, RequestId Request);

/// <summary>A documented look at the results that were released since the last good control.</summary>
/// <param name="At">When.</param>
/// <param name="By">By whom.</param>
/// <param name="Results">The results looked at; empty where there was none.</param>
/// <param name="Finding">What was found, and what was done about it.</param>
/// <param name="AfterRuns">How many controls of the lot had been judged before.</param>
public sealed record ReleasedReview(Instant At, PersonId By, ImmutableArray<ReleasedResult> Results, string Finding,
    int AfterRuns)
{
    /// <summary>Through what it was written down, or null.</summary>
    public DeviceId? Device { get; init; }
}
