using System.Text.RegularExpressions;

namespace Incubation.Architecture.Tests;

/// <summary>Finds lines of source text that are longer than the house wants them.</summary>
internal static partial class LongLines
{
    /// <summary>The most columns of a line; a character is a column.</summary>
    public const int MaxColumns = 120;

    /// <summary>
    /// The numbers of a file's lines that are too long, from 1. Left out are lines inside a raw string literal of C#
    /// that goes over several lines, where a line break would be part of the text, and lines that hold an address which
    /// would be too long on a line of its own.
    /// </summary>
    public static IEnumerable<int> In(IEnumerable<string> lines, bool isCSharp)
    {
        var number = 0;
        var quotes = "";
        foreach (var line in lines)
        {
            number++;
            var rest = line;
            if (quotes.Length > 0)
            {
                if (!line.TrimStart().StartsWith(quotes, StringComparison.Ordinal))
                    continue;
                rest = line.TrimStart()[quotes.Length..];
                quotes = "";
            }

            if (isCSharp)
                quotes = Opened(rest);
            if (line.Length > MaxColumns && !HasUnbreakable(line))
                yield return number;
        }
    }

    /// <summary>
    /// The quotes of a raw string literal that begins on this line and goes on on the next, else "". Such a one has
    /// nothing behind its quotes, and only white space before those that end it: the language's own rule.
    /// </summary>
    private static string Opened(string line)
    {
        var quotes = Quotes().Matches(line);
        return quotes.Count % 2 == 1 && line.EndsWith(quotes[^1].Value, StringComparison.Ordinal)
            ? quotes[^1].Value
            : "";
    }

    private static bool HasUnbreakable(string line)
    {
        var indent = line.Length - line.TrimStart().Length;
        return line.Split(' ').Any(token =>
            token.Contains("://", StringComparison.Ordinal) && indent + token.Length > MaxColumns);
    }

    [GeneratedRegex("\"{3,}")]
    private static partial Regex Quotes();
}
