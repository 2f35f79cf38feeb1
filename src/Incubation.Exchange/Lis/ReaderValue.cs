using System.Text.RegularExpressions;
using Incubation.Model;

namespace Incubation.Exchange.Lis;

/// <summary>A value as a reader sent it.</summary>
/// <param name="Text">As it came, every digit kept.</param>
/// <param name="Comparator">'&lt;' or '&gt;' where it is led by one.</param>
/// <param name="Digits">Its digits with at most one decimal point; null where it is no such number, or could be read as
/// one or another.</param>
public sealed partial record ReaderValue(string Text, char? Comparator, string? Digits)
{
    /// <summary>The value as a result is entered: digits, perhaps led by &lt; or &gt;; null where it is none.</summary>
    public string? Shown => Digits is null ? null : Comparator + Digits;

    /// <summary>Reads a value: nothing is guessed, so a comma, an exponent or a sign makes no number.</summary>
    public static ReaderValue Of(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        return Number().Match(text.Trim()) is { Success: true } match
            && match.Groups[1].Length + match.Groups[2].Length <= Bounds.MaxValue
            ? new ReaderValue(text, match.Groups[1].Value is [var sign] ? sign : null, match.Groups[2].Value)
            : new ReaderValue(text, null, null);
    }

    [GeneratedRegex(@"\A([<>]?) *([0-9]+(?:\.[0-9]+)?)\z", RegexOptions.CultureInvariant)]
    private static partial Regex Number();
}
