using System.Globalization;
using System.Text.RegularExpressions;

namespace Incubation.Service.Text;

/// <summary>A number as people type it: what was understood, or what is wrong with it.</summary>
/// <param name="Value">The number; null where it was not understood.</param>
/// <param name="Fault">What is wrong, and what to type instead; null where it was understood.</param>
public readonly partial record struct TypedNumber(decimal? Value, string? Fault)
{
    private const int MaxDigits = 20;

    /// <summary>Its digits as they were typed, with a point and at least one digit before it; null where it was not
    /// understood.</summary>
    public string? Digits { get; init; }

    /// <summary>Whether it is a number that can be read in more than one way.</summary>
    public bool IsDoubtful { get; init; }

    /// <summary>
    /// Reads a number with either decimal mark: "5.0", "5,0". What could mean two numbers is asked, never guessed: two
    /// marks, grouping, a comma before exactly three digits. Only the digits 0 to 9 are read.
    /// </summary>
    /// <param name="text">What was typed; blanks round it are left out.</param>
    public static TypedNumber Read(string? text)
    {
        var typed = text?.Trim() ?? "";
        if (HasOtherDigits(typed))
            return new TypedNumber(null, TextWords.ValueOtherDigits);
        if (Grouped().IsMatch(typed))
            return new TypedNumber(null, Say.Of(TextWords.ValueTwoMarks, typed)) { IsDoubtful = true };
        if (Thousand().IsMatch(typed))
        {
            var (plain, point) = (typed.Replace(",", "", StringComparison.Ordinal), typed.Replace(',', '.'));
            return new TypedNumber(null, Say.Of(TypedWords.TypedThousand, typed, plain, point)) { IsDoubtful = true };
        }

        var digits = typed.Replace(',', '.').Replace('\u2212', '-');
        return Plain().IsMatch(typed) && typed.Count(char.IsAsciiDigit) <= MaxDigits
            && decimal.TryParse(digits, NumberStyles.AllowDecimalPoint | NumberStyles.AllowLeadingSign,
                CultureInfo.InvariantCulture, out var value)
            ? new TypedNumber(value, null) { Digits = digits[0] == '.' ? $"0{digits}" : digits }
            : new TypedNumber(null, TypedWords.TypedNumber);
    }

    /// <summary>
    /// What to say where this is not what was wanted: what is asked of it, else the field's own sentence.
    /// </summary>
    /// <param name="sentence">The field's own: what to type.</param>
    public string FaultOr(string sentence) => Fault is { } fault && fault != TypedWords.TypedNumber ? fault : sentence;

    /// <summary>A whole number within bounds; null where it is none.</summary>
    /// <param name="text">What was typed.</param>
    /// <param name="least">The least that is allowed.</param>
    /// <param name="most">The most that is allowed.</param>
    /// <param name="fault">What is wrong, or null.</param>
    public static int? Whole(string? text, int least, int most, out string? fault)
    {
        var number = Read(text);
        fault = null;
        if (number.Value is { } value && value == decimal.Truncate(value) && value >= least && value <= most)
            return (int)value;
        fault = number.FaultOr(Say.Of(Words.NumberFault, least, most));
        return null;
    }

    /// <summary>A number as forms print it: with a point, without grouping.</summary>
    public static string Format(decimal value) => value.ToString(CultureInfo.InvariantCulture);

    /// <summary>
    /// What to show beside a field: the number as it was understood, where that is not what was typed; or null.
    /// </summary>
    public static string? Understood(string? text) =>
        Read(text).Value is { } value && Format(value) is var printed && printed != text!.Trim()
            ? Say.Of(TypedWords.Understood, printed) : null;

    /// <summary>Whether a text has digits of another script, or ones that stand above or in a circle.</summary>
    internal static bool HasOtherDigits(string text)
    {
        for (var at = 0; at < text.Length; at += char.IsSurrogatePair(text, at) ? 2 : 1)
            if (!char.IsAsciiDigit(text[at]) && CharUnicodeInfo.GetUnicodeCategory(text, at) is
                UnicodeCategory.DecimalDigitNumber or UnicodeCategory.LetterNumber or UnicodeCategory.OtherNumber)
                return true;
        return false;
    }

    [GeneratedRegex(@"^[+\-\u2212]?([0-9]+([.,][0-9]+)?|[.,][0-9]+)$", RegexOptions.CultureInvariant)]
    private static partial Regex Plain();

    /// <summary>Two marks or more, or one that is no decimal mark but stands between thousands.</summary>
    [GeneratedRegex(@"^[+\-\u2212]?[0-9]+([.,'\u2019_\s][0-9]+){2,}$|^[+\-\u2212]?[0-9]+['\u2019_\s]+[0-9]+$",
        RegexOptions.CultureInvariant)]
    private static partial Regex Grouped();

    [GeneratedRegex(@"^[+\-\u2212]?[1-9][0-9]{0,2},[0-9]{3}$", RegexOptions.CultureInvariant)]
    private static partial Regex Thousand();
}
