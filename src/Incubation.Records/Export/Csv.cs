using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Records.Export;

/// <summary>
/// Comma-separated values (RFC 4180): CRLF after every line, every text in quotes. What a spreadsheet would take for a
/// formula gets an apostrophe before it (OWASP "CSV Injection"), also in the wide forms of its signs; numbers do not. A
/// program that reads the file back takes that apostrophe away where such a sign follows it; the record itself, and its
/// export as JSON lines, has the text as it was said.
/// </summary>
public static class Csv
{
    /// <summary>
    /// The byte-order mark (Unicode 16, chapter 23.8) with which a file begins: without it a spreadsheet takes "µ" for
    /// two letters of the machine's own code page.
    /// </summary>
    public const string Mark = "\uFEFF";

    private static readonly char[] Formula =
        ['=', '+', '-', '@', '\t', '\r', '\n', '\uFF1D', '\uFF0B', '\uFF0D', '\uFF20'];

    private static readonly OffsetDateTimePattern Iso =
        OffsetDateTimePattern.CreateWithInvariantCulture("uuuu'-'MM'-'dd'T'HH':'mm':'ss;FFFFFFFFFo<+HH:mm>");

    /// <summary>A time in a zone with its offset (ISO 8601); null for none.</summary>
    public static string? At(Instant? at, DateTimeZone zone) =>
        at is { } known ? Iso.Format(known.Local(zone).ToOffsetDateTime()) : null;

    /// <summary>A result as the reader shows it, or its code where it gave no value; null for none.</summary>
    public static string? Of(ReadResult? result) =>
        result is ReadResult.NoValue none ? none.Code : (result as ReadResult.Measured)?.Value;

    /// <summary>A line with its end.</summary>
    public static string Line(IEnumerable<object?> values) => string.Join(',', values.Select(Field)) + "\r\n";

    /// <summary>A field as it stands in the file.</summary>
    public static string Field(object? value)
    {
        var text = Convert.ToString(value, CultureInfo.InvariantCulture) ?? "";
        if (text.Length > 0 && Formula.Contains(text[0])
            && !decimal.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out _))
            text = "'" + text;
        return value is not string || text.Length == 0
            ? text : "\"" + text.Replace("\"", "\"\"", StringComparison.Ordinal) + "\"";
    }
}
