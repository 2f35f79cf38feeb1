using System.Globalization;

namespace Incubation.Model;

/// <summary>Why a value cannot be what its assay's reader shows, so that a person must look again.</summary>
public enum ValueQuestion
{
    /// <summary>"&lt;" stands before a value above the measuring range's lower end.</summary>
    LessThanInside,

    /// <summary>"&gt;" stands before a value below the measuring range's upper end.</summary>
    MoreThanInside,

    /// <summary>A value below the measuring range, without "&lt;".</summary>
    BelowRange,

    /// <summary>A value above the measuring range, without "&gt;".</summary>
    AboveRange,

    /// <summary>
    /// With grouping, with two decimal marks, or with a comma before exactly three digits: it can be read as more than
    /// one number, so nothing may be made of it, and nobody can release it as it is.
    /// </summary>
    NotOneNumber,
}

/// <summary>The one rule of which values are possible.</summary>
/// <remarks>
/// A reader says "less than" only of the lowest value that it measures and "more than" only of the highest: CLSI
/// EP34 (establishing and verifying an extended measuring interval) and ISO 15189:2022, 7.4.1.6 (reports state results
/// beyond the measuring interval so); from memory.
/// </remarks>
public static class PossibleValue
{
    /// <summary>What is to be asked about a value; null where it is possible, or nothing is known to ask by.</summary>
    /// <param name="rule">How its assay's results are entered.</param>
    /// <param name="shown">The value as the reader shows it, as <see cref="MarkedResult.Of"/> takes it.</param>
    public static ValueQuestion? QuestionOf(ResultRule rule, string shown)
    {
        ArgumentNullException.ThrowIfNull(rule);
        ArgumentException.ThrowIfNullOrEmpty(shown);
        var sign = shown[0] is '<' or '>' ? shown[0] : (char?)null;
        if (!decimal.TryParse(sign is null ? shown : shown[1..].Trim(), NumberStyles.AllowDecimalPoint,
            CultureInfo.InvariantCulture, out var value))
            return shown.All(letter => char.IsAsciiDigit(letter) || letter == sign) ? null : ValueQuestion.NotOneNumber;
        return sign switch
        {
            '<' => IsPossible(rule.Measuring.From >= value, rule.Measuring, rule.Critical.IsAbove(value))
                ? null : ValueQuestion.LessThanInside,
            '>' => IsPossible(rule.Measuring.To <= value, rule.Measuring, rule.Critical.IsBelow(value))
                ? null : ValueQuestion.MoreThanInside,
            _ => rule.Measuring.IsBelow(value) ? ValueQuestion.BelowRange
                : rule.Measuring.IsAbove(value) ? ValueQuestion.AboveRange : null,
        };
    }

    /// <summary>
    /// Whether a comparator is possible: at or beyond its end of the range. A sheet that states no range says nothing
    /// against it, unless it leaves open whether the value is critical.
    /// </summary>
    private static bool IsPossible(bool isAtItsEnd, ValueRange measuring, bool mayBeCritical) =>
        measuring == ValueRange.Open ? !mayBeCritical : isAtItsEnd;
}
