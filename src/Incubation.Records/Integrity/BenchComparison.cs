using System.Data.Common;
using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Connections;
using Incubation.Records.Log;
using Incubation.Records.Reports;
using Incubation.Records.Stock;
using Incubation.Records.Storage;

namespace Incubation.Records.Integrity;

/// <summary>
/// Holds the tables of a bench against its stream, batch by batch. What a batch said stays once it is closed; the one
/// that is open is compared up to the row that the tables have read.
/// </summary>
internal sealed class BenchComparison
{
    private static readonly TableForm[] Forms = [TableForm.Batches, TableForm.Cartridges, TableForm.CartridgeTimes];

    private readonly BenchId bench;
    private readonly Findings found;
    private readonly Action<BatchRecord> told;
    private readonly BatchReader reader;
    private readonly HashSet<int> batches = [];
    private readonly Dictionary<string, UseRow> present = new(StringComparer.Ordinal);
    private readonly HashSet<UInt128> uses = [];
    private readonly NoticeReader notices = new();
    private readonly HashSet<UInt128> toldOf = [];
    private bool usesAreCurrent;
    private bool noticesAreCurrent;
    /// <summary>
    /// How far the tables of cartridges have read; 0 where this program makes them anew before it uses them.
    /// </summary>
    private long readTo;

    /// <summary>Begins at a bench's first row, or after those that were erased.</summary>
    /// <param name="bench">The bench.</param>
    /// <param name="beginning">What it knew after the rows that were erased, or null.</param>
    /// <param name="found">What is found.</param>
    /// <param name="told">Is given each batch as the log tells it.</param>
    public BenchComparison(BenchId bench, BenchEvent.CheckpointKept? beginning, Findings found,
        Action<BatchRecord> told)
    {
        (this.bench, this.found, this.told) = (bench, found, told);
        reader = beginning is null ? new BatchReader(null, 1)
            : new BatchReader(beginning.Checkpoint, beginning.UpTo + 1);
    }

    /// <summary>How far the stream was read.</summary>
    public long Revision => reader.State?.Revision ?? 0;

    /// <summary>Reads how far the tables are.</summary>
    public void Begin(DbConnection connection)
    {
        var head = Positions.HeadOf(connection, StreamName.OfBench(bench));
        usesAreCurrent = found.IsCurrent(connection, UseProjection.Name, UseProjection.CodeVersion);
        // Whether they are behind the clinic's comparison has said.
        noticesAreCurrent = Positions.Of(connection, NoticeProjection.Name)?.Version == NoticeProjection.CodeVersion;
        var name = CartridgeProjection.NameOf(bench);
        if (!found.IsCurrent(connection, name, CartridgeProjection.CodeVersion))
            return;
        var sequence = Positions.Of(connection, name)?.Sequence ?? 0;
        if (sequence > head || sequence < 0)
            found.Add(Positions.Differ(name, sequence, head));
        else
            readTo = sequence;
    }

    /// <summary>
    /// Takes the next row of the stream in. Whether it closed a batch, or was the last that the tables have read: what
    /// they say is compared then.
    /// </summary>
    public bool Take(BenchEntry entry, Tables tables)
    {
        if (UseProjection.Added(bench, entry) is { } use)
            present.TryAdd(use.Report, use);
        foreach (var report in UseProjection.TakenBack(entry))
            if (!present.Remove(report.Value) && uses.Remove(Fingerprint.Of(report.Value)))
                // One of an earlier batch: it has no row any more, and a row that is there is one too many at the end.
                found.Forget(one => one.Table == TableForm.Uses.Table && one.Row == $"{bench}, {report}");
        var before = reader.State;
        var closed = reader.Take(entry);
        if (noticesAreCurrent && notices.Take(before, entry, reader.State!) is { Count: > 0 } told)
            tables.Read(connection => CompareNotices(told, connection));
        if (closed is not null)
        {
            this.told(closed);
            tables.Read(connection => Compare(closed, connection));
        }

        var isOpenOne = Revision == readTo && tables.Read(CompareOpen);
        return closed is not null || isOpenOne;
    }

    private bool Compare(BatchRecord closed, DbConnection connection)
    {
        if (closed.Last <= readTo)
            CompareBatch(closed, connection);
        CompareUses(connection);
        return true;
    }

    /// <summary>The batch that is open where the tables have read; where they have read on since, later.</summary>
    private bool CompareOpen(DbConnection connection)
    {
        if (Positions.Of(connection, CartridgeProjection.NameOf(bench)) is var (now, _) && now > readTo)
            readTo = now;
        else if (reader.Present() is { } open)
            CompareBatch(open, connection);
        return true;
    }

    /// <summary>After the last row: whether the tables have more.</summary>
    public void End(DbConnection connection)
    {
        var end = new LogEnd(StreamName.OfBench(bench), Revision);
        CompareUses(connection, end);
        EndNotices(connection);
        if (usesAreCurrent && TableForm.Uses.Count(connection, "\"Bench\" = @bench", ("@bench", bench.Value))
            != uses.Count)
            foreach (var row in TableForm.Uses.Read(connection, "\"Bench\" = @bench", ("@bench", bench.Value)))
                if (row[TableForm.Uses.Columns.ToList().IndexOf("Report")] is not string report
                    || !uses.Contains(Fingerprint.Of(report)))
                    found.AddTooMany(TableForm.Uses, row, end);
        // What was told to the tables since is compared the next time.
        if (readTo == 0 || Positions.Of(connection, CartridgeProjection.NameOf(bench)) is not var (now, _)
            || now != readTo)
            return;
        foreach (var form in Forms)
        {
            var number = form == TableForm.Batches ? "Number" : "Batch";
            foreach (var batch in Queries.Texts(connection,
                $"SELECT DISTINCT \"{number}\" FROM \"{form.Table}\" WHERE \"Bench\" = @bench",
                ("@bench", bench.Value)))
                if (!int.TryParse(batch, CultureInfo.InvariantCulture, out var known) || !batches.Contains(known))
                    found.AddTooMany(form.Table, bench.Value, batch);
        }
    }

    private bool CompareNotices(IReadOnlyList<NoticeRow> told, DbConnection connection)
    {
        foreach (var row in told.Select(TableForm.Notices.ValuesOf))
        {
            toldOf.Add(Fingerprint.Of(TableForm.Notices.KeyOf(row)));
            found.Compare(TableForm.Notices, TableForm.Notices.Find(connection, row), row);
        }

        return true;
    }

    private void EndNotices(DbConnection connection)
    {
        if (!noticesAreCurrent)
            return;
        CompareNotices(notices.End(), connection);
        foreach (var row in TableForm.Notices.Read(connection, "\"Stream\" = @stream AND \"Sequence\" <= @end",
            ("@stream", StreamName.OfBench(bench).ToString()), ("@end", Revision)))
            if (!toldOf.Contains(Fingerprint.Of(TableForm.Notices.KeyOf(row))))
                found.AddTooMany(TableForm.Notices, row);
    }

    private void CompareBatch(BatchRecord batch, DbConnection connection)
    {
        batches.Add(batch.Number);
        var row = TableForm.Batches.ValuesOf(BatchRows.Of(bench, batch));
        found.Compare(TableForm.Batches, TableForm.Batches.Find(connection, row), row);
        Compare(TableForm.Cartridges, batch, batch.Cartridges.Select(BatchRows.Of), connection);
        Compare(TableForm.CartridgeTimes, batch, batch.Times.Select(TimesRows.RowOf), connection);
    }

    private void Compare(TableForm form, BatchRecord batch, IEnumerable<object> rows, DbConnection connection)
    {
        var stored = form.Read(connection, "\"Bench\" = @bench AND \"Batch\" = @batch", ("@bench", bench.Value),
            ("@batch", (long)batch.Number)).ToDictionary(form.KeyOf, StringComparer.Ordinal);
        foreach (var replayed in rows.Select(form.ValuesOf))
        {
            stored.Remove(form.KeyOf(replayed), out var there);
            found.Compare(form, there, replayed);
        }

        foreach (var row in stored.Values)
            found.AddTooMany(form, row);
    }

    private void CompareUses(DbConnection connection, LogEnd? asOf = null)
    {
        foreach (var use in present.Values)
        {
            uses.Add(Fingerprint.Of(use.Report));
            if (!usesAreCurrent)
                continue;
            var row = TableForm.Uses.ValuesOf(use);
            found.Compare(TableForm.Uses, TableForm.Uses.Find(connection, row), row, asOf);
        }
        present.Clear();
    }
}
