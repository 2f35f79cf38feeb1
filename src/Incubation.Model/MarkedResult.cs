using System.Globalization;

namespace Incubation.Model;

/// <summary>Where a value lies against the reference interval.</summary>
public enum ResultFlag
{
    /// <summary>Inside, or there is none.</summary>
    None,

    /// <summary>Below.</summary>
    Low,

    /// <summary>Above.</summary>
    High,
}

/// <summary>
/// A value as it is reported: outside the measuring range as below or above its end, with the assay's decimals, marked
/// against the reference interval and the critical limits. Nothing is interpreted.
/// </summary>
/// <param name="Reported">The value as reported, without its unit: "5.2", "&lt; 0.5".</param>
/// <param name="Flag">Where it lies against the reference interval.</param>
/// <param name="IsCritical">Whether somebody must be told at once.</param>
public sealed record MarkedResult(string Reported, ResultFlag Flag, bool IsCritical)
{
    /// <summary>
    /// What a rule makes of a value as a reader shows it: digits with at most one point, led by &lt; or &gt; where it
    /// is beyond them.
    /// </summary>
    /// <param name="rule">The rule.</param>
    /// <param name="shown">What the reader shows.</param>
    public static MarkedResult Of(ResultRule rule, string shown)
    {
        ArgumentNullException.ThrowIfNull(rule);
        ArgumentException.ThrowIfNullOrEmpty(shown);
        var sign = shown[0] is '<' or '>' ? shown[0] : (char?)null;
        var digits = sign is null ? shown : shown[1..].Trim();
        if (!decimal.TryParse(digits, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var value))
            return new MarkedResult(shown, ResultFlag.None, false);
        if (sign is null && rule.Measuring.IsBelow(value))
            (sign, value) = ('<', rule.Measuring.From!.Value);
        else if (sign is null && rule.Measuring.IsAbove(value))
            (sign, value) = ('>', rule.Measuring.To!.Value);
        return new MarkedResult(Written(rule, sign, value, digits), Flagged(rule.Reference, sign, value),
            Flagged(rule.Critical, sign, value) != ResultFlag.None);
    }

    /// <summary>
    /// A value that is known only to lie beyond an end counts as lying there: "&lt; 0.5" is below an interval from 0.5.
    /// </summary>
    private static ResultFlag Flagged(ValueRange range, char? sign, decimal value) => sign switch
    {
        '<' => value <= range.From ? ResultFlag.Low : ResultFlag.None,
        '>' => value >= range.To ? ResultFlag.High : ResultFlag.None,
        _ => range.IsBelow(value) ? ResultFlag.Low : range.IsAbove(value) ? ResultFlag.High : ResultFlag.None,
    };

    private static string Written(ResultRule rule, char? sign, decimal value, string digits)
    {
        var number = rule.Decimals is { } decimals
            ? Math.Round(value, decimals, MidpointRounding.AwayFromZero)
            .ToString("F" + decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture)
            : sign is null ? digits : value.ToString(CultureInfo.InvariantCulture);
        return sign is null ? number : $"{sign} {number}";
    }
}
