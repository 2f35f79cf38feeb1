using System.Text.RegularExpressions;
using Incubation.Model;

namespace Incubation.Service.Text;

/// <summary>A value as somebody typed it.</summary>
/// <param name="Value">What was understood: digits with at most one point, perhaps led by &lt; or &gt;; null where it
/// was not.</param>
/// <param name="Fault">Why it was not understood, in a sentence; else null.</param>
public sealed record TypedValue(string? Value, string? Fault);

/// <summary>What counts as a value that a reader displays.</summary>
public static partial class ResultText
{
    /// <summary>Digits with at most one decimal point, optionally led by &lt; or &gt;; at most 16 characters.</summary>
    public static bool IsValue(string text) => text.Length <= Bounds.MaxValue && Value().IsMatch(text);

    /// <summary>
    /// What was understood of a value as somebody typed it: a point and a comma are both a decimal mark. What has two
    /// marks, or groups of digits, may be one number or another, and is asked; other digits than 0 to 9 are refused.
    /// </summary>
    public static TypedValue Read(string? typed)
    {
        var text = typed?.Trim() ?? "";
        if (text.Any(letter => char.IsNumber(letter) && !char.IsAsciiDigit(letter)))
            return new TypedValue(null, TextWords.ValueOtherDigits);
        var sign = text.Length > 0 && text[0] is '<' or '>' ? text[..1] : "";
        var digits = text[sign.Length..].Trim();
        if (IsValue(sign + digits.Replace(',', '.')))
            return new TypedValue(sign + digits.Replace(',', '.'), null);
        return new TypedValue(null, Grouped().IsMatch(digits)
            ? Say.Of(TextWords.ValueTwoMarks, text) : TextWords.ValueNoNumber);
    }

    /// <summary>What was understood, to stand beside the field; null where it stands in it as it is.</summary>
    public static string? Understood(string? typed, string unit) =>
        Read(typed) is { Value: { } value } && value != typed?.Trim()
            ? Say.Of(TextWords.ValueUnderstood, UnitText.Of(value, unit)) : null;

    [GeneratedRegex(@"\A[<>]?[0-9]+(\.[0-9]+)?\z", RegexOptions.CultureInvariant)]
    private static partial Regex Value();

    /// <summary>Digits in groups, or with more than one mark.</summary>
    [GeneratedRegex(@"\A[0-9]+([.,'\u2019_\s][0-9]+)+\z", RegexOptions.CultureInvariant)]
    private static partial Regex Grouped();
}
