using System.Data.Common;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Events;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Integrity;

/// <summary>
/// Holds every table of the projections against a replay of the log, column by column, in pieces: each reads a page of
/// the log or the rows of a batch as they stand at one instant, so that nothing is read for long.
/// </summary>
/// <param name="tables">Where the tables are read.</param>
/// <param name="rowsAfter">The verified rows of a stream after a sequence; those without a payload too.</param>
/// <param name="onAllCores">Whether this may take the whole machine.</param>
/// <param name="told">Is given each batch as the log tells it.</param>
internal sealed class ProjectionComparison(Tables tables, Func<StreamName, long, IEnumerable<LogRow>> rowsAfter,
    bool onAllCores, Action<BenchId, BatchRecord> told)
{
    private const int RowsAtATime = 500;

    private static readonly TableForm[] OfBenches =
        [TableForm.Uses, TableForm.Batches, TableForm.Cartridges, TableForm.CartridgeTimes];

    /// <summary>What was found so far.</summary>
    public Findings Found { get; } = new();

    /// <summary>
    /// Compares everything, a piece each time that the next one is asked for. Throws <see cref="LogBrokenException"/>
    /// or <see cref="UnreadableEventException"/> where the log itself cannot be read.
    /// </summary>
    public IEnumerable<int> Pieces()
    {
        if (!tables.Read(StorageEngine.Present.HasPresentForm))
        {
            Found.Behind("*");
            yield break;
        }

        var streams = tables.Read(RawRows.Streams)
            .Select(name => StreamName.TryParse(name, out var stream) ? stream
                : throw new LogBrokenException(name, 1, LogDifference.Unreadable)).ToList();
        var clinic = new ClinicComparison(Found);
        tables.Read(connection => Begin(clinic, connection));
        while (true)
        {
            var before = clinic.Revision;
            foreach (var chunk in rowsAfter(StreamName.Clinic, clinic.Revision).Chunk(RowsAtATime))
            {
                foreach (var row in chunk)
                    clinic.Take(ClinicLog.EntryOf(row));
                tables.Read(connection => Compare(clinic, connection));
                yield return chunk.Length;
            }

            if (tables.Read(connection => End(clinic, connection, streams)))
                break;
            if (clinic.Revision == before)
                throw new LogBrokenException(StreamName.Clinic.ToString(), before + 1, LogDifference.RowMissing);
        }

        foreach (var stream in streams)
            if (stream.Bench is { } bench)
                foreach (var piece in Pieces(stream, bench, clinic.Erased))
                    yield return piece;
    }

    private IEnumerable<int> Pieces(StreamName stream, BenchId bench,
        IReadOnlyList<ClinicEvent.RecordErased> erased)
    {
        var kept = tables.Read(connection => Kept(connection, stream, bench, erased));
        var comparison = new BenchComparison(bench, kept, Found, batch => told(bench, batch));
        tables.Read(connection => Begin(comparison, connection));
        var read = kept?.UpTo ?? 0;
        while (true)
        {
            var since = 0;
            var before = read;
            foreach (var (sequence, entry) in Decoded(rowsAfter(stream, read).Where(row => row.Payload is not null)))
            {
                (read, since) = (sequence, since + 1);
                if (Take(comparison, entry) is not { } isCompared)
                {
                    Found.NotReplayed(stream);
                    yield break;
                }

                if (!isCompared)
                    continue;
                yield return since;
                since = 0;
            }

            var end = read;
            if (tables.Read(connection => End(comparison, connection, stream, end)))
                yield break;
            if (read == before)
                throw new LogBrokenException(stream.ToString(), read + 1, LogDifference.RowMissing);
        }
    }

    /// <summary>Whether a batch was compared; null where the bench's own state does not take the row.</summary>
    private bool? Take(BenchComparison comparison, BenchEntry entry)
    {
        try
        {
            return comparison.Take(entry, tables);
        }
        catch (Exception e)
            when (e is not (LogBrokenException or DbException or AppendException or OutOfMemoryException))
        {
            return null;
        }
    }

    private IEnumerable<(long Sequence, BenchEntry Entry)> Decoded(IEnumerable<LogRow> rows)
    {
        static (long, BenchEntry) Of(LogRow row) => (row.Header.Sequence, BenchStreams.EntryOf(row));
        return onAllCores ? Decoding.InOrder(rows, Of) : rows.Select(Of);
    }

    private static bool Begin(ClinicComparison clinic, DbConnection connection)
    {
        clinic.Begin(connection);
        return true;
    }

    private static bool Begin(BenchComparison bench, DbConnection connection)
    {
        bench.Begin(connection);
        return true;
    }

    private static bool Compare(ClinicComparison clinic, DbConnection connection)
    {
        clinic.Compare(connection);
        return true;
    }

    private bool End(ClinicComparison clinic, DbConnection connection, List<StreamName> streams)
    {
        if (Positions.HeadOf(connection, StreamName.Clinic) != clinic.Revision)
            return false;
        clinic.End(connection);
        foreach (var unknown in Positions.Unknown(connection, streams))
            Found.Add(unknown);
        foreach (var form in OfBenches)
            CompareBenches(form, connection);
        return true;
    }

    /// <summary>
    /// Whether a table has rows of benches that have no stream; the streams as they stand at this instant.
    /// </summary>
    private void CompareBenches(TableForm form, DbConnection connection)
    {
        var known = RawRows.Streams(connection).Select(name => StreamName.TryParse(name, out var stream)
            ? stream.Bench?.Value : null).OfType<string>().Select((bench, at) => ($"@b{at}", (object)bench)).ToList();
        var where = known.Count == 0 ? "1 = 1"
            : $"\"Bench\" NOT IN ({string.Join(", ", known.Select(one => one.Item1))})";
        if (form.Count(connection, where, [.. known]) > 0)
            foreach (var row in form.Read(connection, where, known))
                Found.AddOfNoBench(form, row);
    }

    private static bool End(BenchComparison bench, DbConnection connection, StreamName stream, long read)
    {
        if (Positions.HeadOf(connection, stream) != read)
            return false;
        bench.End(connection);
        return true;
    }

    /// <summary>
    /// What a bench knew after the last of its rows that was erased, by the log alone; null where none was. The table
    /// of what was erased is held against it.
    /// </summary>
    private BenchEvent.CheckpointKept? Kept(DbConnection connection, StreamName stream, BenchId bench,
        IReadOnlyList<ClinicEvent.RecordErased> erased)
    {
        if (erased.Where(one => one.Bench == bench).Select(one => (long?)one.UpTo).Max() is not { } upTo)
            return null;
        if (Checkpoints.Find(connection, stream, upTo) is not var (sequence, kept))
            throw new LogBrokenException(stream.ToString(), upTo, LogDifference.PayloadMissing);
        var row = TableForm.Erasures.ValuesOf(new ErasureRow
        {
            Stream = stream.ToString(),
            First = 1,
            Last = upTo,
            Event = sequence,
        });
        Found.Compare(TableForm.Erasures, TableForm.Erasures.Find(connection, row), row);
        return kept;
    }
}
