using System.Text;
using System.Text.Json;
using Incubation.Records.Events;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Export;

/// <summary>
/// A stream as JSON lines, one row a line: the header's members and the payload, hashes and all, so that whoever holds
/// the export can verify it without the data file. The room's README lists the members.
/// </summary>
public static class LogExport
{
    /// <summary>Writes the rows of a stream, verifying each; throws as <see cref="EventLog.ReadAll"/> does.</summary>
    public static void Write(EventLog log, StreamName stream, TextWriter writer)
    {
        foreach (var line in Lines(log, stream))
        {
            writer.Write(line);
            writer.Write('\n');
        }
    }

    /// <summary>
    /// The lines of a stream without their ends, each verified; throws as <see cref="EventLog.ReadAll"/> does.
    /// </summary>
    public static IEnumerable<string> Lines(EventLog log, StreamName stream) => log.ReadAll(stream).Select(LineOf);

    /// <summary>
    /// Reads the rows of exported streams, one after the other, verifying each. Throws <see cref="LogBrokenException"/>
    /// at the first row that is not what was written, <see cref="FormatException"/> at a line that is none.
    /// </summary>
    public static IEnumerable<LogRow> Read(TextReader reader)
    {
        string? stream = null;
        var head = default(LogHead);
        var number = 0;
        while (reader.ReadLine() is { } text)
        {
            var (header, payload) = Parse(text, ++number);
            if (header.Stream != stream)
                (stream, head) = (header.Stream, new LogHead(0, Chain.Beginning(header.Stream)));
            // Null is what was erased by rule; that it was stands in the clinic's stream.
            var row = Chain.Verify(header, payload, head, mayBeErased: true);
            head = new LogHead(row.Header.Sequence, row.Header.Hash);
            yield return row;
        }
    }

    /// <summary>The line of a row, without its end.</summary>
    public static string LineOf(LogRow row)
    {
        ArgumentNullException.ThrowIfNull(row);
        var header = Chain.RowOf(row.Header);
        using var buffer = new MemoryStream();
        using (var writer = new Utf8JsonWriter(buffer, new JsonWriterOptions { Encoder = EventJson.Options.Encoder }))
        {
            writer.WriteStartObject();
            writer.WriteString("stream", header.Stream);
            writer.WriteNumber("sequence", header.Sequence);
            writer.WriteNumber("arrived", header.Arrived);
            writer.WriteNumber("reported", header.Reported);
            writer.WriteString("person", header.Person);
            writer.WriteString("device", header.Device);
            writer.WriteString("report", header.Report);
            writer.WriteNumber("indexInCommand", header.IndexInCommand);
            writer.WriteString("eventType", header.EventType);
            writer.WriteNumber("schemaVersion", header.SchemaVersion);
            writer.WriteString("payloadHash", row.Header.PayloadHash.ToString());
            writer.WriteString("previousHash", row.Header.PreviousHash.ToString());
            writer.WriteString("hash", row.Header.Hash.ToString());
            writer.WritePropertyName("payload");
            // Byte for byte as it was hashed.
            if (row.Payload is { } payload)
                writer.WriteRawValue(payload);
            else
                writer.WriteNullValue();
            writer.WriteEndObject();
        }
        return Encoding.UTF8.GetString(buffer.ToArray());
    }

    private static (EventHeaderRow Header, string? Payload) Parse(string text, int number)
    {
        try
        {
            var line = JsonSerializer.Deserialize<Line>(text, EventJson.Options) ?? throw new JsonException("null");
            return (
                new EventHeaderRow
                {
                    Stream = line.Stream,
                    Sequence = line.Sequence,
                    Arrived = line.Arrived,
                    Reported = line.Reported,
                    Person = line.Person,
                    Device = line.Device,
                    Report = line.Report,
                    IndexInCommand = line.IndexInCommand,
                    EventType = line.EventType,
                    SchemaVersion = line.SchemaVersion,
                    PayloadHash = Digest.Parse(line.PayloadHash).ToBytes(),
                    PreviousHash = Digest.Parse(line.PreviousHash).ToBytes(),
                    Hash = Digest.Parse(line.Hash).ToBytes(),
                },
                line.Payload.ValueKind == JsonValueKind.Null ? null : line.Payload.GetRawText());
        }
        catch (Exception e) when (e is JsonException or FormatException)
        {
            throw new FormatException(Sentence.Of(Words.ExportLine, number, e.Message), e);
        }
    }

    /// <summary>A line. Times are nanoseconds since the Unix epoch, as they are hashed.</summary>
    private sealed record Line(
        string Stream, long Sequence, long Arrived, long Reported, string Person, string Device, string Report,
        long IndexInCommand, string EventType, long SchemaVersion, string PayloadHash, string PreviousHash, string Hash,
        JsonElement Payload);
}
