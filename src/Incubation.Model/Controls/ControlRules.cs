using System.Collections.Immutable;

namespace Incubation.Model.Controls;

/// <summary>The multi-rules of J. O. Westgard and others, Clin Chem 1981;27:493 (westgard.com lesson 12).</summary>
public enum ControlRule
{
    /// <summary>1-2s: one value beyond 2 SD. A warning, which rejects nothing.</summary>
    OneTwoS,

    /// <summary>1-3s: one value beyond 3 SD.</summary>
    OneThreeS,

    /// <summary>2-2s: two consecutive values beyond the same 2 SD limit, of one material or across materials.</summary>
    TwoTwoS,

    /// <summary>R-4s: one value above +2 SD and one below −2 SD in the same run.</summary>
    RFourS,

    /// <summary>
    /// 4-1s: four consecutive values beyond the same 1 SD limit, of one material or across materials.
    /// </summary>
    FourOneS,

    /// <summary>
    /// 10x: ten consecutive values on the same side of the mean, of one material or across materials.
    /// </summary>
    TenX,
}

/// <summary>Which rules are on.</summary>
/// <param name="OneTwoS">1-2s, the warning.</param>
/// <param name="OneThreeS">1-3s.</param>
/// <param name="TwoTwoS">2-2s.</param>
/// <param name="RFourS">R-4s.</param>
/// <param name="FourOneS">4-1s.</param>
/// <param name="TenX">10x.</param>
public sealed record ControlRules(bool OneTwoS, bool OneThreeS, bool TwoTwoS, bool RFourS, bool FourOneS, bool TenX)
{
    /// <summary>All of them.</summary>
    public static ControlRules All { get; } = new(true, true, true, true, true, true);

    /// <summary>Whether a rule is on.</summary>
    public bool Has(ControlRule rule) => rule switch
    {
        ControlRule.OneTwoS => OneTwoS,
        ControlRule.OneThreeS => OneThreeS,
        ControlRule.TwoTwoS => TwoTwoS,
        ControlRule.RFourS => RFourS,
        ControlRule.FourOneS => FourOneS,
        _ => TenX,
    };

    /// <summary>The rules that are on, in their order.</summary>
    public IEnumerable<ControlRule> On => Enum.GetValues<ControlRule>().Where(Has);

    /// <summary>These with one of them on or off.</summary>
    public ControlRules With(ControlRule rule, bool on) => rule switch
    {
        ControlRule.OneTwoS => this with { OneTwoS = on },
        ControlRule.OneThreeS => this with { OneThreeS = on },
        ControlRule.TwoTwoS => this with { TwoTwoS = on },
        ControlRule.RFourS => this with { RFourS = on },
        ControlRule.FourOneS => this with { FourOneS = on },
        _ => this with { TenX = on },
    };

    /// <summary>Whether a broken rule rejects a run.</summary>
    public static bool Rejects(ControlRule rule) => rule != ControlRule.OneTwoS;
}

/// <summary>A control's value, as the rules see it.</summary>
/// <param name="Request">The control's request.</param>
/// <param name="Control">Lot of the control material.</param>
/// <param name="Level">Its level.</param>
/// <param name="Run">Number of the run that it belongs to: the controls measured together.</param>
/// <param name="Value">What was measured.</param>
/// <param name="Target">What it should be.</param>
public sealed record ControlPoint(RequestId Request, LotCode Control, int Level, int Run, decimal Value,
    ControlTarget Target)
{
    /// <summary>Whether another value is of the same material.</summary>
    public bool IsOfSameMaterial(ControlPoint other)
    {
        ArgumentNullException.ThrowIfNull(other);
        return Control == other.Control && Level == other.Level;
    }
}

/// <summary>A rule that a value breaks.</summary>
/// <param name="Rule">Which.</param>
/// <param name="With">The earlier values by which it does, the earliest first; empty where it does alone.</param>
public sealed record RuleViolation(ControlRule Rule, ImmutableArray<RequestId> With)
{
    /// <inheritdoc/>
    public bool Equals(RuleViolation? other) => other is not null && Rule == other.Rule
        && With.SequenceEqual(other.With);

    /// <inheritdoc/>
    public override int GetHashCode() => HashCode.Combine(Rule, With.Length);
}

/// <summary>
/// Holds control values against the rules. "Exceeds" is strict: a value exactly on a limit is within it.
/// </summary>
public static class ControlJudging
{
    /// <summary>The rules that a value breaks, with those before it.</summary>
    /// <param name="rules">Which rules are on.</param>
    /// <param name="earlier">Values before it that it is compared with, the earliest first.</param>
    /// <param name="value">The value.</param>
    public static ImmutableArray<RuleViolation> Violations(ControlRules rules, IReadOnlyList<ControlPoint> earlier,
        ControlPoint value)
    {
        ArgumentNullException.ThrowIfNull(rules);
        ArgumentNullException.ThrowIfNull(earlier);
        ArgumentNullException.ThrowIfNull(value);
        return [.. rules.On.Select(rule => With(rule, earlier, value) is { } with
            ? new RuleViolation(rule, with) : null).OfType<RuleViolation>()];
    }

    /// <summary>The earlier values by which a value breaks a rule; null where it does not.</summary>
    private static ImmutableArray<RequestId>? With(ControlRule rule, IReadOnlyList<ControlPoint> earlier,
        ControlPoint value) => rule switch
        {
            ControlRule.OneTwoS => IsBeyond(value, 2, up: true) || IsBeyond(value, 2, up: false) ? [] : null,
            ControlRule.OneThreeS => IsBeyond(value, 3, up: true) || IsBeyond(value, 3, up: false) ? [] : null,
            ControlRule.TwoTwoS => Consecutive(earlier, value, 2, beyond: 2),
            ControlRule.RFourS => Opposite(earlier, value),
            ControlRule.FourOneS => Consecutive(earlier, value, 4, beyond: 1),
            _ => Consecutive(earlier, value, 10, beyond: 0),
        };

    /// <summary>
    /// So many consecutive values, this one the last, beyond the same limit: of its material, or else of all.
    /// </summary>
    private static ImmutableArray<RequestId>? Consecutive(IReadOnlyList<ControlPoint> earlier, ControlPoint value,
        int count, int beyond) =>
        Consecutive([.. earlier.Where(value.IsOfSameMaterial)], value, count, beyond, up: true)
        ?? Consecutive([.. earlier.Where(value.IsOfSameMaterial)], value, count, beyond, up: false)
        ?? Consecutive([.. earlier], value, count, beyond, up: true)
        ?? Consecutive([.. earlier], value, count, beyond, up: false);

    private static ImmutableArray<RequestId>? Consecutive(ImmutableArray<ControlPoint> earlier, ControlPoint value,
        int count, int beyond, bool up)
    {
        if (earlier.Length < count - 1 || !IsBeyond(value, beyond, up))
            return null;
        var last = earlier[^(count - 1)..];
        return last.All(point => IsBeyond(point, beyond, up)) ? [.. last.Select(point => point.Request)] : null;
    }

    private static ImmutableArray<RequestId>? Opposite(IReadOnlyList<ControlPoint> earlier, ControlPoint value)
    {
        var up = IsBeyond(value, 2, up: true);
        if (!up && !IsBeyond(value, 2, up: false))
            return null;
        ImmutableArray<RequestId> against =
            [.. earlier.Where(point => point.Run == value.Run && IsBeyond(point, 2, !up))
                .Select(point => point.Request)];
        return against.IsEmpty ? null : against;
    }

    private static bool IsBeyond(ControlPoint point, int deviations, bool up) =>
        up ? point.Target.IsAbove(point.Value, deviations) : point.Target.IsBelow(point.Value, deviations);
}
