using System.Globalization;

namespace Incubation.Records.Export;

/// <summary>
/// Comma-separated values (RFC 4180): CRLF after every line, quotes where they are needed. What a spreadsheet would
/// take for a formula gets an apostrophe before it (OWASP "CSV Injection"); numbers do not.
/// </summary>
public static class Csv
{
    private static readonly char[] Formula = ['=', '+', '-', '@', '\t', '\r', '\n'];

    /// <summary>A line with its end.</summary>
    public static string Line(IEnumerable<object?> values) => string.Join(',', values.Select(Field)) + "\r\n";

    /// <summary>A field as it stands in the file.</summary>
    public static string Field(object? value)
    {
        var text = Convert.ToString(value, CultureInfo.InvariantCulture) ?? "";
        if (text.Length > 0 && Formula.Contains(text[0])
            && !decimal.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out _))
            text = "'" + text;
        return text.AsSpan().IndexOfAny("\",\r\n") < 0
            ? text : "\"" + text.Replace("\"", "\"\"", StringComparison.Ordinal) + "\"";
    }
}
