using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Why somebody must be told of a result.</summary>
public enum TellingCause
{
    /// <summary>Its value is critical, and nobody was told.</summary>
    Critical,

    /// <summary>An earlier value was critical, and nobody was told before it was amended.</summary>
    EarlierCritical,

    /// <summary>Somebody was told of an earlier value, and does not know that it was amended.</summary>
    Correction,
}

/// <summary>Somebody was told of a result.</summary>
/// <param name="Whom">Who was told, in words.</param>
/// <param name="At">When.</param>
/// <param name="By">Who told.</param>
/// <param name="ReadBack">Whether it was read back.</param>
/// <param name="Why">Why not the person who was told of the earlier value, in words; null where it was.</param>
public sealed record CriticalNotice(string Whom, Instant At, PersonId By, bool ReadBack, string? Why = null);

/// <summary>A supervisor has said that nobody need be told of a result.</summary>
/// <param name="Why">Why, in words.</param>
/// <param name="At">When.</param>
/// <param name="By">Who.</param>
public sealed record TellingWaiver(string Why, Instant At, PersonId By);

/// <summary>A value that a result has or had, and what became of telling it.</summary>
/// <param name="Value">What it is.</param>
/// <param name="At">When it was entered, or the one before was amended to it.</param>
/// <param name="By">By whom.</param>
/// <param name="Why">Why the one before was amended, in words; null for the first.</param>
/// <param name="Told">Who was told of it, or null.</param>
/// <param name="Waived">That nobody need be told of it, or null.</param>
public sealed record ResultValue(ReadResult Value, Instant At, PersonId By, string? Why, CriticalNotice? Told,
    TellingWaiver? Waived)
{
    /// <summary>Which of the usual reasons it was; null for the first, and where nobody chose one.</summary>
    public AmendmentReason? Reason { get; init; }

    /// <summary>Who confirmed the amendment to it; null where no second look was asked for.</summary>
    public SecondLook? Second { get; init; }

    /// <summary>Every value of a result, the first first, the present one last.</summary>
    public static ImmutableArray<ResultValue> All(ReadResult present, ResultStatus status)
    {
        ArgumentNullException.ThrowIfNull(status);
        var all = ImmutableArray.CreateBuilder<ResultValue>();
        var (at, by, why, reason) = (status.EnteredAt, status.EnteredBy, (string?)null, (AmendmentReason?)null);
        SecondLook? second = null;
        foreach (var earlier in status.Earlier)
        {
            all.Add(new ResultValue(earlier.Was, at, by, why, earlier.Told, earlier.Waived)
            {
                Reason = reason,
                Second = second,
            });
            (at, by, why, reason, second) = (earlier.At, earlier.By, earlier.Why, earlier.Reason, earlier.Second);
        }

        all.Add(new ResultValue(present, at, by, why, status.Told, status.Waived)
        {
            Reason = reason,
            Second = second,
        });
        return all.ToImmutable();
    }
}

/// <summary>
/// The duty to tell somebody of a patient's result. Once there it ends by telling, or by a supervisor's reason; an
/// amendment ends none, and begins one where somebody was told of an earlier value.
/// </summary>
/// <param name="Cause">Why somebody must be told now.</param>
/// <param name="Known">The last who was told of an earlier value, and is to be told the correction; or null.</param>
/// <param name="Untold">The earlier critical value of which nobody was told, where that is the cause; or null.</param>
/// <remarks>ISO 15189:2022, 7.4.1.3 (critical results are told at once, and that is recorded) and 7.4.1.8 (amended
/// results: users are made aware); 42 CFR 493.1291(g) (critical values at once to whoever ordered or uses them) and (k)
/// (corrected reports promptly, the original kept); from memory.</remarks>
public sealed record TellingDuty(TellingCause Cause, CriticalNotice? Known, ReadResult? Untold = null)
{
    /// <summary>The duty for a patient's result; null where there is none, or it has ended.</summary>
    /// <param name="rule">How its assay's results are marked.</param>
    /// <param name="values">Every value of it, the first first.</param>
    public static TellingDuty? Of(ResultRule rule, ImmutableArray<ResultValue> values)
    {
        ArgumentNullException.ThrowIfNull(rule);
        CriticalNotice? known = null;
        TellingCause? open = null;
        CriticalNotice? told = null;
        ReadResult? untold = null;
        foreach (var value in values)
        {
            known = told ?? known;
            open = known is not null ? TellingCause.Correction
                : IsCritical(rule, value.Value) ? TellingCause.Critical
                : open is null ? null : TellingCause.EarlierCritical;
            untold = open == TellingCause.Critical ? value.Value : untold;
            if (value.Told is not null || value.Waived is not null)
                open = null;
            told = value.Told;
        }

        return open is { } cause
            ? new TellingDuty(cause, known, cause == TellingCause.EarlierCritical ? untold : null) : null;
    }

    /// <summary>
    /// Whether it would be forgotten that somebody must be told of a result, or knows its value, or that an amendment
    /// of it waits, or that a supervisor has released it, if the cartridge came to be what it is after.
    /// </summary>
    /// <param name="before">The cartridge.</param>
    /// <param name="after">What it would be.</param>
    internal static bool IsForgotten(Cartridge before, Cartridge after) =>
        (before.Telling is not null && after.Telling is null)
        || (before.Status?.Proposal is not null && after.Status?.Proposal is null)
        || (before.Status?.Released is not null && after.Result is null)
        // Who was told last that there is no value need not know more.
        || (before.Result is not ReadResult.NoValue && Notices(after) < Notices(before));

    private static int Notices(Cartridge cartridge) => cartridge is
    { Wanted.Request.Kind: RequestKind.Patient, Result: { } result, Status: { } status }
        ? ResultValue.All(result, status).Count(value => value.Told is not null) : 0;

    /// <summary>Whether who is told is who was told of the earlier value, or nobody was.</summary>
    public bool IsKnown(string whom) => Known is null
        || string.Equals(Known.Whom.Trim(), whom?.Trim(), StringComparison.OrdinalIgnoreCase);

    private static bool IsCritical(ResultRule rule, ReadResult value) =>
        value is ReadResult.Measured measured && MarkedResult.Of(rule, measured.Value).IsCritical;
}
