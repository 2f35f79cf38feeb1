using System.Diagnostics;
using System.Globalization;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Batches;
using Microsoft.Data.Sqlite;
using NodaTime;

namespace Incubation.ServiceBenchmarks;

/// <summary>How long it takes to find a cartridge among 100,000.</summary>
/// <param name="What">What was looked for.</param>
/// <param name="Total">How many were found.</param>
/// <param name="Median">Median of the runs.</param>
/// <param name="Slowest">The slowest of them.</param>
internal sealed record RecordRun(string What, int Total, TimeSpan Median, TimeSpan Slowest)
{
    private const int Cartridges = 100_000;
    private const int Runs = 21;

    /// <summary>
    /// Looks for cartridges in a file that it makes: a few real batches, and copies of one cartridge under other names,
    /// five minutes apart.
    /// </summary>
    public static IReadOnlyList<RecordRun> Measure(string path)
    {
        LongLog.Make(path, 300, _ => { });
        using var file = DataFile.Open(path);
        var book = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench);
        var first = book.Find(new CartridgeQuery(Descending: false, Most: 1)).Cartridges[0].At;
        Fill(path);
        var day = first + Duration.FromDays(100);
        return
        [
            Measure(book, "one specimen", new CartridgeQuery(Specimen: "sp-054321")),
            Measure(book, "specimens by their beginning", new CartridgeQuery(Specimen: "SP-05")),
            Measure(book, "a lot", new CartridgeQuery(Lot: "l-123")),
            Measure(book, "a day", new CartridgeQuery(From: day, To: day + Duration.FromDays(1))),
            Measure(book, "a specimen of a lot in a year",
                new CartridgeQuery("SP-0", "L-12", first, first + Duration.FromDays(365))),
            Measure(book, "everything, the newest first", new CartridgeQuery(Bench: new BenchId("bench-1"))),
            Measure(book, "everything by assay, page 1,900",
                new CartridgeQuery(Order: CartridgeOrder.Assay, Descending: false, Skip: 95_000)),
        ];
    }

    private static void Fill(string path)
    {
        using var connection = new SqliteConnection($"Data Source={path};Pooling=false");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = string.Create(CultureInfo.InvariantCulture, $$"""
            WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {{Cartridges}})
            INSERT INTO Cartridges (Bench, Batch, Request, Specimen, Assay, Lot, At, Standing, Json)
            SELECT c.Bench, 100000 + i / 12, 'X' || i, printf('SP-%06d', i), c.Assay, printf('L-%03d', i % 400), c.At + i * 300000000000, c.Standing,
                   json_set(c.Json, '$.specimen', printf('SP-%06d', i), '$.request', 'X' || i)
            FROM n, (SELECT * FROM Cartridges WHERE Batch = 1 LIMIT 1) c
            """);
        command.ExecuteNonQuery();
    }

    private static RecordRun Measure(CartridgeProjection book, string what, CartridgeQuery query)
    {
        var lengths = new List<TimeSpan>();
        var total = 0;
        for (var run = 0; run < Runs; run++)
        {
            var clock = Stopwatch.StartNew();
            total = book.Find(query).Total;
            lengths.Add(clock.Elapsed);
        }
        lengths.Sort();
        return new RecordRun(what, total, lengths[Runs / 2], lengths[^1]);
    }
}
