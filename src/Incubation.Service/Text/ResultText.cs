using System.Text.RegularExpressions;
using Incubation.Model;

namespace Incubation.Service.Text;

/// <summary>A value as somebody typed or sent it.</summary>
/// <param name="Value">What was understood: digits with at most one point, perhaps led by &lt; or &gt;; null where it
/// was not.</param>
/// <param name="Fault">Why it was not understood, in a sentence; else null.</param>
public sealed record TypedValue(string? Value, string? Fault)
{
    /// <summary>
    /// The value as it came, where it is a number that can be read in more than one way: who types is asked, and what a
    /// program sends is held with its question (<see cref="ValueQuestion.NotOneNumber"/>). Else null.
    /// </summary>
    public string? Doubtful { get; init; }
}

/// <summary>What counts as a value that a reader displays.</summary>
public static partial class ResultText
{
    /// <summary>Digits with at most one decimal point, optionally led by &lt; or &gt;; at most 16 characters.</summary>
    public static bool IsValue(string text) => text.Length <= Bounds.MaxValue && Value().IsMatch(text);

    /// <summary>
    /// What was understood of a value: a number as <see cref="TypedNumber"/> reads it, perhaps behind a comparator.
    /// </summary>
    public static TypedValue Read(string? typed)
    {
        var text = typed?.Trim() ?? "";
        var sign = text.Length > 0 && text[0] is '<' or '>' ? text[..1] : "";
        var number = TypedNumber.Read(text[sign.Length..]);
        return IsValue(sign + number.Digits)
            ? new TypedValue(sign + number.Digits, null)
            : new TypedValue(null, number.FaultOr(TextWords.ValueNoNumber))
            {
                Doubtful = number.IsDoubtful && text.Length <= Bounds.MaxValue && text[sign.Length..].Trim() is var rest
                    && char.IsAsciiDigit(rest[0]) ? sign + rest : null,
            };
    }

    /// <summary>What was understood, to stand beside the field; null where it stands in it as it is.</summary>
    public static string? Understood(string? typed, string unit) =>
        Read(typed) is { Value: { } value } && value != typed?.Trim()
            ? Say.Of(TextWords.ValueUnderstood, UnitText.Of(value, unit)) : null;

    [GeneratedRegex(@"\A[<>]?[0-9]+(\.[0-9]+)?\z", RegexOptions.CultureInvariant)]
    private static partial Regex Value();
}
