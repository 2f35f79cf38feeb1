using System.Globalization;
using System.Text;

namespace Incubation.Exchange.Lis;

/// <summary>Texts in fields: delimiters and control characters stand in them as escape sequences.</summary>
internal static class LisText
{
    /// <summary>The longest sequence that is looked for, in characters between its two signs.</summary>
    private const int MaxSequence = 64;

    /// <summary>The text as it stands in a field.</summary>
    public static string Escape(string text, Delimiters delimiters)
    {
        var escaped = new StringBuilder(text.Length);
        foreach (var character in text)
        {
            if (NameOf(character, delimiters) is { } name)
                escaped.Append(delimiters.Escape).Append(name).Append(delimiters.Escape);
            else
                escaped.Append(character);
        }

        return escaped.ToString();
    }

    /// <summary>
    /// The text that a field means. Marks of highlighting fall away; a sign that begins no sequence of the standard
    /// stands for itself, as instruments send it in names.
    /// </summary>
    public static string Unescape(ReadOnlySpan<char> field, Delimiters delimiters)
    {
        if (!field.Contains(delimiters.Escape))
            return field.ToString();
        var text = new StringBuilder(field.Length);
        for (var at = 0; at < field.Length;)
        {
            var rest = field[(at + 1)..];
            var end = field[at] == delimiters.Escape
                ? rest[..Math.Min(rest.Length, MaxSequence + 1)].IndexOf(delimiters.Escape) : -1;
            if (end >= 0 && MeaningOf(rest[..end], delimiters) is { } meaning)
            {
                text.Append(meaning);
                at += end + 2;
            }
            else
            {
                text.Append(field[at++]);
            }
        }

        return text.ToString();
    }

    private static string? NameOf(char character, Delimiters delimiters) =>
        character == delimiters.Field ? "F"
        : character == delimiters.Component ? "S"
        : character == delimiters.Repeat ? "R"
        : character == delimiters.Escape ? "E"
        : character is < ' ' or '\u007F' ? "X" + ((int)character).ToString("X2", CultureInfo.InvariantCulture)
        : null;

    private static string? MeaningOf(ReadOnlySpan<char> sequence, Delimiters delimiters) => sequence switch
    {
        "F" => delimiters.Field.ToString(),
        "S" => delimiters.Component.ToString(),
        "R" => delimiters.Repeat.ToString(),
        "E" => delimiters.Escape.ToString(),
        "H" or "N" => "",
        ['X', .. var digits] when digits.Length is > 0 && digits.Length % 2 == 0 && AreHex(digits) =>
            string.Concat(Convert.FromHexString(digits).Select(one => (char)one)),
        _ => null,
    };

    private static bool AreHex(ReadOnlySpan<char> digits)
    {
        foreach (var digit in digits)
            if (!char.IsAsciiHexDigit(digit))
                return false;
        return true;
    }
}
