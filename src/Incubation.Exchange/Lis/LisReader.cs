using System.Collections.Immutable;

namespace Incubation.Exchange.Lis;

/// <summary>
/// Reads messages of LIS02-A2 (formerly ASTM E1394): bytes as a <see cref="Link"/> has them stored. Takes any bytes and
/// throws for none; records of unknown types are kept as they came.
/// </summary>
public static class LisReader
{
    /// <summary>More records than a message of a day's results has.</summary>
    public const int MaxRecords = 50_000;

    /// <summary>More fields than any record of the standard has.</summary>
    public const int MaxFields = 100;

    /// <summary>The longest part of a record that is shown of a message that cannot be read, in characters.</summary>
    private const int MaxGlance = 120;

    /// <summary>Reads a message.</summary>
    /// <param name="message">Its records, each ended by CR; LF after it is passed over.</param>
    /// <param name="encoding">In what it is written.</param>
    public static LisReading Read(ReadOnlySpan<byte> message, LisEncoding encoding)
    {
        var faults = new LisFaults();
        var records = ImmutableArray.CreateBuilder<LisRecord>();
        Delimiters? delimiters = null;
        var isWhole = false;
        if (message.StartsWith("\uFEFF"u8))
            message = message["\uFEFF"u8.Length..];
        while (NextOf(ref message) is { Length: > 0 } line)
        {
            var (text, isOfEncoding) = encoding.Read(line);
            var number = records.Count + 1;
            var isHeader = text[0] is 'H' or 'h';
            if (number == 1 && !Begins(text, isHeader, faults, out delimiters))
                break;
            if (!MayStandHere(number, isHeader, isWhole, faults))
                break;
            var record = RecordOf(number, text, delimiters!, faults);
            if (!isOfEncoding)
            {
                faults.Add(number, record.Type, 0, LisWords.NotInEncoding, NameOf(encoding));
                record = record with { IsDamaged = true };
            }

            records.Add(record);
            isWhole |= record.Type == "L";
        }

        if (records.Count == 0 && faults.All.IsEmpty)
            faults.Add(0, "", 0, LisWords.NoHeader);
        else if (records.Count > 0 && !isWhole)
            faults.Add(0, "", 0, LisWords.NoEnd);
        return new LisReading(records.Count == 0 ? null : new LisMessage(delimiters!, records.ToImmutable()), isWhole,
            faults.All);
    }

    /// <summary>
    /// Records of a message as people can look at them, where nothing else can be made of it: what cannot be shown is a
    /// question mark, and what is long is cut.
    /// </summary>
    /// <param name="message">The message.</param>
    /// <param name="encoding">In what it is written.</param>
    /// <param name="types">With which letters the records begin that are wanted, in upper case.</param>
    /// <param name="most">So many of them.</param>
    public static IReadOnlyList<string> Glance(ReadOnlySpan<byte> message, LisEncoding encoding, string types, int most)
    {
        ArgumentNullException.ThrowIfNull(types);
        var shown = new List<string>();
        while (shown.Count < most && NextOf(ref message) is { Length: > 0 } line)
            if (types.Contains((char)line[0], StringComparison.OrdinalIgnoreCase))
                shown.Add(LisFaults.Glance(encoding.Read(line).Text, MaxGlance));
        return shown;
    }

    private static ReadOnlySpan<byte> NextOf(ref ReadOnlySpan<byte> message)
    {
        message = message.TrimStart([LinkCharacters.Cr, LinkCharacters.Lf]);
        var end = message.IndexOf(LinkCharacters.Cr);
        var line = end < 0 ? message : message[..end];
        message = end < 0 ? default : message[end..];
        return line;
    }

    private static bool Begins(string text, bool isHeader, LisFaults faults, out Delimiters? delimiters)
    {
        delimiters = isHeader ? Delimiters.Of(text) : null;
        if (delimiters is not null)
            return true;
        if (isHeader)
            faults.Add(1, "H", 2, LisWords.Delimiters);
        else
            faults.Add(0, "", 0, LisWords.NoHeader);
        return false;
    }

    private static bool MayStandHere(int number, bool isHeader, bool isAfterEnd, LisFaults faults)
    {
        if (number > MaxRecords)
            faults.Add(0, "", 0, LisWords.TooManyRecords, MaxRecords);
        else if (isAfterEnd)
            faults.Add(0, "", 0, LisWords.AfterEnd);
        else if (number > 1 && isHeader)
            faults.Add(number, "H", 0, LisWords.SecondHeader);
        else
            return true;
        return false;
    }

    private static LisRecord RecordOf(int number, string text, Delimiters delimiters, LisFaults faults)
    {
        var fields = text.Split(delimiters.Field, MaxFields + 1);
        var type = fields[0].Trim().ToUpperInvariant();
        if (fields.Length > MaxFields)
            faults.Add(number, type, MaxFields + 1, LisWords.TooManyFields, MaxFields);
        return new LisRecord(number, type, [.. fields.Select(field => new LisField(field, delimiters))])
        {
            IsDamaged = fields.Length > MaxFields,
        };
    }

    private static string NameOf(LisEncoding encoding) => encoding switch
    {
        LisEncoding.Ascii => "ASCII",
        LisEncoding.Latin1 => "ISO 8859-1",
        LisEncoding.Utf8 => "UTF-8",
        _ => encoding.ToString(),
    };
}

/// <summary>Writes messages.</summary>
public static class LisWriter
{
    /// <summary>
    /// The bytes of a message, each record with its CR; null where the encoding has not each of its characters.
    /// </summary>
    public static byte[]? Write(LisMessage message, LisEncoding encoding)
    {
        ArgumentNullException.ThrowIfNull(message);
        return encoding.Write(string.Concat(message.Records.Select(record =>
            string.Join(message.Delimiters.Field, record.Fields.Select(field => field.Raw)) + '\r')));
    }
}
