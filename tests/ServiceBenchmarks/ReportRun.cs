using System.Diagnostics;
using System.Globalization;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Reports;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Reports;
using Microsoft.Data.Sqlite;
using NodaTime;

namespace Incubation.ServiceBenchmarks;

/// <summary>
/// How long the reports over 100,000 cartridges take: all of them, with their charts, as the page shows them.
/// </summary>
/// <param name="What">Over what.</param>
/// <param name="Cartridges">Of how many cartridges.</param>
/// <param name="Median">Median of the runs.</param>
/// <param name="Slowest">The slowest of them.</param>
internal sealed record ReportRun(string What, int Cartridges, TimeSpan Median, TimeSpan Slowest)
{
    private const int Cartridges100K = 100_000;
    private const int Runs = 11;

    private static readonly string[] Copied = ["Assay", "AssayVersion", "Kind", "Priority", "Standing", "Reason",
        "InWindow", "Spare", "Slot", "Reader"];

    private static readonly string[] Times =
    [
        "Asked", "MixPlanned", "MixBegun", "MixEnd", "LoadPlanned", "LoadBegun", "LoadEnd", "MovePlanned", "MoveBegun",
            "MoveEnd",
        "ClearPlanned", "ClearBegun", "ClearEnd", "Opens", "Closes", "ReadStart", "ResultAt", "DiscardedAt",
    ];

    /// <summary>
    /// Makes reports over a file that it makes: a few real batches, and copies of their cartridges five minutes apart,
    /// on three benches and of 400 lots.
    /// </summary>
    public static IReadOnlyList<ReportRun> Measure(string path)
    {
        LongLog.Make(path, 300, _ => { });
        using var file = DataFile.Open(path);
        var record = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench);
        var book = new ReportProjection(file, record);
        var first = book.Span()!.Value.First.InUtc().Date;
        Fill(path);
        var desk = new ReportService(book, record, new ClinicHost(file), new BenchClock(TimeProvider.System, 1));
        ReportSearch Days(int from, int days) => new ReportSearch()
            .Between(first.PlusDays(from), first.PlusDays(from + days - 1));
        return
        [
            Measure(desk, book, "all of 30 years", Days(-10, 365 * 30)),
            Measure(desk, book, "all of one assay", Days(-10, 365 * 30) with { Assay = "A1" }),
            Measure(desk, book, "a year", Days(0, 365)),
            Measure(desk, book, "a month", Days(100, 30)),
            Measure(desk, book, "a day, against the four weeks before", Days(130, 1)),
        ];
    }

    private static void Fill(string path)
    {
        using var connection = new SqliteConnection($"Data Source={path};Pooling=false");
        connection.Open();
        using var command = connection.CreateCommand();
        var shifted = string.Join(", ",
            Times.Select(column => string.Create(CultureInfo.InvariantCulture, $"c.{column} + i * 300000000000")));
        command.CommandText = string.Create(CultureInfo.InvariantCulture, $$"""
            WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {{Cartridges100K}})
            INSERT INTO CartridgeTimes (Bench, Batch, Request, Lot, {{string.Join(", ", Copied)}}, {{string.Join(", ", Times)}})
            SELECT 'bench-' || (10 + i % 3), 100000 + i / 12, 'X' || i, printf('L-%03d', i % 400), {{string.Join(", ", Copied.Select(column => "c." + column))}}, {{shifted}}
            FROM n, (SELECT *, ROW_NUMBER() OVER (ORDER BY Batch, Request) - 1 AS Which, COUNT(*) OVER () AS Many FROM CartridgeTimes WHERE ResultAt IS NOT NULL) c
            WHERE i % Many = Which
            """);
        command.ExecuteNonQuery();
    }

    private static ReportRun Measure(ReportService desk, ReportProjection book, string what, ReportSearch search)
    {
        var lengths = new List<TimeSpan>();
        for (var run = 0; run < Runs; run++)
        {
            var clock = Stopwatch.StartNew();
            if (desk.Make(null, search) is { Sections.Count: 0 } empty)
                throw new InvalidOperationException($"No report of {what}: {empty.Nothing ?? empty.Faults.ToString()}");
            lengths.Add(clock.Elapsed);
        }
        lengths.Sort();
        var bundle = desk.Make(null, search);
        var scope = new ReportScope(bundle.Period.Start(DateTimeZone.Utc), bundle.Period.End(DateTimeZone.Utc), null,
            ReportPeriod.AssayOf(search.Assay));
        return new ReportRun(what, book.Count(scope), lengths[Runs / 2], lengths[^1]);
    }
}
