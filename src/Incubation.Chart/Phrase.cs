using System.Globalization;
using System.Text;
using NodaTime;

namespace Incubation.Chart;

/// <summary>Words and numbers as they stand in a chart.</summary>
internal static class Phrase
{
    /// <summary>A sentence with its parts filled in.</summary>
    public static string Of(string format, params object[] parts) =>
        string.Format(CultureInfo.CurrentCulture, format, parts);

    /// <summary>
    /// A length as people read it: m:ss under an hour, then h:mm:ss; a part of a second counts as begun.
    /// </summary>
    public static string Length(Duration length)
    {
        var seconds = Math.Max(0, (long)Math.Ceiling(length.TotalSeconds));
        return seconds < 3600
            ? string.Create(CultureInfo.InvariantCulture, $"{seconds / 60}:{seconds % 60:00}")
            : string.Create(CultureInfo.InvariantCulture, $"{seconds / 3600}:{seconds / 60 % 60:00}:{seconds % 60:00}");
    }

    /// <summary>
    /// A name cut in its middle to so many characters: specimens of one day differ at their ends. Characters are what a
    /// reader sees as one.
    /// </summary>
    public static string Short(string name, int most)
    {
        var elements = new List<string>();
        var each = StringInfo.GetTextElementEnumerator(name);
        while (each.MoveNext())
            elements.Add(each.GetTextElement());
        if (elements.Count <= most)
            return name;
        var tail = (most - 1) * 2 / 3;
        var head = most - 1 - tail;
        return new StringBuilder().AppendJoin("", elements.Take(head)).Append('…')
            .AppendJoin("", elements.TakeLast(tail)).ToString();
    }
}
