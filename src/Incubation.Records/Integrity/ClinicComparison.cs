using System.Data.Common;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Connections;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Integrity;

/// <summary>
/// Holds the tables of the clinic against its stream, a page of rows at a time. Rows of these tables are added and, by
/// retention, erased; none is ever changed.
/// </summary>
internal sealed class ClinicComparison(Findings found)
{
    private static readonly TableForm[] Forms =
        [TableForm.Clinics, TableForm.Assays, TableForm.Lots, TableForm.Benches, TableForm.Requests];

    private readonly HashSet<LotCode> lots = [];
    private readonly Dictionary<TableForm, HashSet<UInt128>> told = Forms.ToDictionary(form => form,
        _ => new HashSet<UInt128>());
    private readonly List<object> pending = [];
    private readonly List<ClinicEvent.RecordErased> erased = [];
    private readonly List<ClinicEvent.OrdersErased> orders = [];
    private bool isCurrent;
    private readonly List<NoticeRow> notices = [];
    private readonly HashSet<string> toldOf = new(StringComparer.Ordinal);
    private bool noticesAreCurrent;
    private ClinicState state = ClinicState.Empty;

    /// <summary>How far the stream was read.</summary>
    public long Revision => state.Revision;

    /// <summary>What was erased by rule, as the stream says.</summary>
    public IReadOnlyList<ClinicEvent.RecordErased> Erased => erased;

    /// <summary>
    /// Whether this version of the program wrote the tables; if not, it makes them anew at its start.
    /// </summary>
    public void Begin(DbConnection connection)
    {
        isCurrent = found.IsCurrent(connection, ClinicProjection.Name, ClinicProjection.CodeVersion);
        noticesAreCurrent = found.IsCurrent(connection, NoticeProjection.Name, NoticeProjection.CodeVersion);
    }

    /// <summary>Takes the next row of the stream in.</summary>
    public void Take(ClinicEntry entry)
    {
        if (entry.Event is ClinicEvent.RecordErased erasing)
            erased.Add(erasing);
        if (entry.Event is ClinicEvent.OrdersErased gone)
            orders.Add(gone);
        state = LiveClinic.Apply(state, entry);
        if (noticesAreCurrent && NoticeProjection.RowOf(entry, state.Revision) is { } notice)
            notices.Add(notice);
        if (ClinicProjection.RowOf(entry, state.Revision, lots.Contains) is not { } row)
            return;
        if (row is LotRow lot)
            lots.Add(lot.Lot);
        pending.Add(row);
    }

    /// <summary>Compares the rows that were taken in since the last time.</summary>
    public void Compare(DbConnection connection)
    {
        foreach (var row in isCurrent ? pending : [])
        {
            var form = TableForm.Of(row);
            var values = form.ValuesOf(row);
            told[form].Add(Fingerprint.Of(form.KeyOf(values)));
            found.Compare(form, form.Find(connection, values), values);
        }
        pending.Clear();
        foreach (var row in notices.Select(TableForm.Notices.ValuesOf))
        {
            toldOf.Add(TableForm.Notices.KeyOf(row));
            found.Compare(TableForm.Notices, TableForm.Notices.Find(connection, row), row);
        }
        notices.Clear();
    }

    /// <summary>After the last row: whether the tables have more.</summary>
    public void End(DbConnection connection)
    {
        Compare(connection);
        if (isCurrent && Positions.Of(connection, ClinicProjection.Name) is var (sequence, _) && sequence != Revision)
            found.Add(Positions.Differ(ClinicProjection.Name, sequence, Revision));
        foreach (var form in isCurrent ? Forms : [])
            if (form.Count(connection) != told[form].Count)
                foreach (var row in form.Read(connection, "1 = 1"))
                    if (!told[form].Contains(Fingerprint.Of(form.KeyOf(row))))
                        found.AddTooMany(form, row);
        CompareErasures(connection);
        foreach (var row in noticesAreCurrent ? TableForm.Notices.Read(connection,
            "\"Stream\" = @stream AND \"Sequence\" <= @end", ("@stream", StreamName.Clinic.ToString()),
            ("@end", Revision)) : [])
            if (!toldOf.Contains(TableForm.Notices.KeyOf(row)))
                found.AddTooMany(TableForm.Notices, row);
    }

    private void CompareErasures(DbConnection connection)
    {
        if (!StorageEngine.Present.HasTable(connection, TableForm.Erasures.Table))
            return;
        var clinic = StreamName.Clinic.ToString();
        var expected = erased.SelectMany(one => one.Requests).Concat(orders.SelectMany(one => one.Rows))
            .Select(range => new ErasureRow { Stream = clinic, First = range.First, Last = range.Last, Event = 0 })
            .ToList();
        foreach (var row in expected.Select(TableForm.Erasures.ValuesOf))
            found.Compare(TableForm.Erasures, TableForm.Erasures.Find(connection, row), row);
        var known = expected.Select(row => row.First).ToHashSet();
        var benches = erased.Select(one => StreamName.OfBench(one.Bench).ToString()).ToHashSet(StringComparer.Ordinal);
        foreach (var row in TableForm.Erasures.Read(connection, "1 = 1"))
            if (row[TableForm.Erasures.Columns.ToList().IndexOf("Stream")] is not string stream
                || (stream == clinic
                    ? row[TableForm.Erasures.Columns.ToList().IndexOf("First")] is not long first
                        || !known.Contains(first)
                    : !benches.Contains(stream)))
                found.AddTooMany(TableForm.Erasures, row);
    }
}
