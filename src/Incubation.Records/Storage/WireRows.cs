using NodaTime;

namespace Incubation.Records.Storage;

/// <summary>The bytes of a message of an instrument. No projection: its fingerprint stands in the log.</summary>
internal sealed record WireMessageRow
{
    public required long Number { get; init; }
    public required byte[] Bytes { get; init; }
}

/// <summary>
/// A part of a message that has not come whole: its sender counts on it. No projection: gone when the message is taken.
/// </summary>
internal sealed record WirePieceRow
{
    public required string Instrument { get; init; }

    /// <summary>Which connection, and which of its messages.</summary>
    public required string Arrival { get; init; }
    public required int Piece { get; init; }
    public required Instant At { get; init; }
    public required byte[] Bytes { get; init; }
}
