using System.Buffers;
using System.Buffers.Binary;
using System.Text;
using Incubation.Model;
using Incubation.Records.Storage;

namespace Incubation.Records.Log;

/// <summary>
/// The hashes that chain the rows of a stream. The bytes that are hashed are written out in the room's README.
/// </summary>
internal static class Chain
{
    /// <summary>Stands first in what is hashed, so that a row's hash can be nothing else's.</summary>
    private const string Form = "incubation log row 1";

    /// <summary>What the first row of a stream carries as the hash of the row before.</summary>
    public static Digest Beginning(string stream) => Digest.Of(Encoding.UTF8.GetBytes(stream));

    /// <summary>The hash of a payload.</summary>
    public static Digest OfPayload(string json) => Digest.Of(Encoding.UTF8.GetBytes(json));

    /// <summary>The hash of a header; its own hash is left out.</summary>
    public static Digest OfHeader(EventHeaderRow row)
    {
        var bytes = new ArrayBufferWriter<byte>(512);
        Write(bytes, Form);
        Write(bytes, row.Stream);
        Write(bytes, row.Sequence);
        Write(bytes, row.Arrived);
        Write(bytes, row.Reported);
        Write(bytes, row.Person);
        Write(bytes, row.Device);
        Write(bytes, row.Report);
        Write(bytes, row.IndexInCommand);
        Write(bytes, row.EventType);
        Write(bytes, row.SchemaVersion);
        bytes.Write(row.PayloadHash);
        bytes.Write(row.PreviousHash);
        return Digest.Of(bytes.WrittenSpan);
    }

    /// <summary>
    /// The row as it may be trusted, after <paramref name="before"/>. Throws <see cref="LogBrokenException"/> naming
    /// the first thing that differs.
    /// </summary>
    /// <param name="row">The header.</param>
    /// <param name="payload">The payload, or null where none is there.</param>
    /// <param name="before">The row before.</param>
    /// <param name="mayBeErased">Whether the payload may have been erased by rule.</param>
    public static LogRow Verify(EventHeaderRow row, string? payload, LogHead before, bool mayBeErased = false)
    {
        var expected = before.Sequence + 1;
        if (row.Sequence != expected)
            throw new LogBrokenException(row.Stream, expected, LogDifference.RowMissing);
        if (row.PayloadHash.Length != Digest.Length || row.PreviousHash.Length != Digest.Length
            || row.Hash.Length != Digest.Length)
            throw new LogBrokenException(row.Stream, expected, LogDifference.Unreadable);
        if (OfHeader(row) != Digest.FromBytes(row.Hash))
            throw new LogBrokenException(row.Stream, expected, LogDifference.HeaderDiffers);
        if (Digest.FromBytes(row.PreviousHash) != before.Hash)
            throw new LogBrokenException(row.Stream, expected, LogDifference.LinkDiffers);
        if (payload is null && mayBeErased)
            return new LogRow(HeaderOf(row), null);
        if (payload is null)
            throw new LogBrokenException(row.Stream, expected, LogDifference.PayloadMissing);
        if (OfPayload(payload) != Digest.FromBytes(row.PayloadHash))
            throw new LogBrokenException(row.Stream, expected, LogDifference.PayloadDiffers);
        return new LogRow(HeaderOf(row), payload);
    }

    /// <summary>The header with its types; throws <see cref="LogBrokenException"/> where a value can be none.</summary>
    public static LogHeader HeaderOf(EventHeaderRow row)
    {
        if (!StreamName.TryParse(row.Stream, out var stream))
            throw new LogBrokenException(row.Stream, row.Sequence, LogDifference.Unreadable);
        try
        {
            return new LogHeader(
                stream,
                row.Sequence,
                Nanoseconds.ToInstant(row.Arrived),
                Nanoseconds.ToInstant(row.Reported),
                PersonId.Of(row.Person),
                DeviceId.Of(row.Device),
                ReportId.Of(row.Report),
                checked((int)row.IndexInCommand),
                row.EventType,
                checked((int)row.SchemaVersion),
                Digest.FromBytes(row.PayloadHash),
                Digest.FromBytes(row.PreviousHash),
                Digest.FromBytes(row.Hash));
        }
        catch (Exception e) when (e is ArgumentException or OverflowException)
        {
            throw new LogBrokenException(row.Stream, row.Sequence, LogDifference.Unreadable, e);
        }
    }

    /// <summary>The stored form of a header.</summary>
    public static EventHeaderRow RowOf(LogHeader header) => new()
    {
        Stream = header.Stream.ToString(),
        Sequence = header.Sequence,
        Arrived = Nanoseconds.Exactly(header.Arrived),
        Reported = Nanoseconds.Exactly(header.Reported),
        Person = header.Person.Value,
        Device = header.Device.Value,
        Report = header.Report.Value,
        IndexInCommand = header.IndexInCommand,
        EventType = header.EventType,
        SchemaVersion = header.SchemaVersion,
        PayloadHash = header.PayloadHash.ToBytes(),
        PreviousHash = header.PreviousHash.ToBytes(),
        Hash = header.Hash.ToBytes(),
    };

    internal static void Write(ArrayBufferWriter<byte> bytes, string text)
    {
        var length = Encoding.UTF8.GetByteCount(text);
        BinaryPrimitives.WriteInt32BigEndian(bytes.GetSpan(4), length);
        bytes.Advance(4);
        bytes.Advance(Encoding.UTF8.GetBytes(text, bytes.GetSpan(length)));
    }

    internal static void Write(ArrayBufferWriter<byte> bytes, long number)
    {
        BinaryPrimitives.WriteInt64BigEndian(bytes.GetSpan(8), number);
        bytes.Advance(8);
    }
}
