using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Records.Integrity;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.Stock;

/// <summary>
/// Which cartridges have been used, as the benches' reports tell: a cartridge is used when its mix is reported, or its
/// load where nobody reported the mix. A report that is taken back was never so. A table made from the benches'
/// streams, written in the transaction of the report.
/// </summary>
internal static class UseProjection
{
    /// <summary>Name under which the table's version is kept.</summary>
    public const string Name = "uses";

    /// <summary>
    /// Grows with every change of what is written into the table; an older one is made anew at the next start.
    /// </summary>
    public const int CodeVersion = 2;

    /// <summary>Makes the table anew where it was written by another version of the code, or never.</summary>
    public static void Bring(DataFile file)
    {
        using (var context = file.Read())
            if (Positions.Of(context.Database, Name) is (_, CodeVersion))
                return;
        MakeAnew(file);
    }

    /// <summary>Makes the table anew from the benches' streams, in one transaction.</summary>
    public static void MakeAnew(DataFile file) => file.Write(StreamName.Clinic, context =>
        {
            context.Uses.ExecuteDelete();
            foreach (var stream in file.Log.Streams())
                if (stream.Bench is { } bench)
                    // Of what was erased nobody can count any more; its lots were used up years ago.
                    foreach (var entry in file.Log.ReadAll(stream).Where(row => row.Payload is not null)
                        .Select(BenchStreams.EntryOf))
                        Apply(context, bench, entry);
            context.MoveProjection(Name, 0, CodeVersion);
            return 0;
        });

    /// <summary>Writes what an entry changes.</summary>
    public static void Apply(RecordsContext context, BenchId bench, BenchEntry entry)
    {
        if (Added(bench, entry) is { } row && context.Uses.Find(bench, row.Report) is null)
            context.Uses.Add(row);
        foreach (var report in TakenBack(entry))
            if (context.Uses.Find(bench, report.Value) is { } gone)
                context.Uses.Remove(gone);
    }

    /// <summary>The row of an entry by which a cartridge was used, or null.</summary>
    public static UseRow? Added(BenchId bench, BenchEntry entry) => entry.Event switch
    {
        BenchEvent.Mixed mixed => RowOf(bench, entry.Provenance, mixed.Request),
        BenchEvent.Loaded loaded => RowOf(bench, entry.Provenance, loaded.Request),
        _ => null,
    };

    /// <summary>The reports that an entry takes back.</summary>
    public static IEnumerable<ReportId> TakenBack(BenchEntry entry) => entry.Event switch
    {
        BenchEvent.ReportUndone undone => [undone.Report],
        BenchEvent.ReportsRevised revised => revised.Undone,
        _ => [],
    };

    private static UseRow RowOf(BenchId bench, Provenance provenance, RequestId request) =>
        new() { Bench = bench, Report = provenance.Id.Value, Request = request, At = provenance.At };
}

/// <summary>How many cartridges of a lot have been used. May be used from any thread.</summary>
/// <param name="file">The data file.</param>
public sealed class CartridgeUse(DataFile file)
{
    /// <summary>How many cartridges of a kit lot were first used after an instant; all where that is null.</summary>
    public int Of(LotCode lot, Instant? after)
    {
        using var connection = file.OpenReader();
        return Convert.ToInt32(
            Queries.Scalar(
                connection,
                """
                SELECT COUNT(*) FROM (
                  SELECT MIN(u."At") AS "First" FROM "Requests" r JOIN "Uses" u ON u."Request" = r."Id"
                  WHERE r."Lot" = @lot GROUP BY u."Request") f
                WHERE "First" > @after
                """,
                ("@lot", lot.Value), ("@after", after is { } instant ? Nanoseconds.Of(instant) : long.MinValue)),
            System.Globalization.CultureInfo.InvariantCulture);
    }
}
