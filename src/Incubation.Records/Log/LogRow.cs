using Incubation.Model;
using NodaTime;

namespace Incubation.Records.Log;

/// <summary>The last row of a stream: how many rows it has, and the hash that the next row carries.</summary>
/// <param name="Sequence">Sequence of the last row; 0 for an empty stream.</param>
/// <param name="Hash">Hash of the last row; for an empty stream the hash of its name.</param>
public readonly record struct LogHead(long Sequence, Digest Hash);

/// <summary>
/// What stands about an event beside its payload. The room's README defines the two hashes byte by byte.
/// </summary>
/// <param name="Stream">The stream.</param>
/// <param name="Sequence">Place in the stream, from 1, without gaps.</param>
/// <param name="Arrived">When the server received it.</param>
/// <param name="Reported">When it happened, as reported.</param>
/// <param name="Person">Who.</param>
/// <param name="Device">Through what.</param>
/// <param name="Report">Names the command that it came from.</param>
/// <param name="IndexInCommand">Place among the events of that command, from 0.</param>
/// <param name="EventType">Stable name of the event's type.</param>
/// <param name="SchemaVersion">Version of the payload's form, from 1.</param>
/// <param name="PayloadHash">SHA-256 of the payload's UTF-8 bytes.</param>
/// <param name="PreviousHash">Hash of the row before; of the stream's name for the first row.</param>
/// <param name="Hash">Hash of everything above.</param>
public sealed record LogHeader(
    StreamName Stream,
    long Sequence,
    Instant Arrived,
    Instant Reported,
    PersonId Person,
    DeviceId Device,
    ReportId Report,
    int IndexInCommand,
    string EventType,
    int SchemaVersion,
    Digest PayloadHash,
    Digest PreviousHash,
    Digest Hash);

/// <summary>A verified row of the log.</summary>
/// <param name="Header">What stands about the event.</param>
/// <param name="Payload">The event as JSON, exactly as it was hashed; null where it was erased by rule.</param>
public sealed record LogRow(LogHeader Header, string? Payload);
