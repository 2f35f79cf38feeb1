using System.Text.Json;
using Incubation.Records.Log;
using NodaTime;

namespace Incubation.Server.Api;

/// <summary>Some of a bench's events.</summary>
/// <param name="Bench">Which bench.</param>
/// <param name="Last">Sequence of the last one here: ask after it for more.</param>
/// <param name="Events">In order.</param>
public sealed record EventsOut(string Bench, long Last, IReadOnlyList<EventOut> Events);

/// <summary>An event of the log.</summary>
/// <param name="Sequence">Its place in the bench's stream, from 1.</param>
/// <param name="At">When it happened, as reported.</param>
/// <param name="Arrived">When the server received it.</param>
/// <param name="Person">Who.</param>
/// <param name="Device">Through what.</param>
/// <param name="Report">Names the command that it came from.</param>
/// <param name="Type">Stable name of the event's type.</param>
/// <param name="SchemaVersion">Version of the payload's form.</param>
/// <param name="PayloadHash">SHA-256 of the payload's bytes, hexadecimal.</param>
/// <param name="PreviousHash">Hash of the event before.</param>
/// <param name="Hash">Hash of this event's header.</param>
/// <param name="Payload">What happened; null where it was erased after its time.</param>
public sealed record EventOut(
    long Sequence, Instant At, Instant Arrived, string Person, string Device, string Report, string Type,
        int SchemaVersion,
    string PayloadHash, string PreviousHash, string Hash, JsonElement? Payload)
{
    internal static EventOut Of(LogRow row)
    {
        var header = row.Header;
        using var payload = row.Payload is { } json ? JsonDocument.Parse(json) : null;
        return new EventOut(
            header.Sequence, header.Reported, header.Arrived, header.Person.Value, header.Device.Value,
                header.Report.Value,
            header.EventType, header.SchemaVersion, header.PayloadHash.ToString(), header.PreviousHash.ToString(),
                header.Hash.ToString(),
            payload?.RootElement.Clone());
    }
}
