using Incubation.Bench;
using Incubation.Records.Events;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.Log;

/// <summary>An event on its way into the log.</summary>
internal readonly record struct NewRow(EncodedEvent Event, Provenance Provenance);

/// <summary>
/// The append-only log of a data file. Hosts write through <see cref="Benches.BenchStreams"/> and
/// <see cref="Clinic.ClinicLog"/>; what is read here is verified row by row. May be used from any thread.
/// </summary>
public sealed class EventLog
{
    /// <summary>Rows are fetched so many at a time: no read stays open while a caller thinks.</summary>
    private const int PageRows = 500;

    private static readonly Func<RecordsContext, string, EventHeaderRow?> LastHeader = EF.CompileQuery(
        (RecordsContext context, string stream) => context.EventHeaders
            .AsNoTracking()
            .Where(row => row.Stream == stream)
            .OrderByDescending(row => row.Sequence)
            .FirstOrDefault());

    private readonly DataFile file;

    internal EventLog(DataFile file) => this.file = file;

    /// <summary>
    /// The head of a stream as it is stored; throws <see cref="LogBrokenException"/> where the last row was altered.
    /// </summary>
    public LogHead Head(StreamName stream)
    {
        using var context = file.Read();
        return Head(context, stream);
    }

    /// <summary>When the last event of each stream arrived, by the stream's name.</summary>
    public IReadOnlyDictionary<StreamName, Instant> LastArrivals()
    {
        using var connection = file.OpenReader();
        return Streams().ToDictionary(
            stream => stream,
            stream => Nanoseconds.ToInstant((long)Queries.Scalar(
                connection,
                "SELECT \"Arrived\" FROM \"EventHeaders\" WHERE \"Stream\" = @stream "
                + "ORDER BY \"Sequence\" DESC LIMIT 1",
                ("@stream", stream.ToString()))!));
    }

    /// <summary>The streams that have rows, by name.</summary>
    public IReadOnlyList<StreamName> Streams()
    {
        using var connection = file.OpenReader();
        var names = RawRows.Streams(connection);
        return [.. names.Select(name => StreamName.TryParse(name, out var stream)
            ? stream
            : throw new LogBrokenException(name, 1, LogDifference.Unreadable))];
    }

    /// <summary>
    /// The rows of a stream in order, each verified before it is given. Throws <see cref="LogBrokenException"/> at the
    /// first row that is not what was written.
    /// </summary>
    /// <param name="stream">The stream.</param>
    /// <param name="after">Leave the rows up to this sequence out; 0 for none. The row with it is verified by its own
    /// hash alone.</param>
    public IEnumerable<LogRow> ReadAll(StreamName stream, long after = 0) =>
        ReadFrom(stream.ToString(), HeadAt(stream, after));

    /// <summary>
    /// Reads everything, holds it against the signed heads, and says for each stream whether it is whole.
    /// </summary>
    public RecordVerdict VerifyAll()
    {
        using var connection = file.OpenReader();
        return Verifier.All(connection, file.Heads.Key);
    }

    /// <summary>
    /// Throws <see cref="LogBrokenException"/> where a stream does not end where it was last signed; reads no more than
    /// the ends.
    /// </summary>
    public void RefuseCut()
    {
        using var connection = file.OpenReader();
        Verifier.Ends(connection, file.Heads.Key);
    }

    /// <summary>
    /// A row as it can be noted outside the data file; throws <see cref="LogBrokenException"/> where it is not there.
    /// </summary>
    public PrintedHead Note(StreamName stream, long sequence) =>
        PrintedHead.Of(stream, HeadAt(stream, sequence), file.Heads.Key);

    /// <summary>
    /// Appends rows in one transaction and returns the new head. Throws <see cref="AppendException"/> where the stream
    /// does not end at <paramref name="expectedSequence"/> or the file cannot take them: nothing is written then.
    /// </summary>
    /// <param name="stream">The stream.</param>
    /// <param name="expectedSequence">The sequence of its last row; 0 for an empty stream.</param>
    /// <param name="rows">The rows, at least one.</param>
    /// <param name="project">Changes tables in the same transaction, or null.</param>
    internal LogHead Append(
        StreamName stream, long expectedSequence, IReadOnlyList<NewRow> rows, Action<RecordsContext>? project = null)
    {
        ArgumentOutOfRangeException.ThrowIfZero(rows.Count, nameof(rows));
        return file.Write(stream, context =>
        {
            var head = Head(context, stream);
            if (head.Sequence != expectedSequence)
                throw new AppendException(AppendFailure.Conflict, stream, Sentence.Of(
                    Words.AppendConflict, stream, expectedSequence, head.Sequence));
            file.Heads.RefuseIfCut(context, stream, head);
            foreach (var row in rows)
                head = Add(context, stream, head, row, IndexInCommand(rows, row));
            file.Heads.Sign(context, stream, head);
            project?.Invoke(context);
            return head;
        });
    }

    private static LogHead Add(RecordsContext context, StreamName stream, LogHead head, NewRow row, int indexInCommand)
    {
        var header = HeaderOf(stream, head, row, indexInCommand);
        // The same check that every later read makes: what it would refuse is never written.
        _ = Chain.Verify(header, row.Event.Json, head);
        context.EventHeaders.Add(header);
        context.EventPayloads.Add(new EventPayloadRow
        {
            Stream = header.Stream,
            Sequence = header.Sequence,
            Json = row.Event.Json
        });
        return new LogHead(header.Sequence, Digest.FromBytes(header.Hash));
    }

    /// <summary>The header of a row that follows a head.</summary>
    internal static EventHeaderRow HeaderOf(StreamName stream, LogHead head, NewRow row, int indexInCommand)
    {
        try
        {
            var header = new EventHeaderRow
            {
                Stream = stream.ToString(),
                Sequence = head.Sequence + 1,
                Arrived = Nanoseconds.Exactly(row.Provenance.Arrived),
                Reported = Nanoseconds.Exactly(row.Provenance.At),
                Person = row.Provenance.Person.Value,
                Device = row.Provenance.Device.Value,
                Report = row.Provenance.Id.Value,
                IndexInCommand = indexInCommand,
                EventType = row.Event.Type,
                SchemaVersion = row.Event.Version,
                PayloadHash = Chain.OfPayload(row.Event.Json).ToBytes(),
                PreviousHash = head.Hash.ToBytes(),
                Hash = [],
            };
            return header with { Hash = Chain.OfHeader(header).ToBytes() };
        }
        catch (OverflowException e)
        {
            throw new AppendException(AppendFailure.TimeOutOfRange, stream,
                Sentence.Of(Words.AppendTimeOutOfRange, stream), e);
        }
    }

    /// <summary>
    /// How many rows of the same command stand before this one. A command's rows are appended together.
    /// </summary>
    private static int IndexInCommand(IReadOnlyList<NewRow> rows, NewRow row) =>
        rows.TakeWhile(other => !ReferenceEquals(other.Event, row.Event))
            .Count(other => other.Provenance.Id == row.Provenance.Id);

    private static LogHead Head(RecordsContext context, StreamName stream)
    {
        var name = stream.ToString();
        return LastHeader(context, name) is { } last ? TrustedHead(last) : new LogHead(0, Chain.Beginning(name));
    }

    internal static LogHead TrustedHead(EventHeaderRow row) =>
        row.Hash.AsSpan().SequenceEqual(Chain.OfHeader(row).ToBytes())
            ? new LogHead(row.Sequence, Digest.FromBytes(row.Hash))
            : throw new LogBrokenException(row.Stream, row.Sequence, LogDifference.HeaderDiffers);

    /// <summary>
    /// The head as it was after a row, which is verified by its own hash; throws <see cref="LogBrokenException"/>.
    /// </summary>
    internal LogHead HeadAt(StreamName stream, long sequence)
    {
        var name = stream.ToString();
        if (sequence == 0)
            return new LogHead(0, Chain.Beginning(name));
        using var connection = file.OpenReader();
        var row = RawRows.Read(connection, name, sequence - 1, 1).Select(found => found.Header)
            .SingleOrDefault(header => header.Sequence == sequence);
        return row is null ? throw new LogBrokenException(name, sequence, LogDifference.RowMissing) : TrustedHead(row);
    }

    private IEnumerable<LogRow> ReadFrom(string stream, LogHead head)
    {
        Erasures erased;
        using (var connection = file.OpenReader())
            erased = Erasures.Of(connection, stream);
        while (true)
        {
            var page = Page(stream, head.Sequence);
            foreach (var (header, payload) in page)
            {
                var row = Chain.Verify(header, payload, head, payload is null && erased.Covers(header.Sequence));
                head = new LogHead(row.Header.Sequence, row.Header.Hash);
                yield return row;
            }
            if (page.Count < PageRows)
                yield break;
        }
    }

    /// <summary>
    /// The row that says what a bench knew after the last row that was erased, verified by its own hashes; null where
    /// none was.
    /// </summary>
    internal LogRow? Beginning(StreamName stream)
    {
        using var connection = file.OpenReader();
        return Verifier.Beginning(connection, stream.ToString());
    }

    private List<(EventHeaderRow Header, string? Payload)> Page(string stream, long after)
    {
        using var connection = file.OpenReader();
        return [.. RawRows.Read(connection, stream, after, PageRows)];
    }
}
