using System.Text.Json;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Records.Events;
using Incubation.Records.Log;
using Incubation.Records.Reports;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;

namespace Incubation.Records.Batches;

/// <summary>
/// Batches and cartridges as the benches' streams tell of them: tables that hold nothing of their own. They are brought
/// up to the end of the streams before every question, and made anew when this program writes them otherwise than the
/// last one did. May be used from any thread.
/// </summary>
/// <param name="file">The data file.</param>
/// <param name="amended">
/// A cartridge with its result as it stands after amendments that came when its batch was closed;
/// <see cref="AsToldOnBench"/> where they are left out.
/// </param>
public sealed class CartridgeProjection(DataFile file, Func<CartridgeRecord, CartridgeRecord> amended)
{
    /// <summary>Grows with every change of what is written into the tables; older tables are made anew.</summary>
    private const int OwnVersion = 4;

    /// <summary>
    /// What a bench knew before a batch stands in the tables in the form that its event has: that counts too.
    /// </summary>
    private static readonly int CodeVersion = OwnVersion
        + (1000 * BenchEvents.Registry.FormOf<BenchEvent.CheckpointKept>().Version);

    /// <summary>Batches are written so many at a time: a report never waits long for the file.</summary>
    private const int BatchesAtATime = 10;

    private readonly Lock gate = new();
    private readonly Dictionary<BenchId, BatchReader> tellers = [];

    /// <summary>A cartridge as its bench told it, without what was amended after its batch was closed.</summary>
    public static CartridgeRecord AsToldOnBench(CartridgeRecord cartridge) => cartridge;

    /// <summary>Reads what was recorded since the last time.</summary>
    public void CatchUp()
    {
        lock (gate)
            foreach (var bench in new BenchStreams(file).All())
                CatchUp(bench);
    }

    /// <summary>The cartridges that are looked for.</summary>
    public CartridgePage Find(CartridgeQuery query)
    {
        CatchUp();
        using var context = file.Read();
        var found = CartridgeSearch.Where(context.Cartridges, query);
        var total = found.Count();
        return new CartridgePage(Page(context, found, query), total);
    }

    /// <summary>
    /// Every cartridge in the order in which they were worked on, a few at a time: nothing stays open while a caller
    /// writes them.
    /// </summary>
    public IEnumerable<CartridgeRecord> All(BenchId? bench = null)
    {
        const int AtATime = 1000;
        CatchUp();
        var query = new CartridgeQuery(Bench: bench, Descending: false, Most: AtATime);
        while (true)
        {
            List<CartridgeRecord> rows;
            using (var context = file.Read())
                rows = Page(context, CartridgeSearch.Where(context.Cartridges, query), query);
            foreach (var row in rows)
                yield return row;
            if (rows.Count < AtATime)
                yield break;
            query = query with { Skip = query.Skip + AtATime };
        }
    }

    /// <summary>First which, by an index alone, then what they say: nothing long is put in order.</summary>
    private List<CartridgeRecord> Page(RecordsContext context, IQueryable<CartridgeRow> found, CartridgeQuery query)
    {
        var keys = CartridgeSearch.Ordered(found, query).Skip(query.Skip).Take(query.Most)
            .Select(row => new { row.Bench, row.Batch, row.Request }).ToList();
        return [.. keys.Select(key => Read(JsonOf(context, key.Bench, key.Batch, key.Request)))];
    }

    private static readonly Func<RecordsContext, string, int, string, string> JsonOf = EF.CompileQuery(
        (RecordsContext context, string bench, int batch, string request) => context.Cartridges
            .Where(row => row.Bench == bench && row.Batch == batch && row.Request == request).Select(row => row.Json)
            .Single());

    /// <summary>A batch as the record tells of it, running or closed; null where there is none.</summary>
    public BatchRecord? Batch(BenchId bench, int number)
    {
        if (Find(bench, number) is not { } row)
            return null;
        var teller = TellerOf(row);
        foreach (var entry in Decoding.InOrder(RowsOf(bench, row), BenchStreams.EntryOf))
            if (teller.Take(entry) is { } closed)
                return closed with { Cartridges = [.. closed.Cartridges.Select(amended)] };
        return teller.Present();
    }

    /// <summary>A batch as it was recorded, running or closed; null where there is none.</summary>
    public RecordedBatch? Entries(BenchId bench, int number) => Find(bench, number) is { } row
            ? new RecordedBatch(TellerOf(row).State, [.. Decoding.InOrder(RowsOf(bench, row), BenchStreams.EntryOf)],
                row.Last is not null)
            : null;

    private BatchRow? Find(BenchId bench, int number)
    {
        CatchUp();
        using var context = file.Read();
        return context.Batches.SingleOrDefault(batch => batch.Bench == bench.Value && batch.Number == number);
    }

    private IEnumerable<LogRow> RowsOf(BenchId bench, BatchRow row)
    {
        var rows = file.Log.ReadAll(StreamName.OfBench(bench), row.First - 1);
        return row.Last is { } last ? rows.TakeWhile(one => one.Header.Sequence <= last) : rows;
    }

    /// <summary>The batches of a bench, the oldest first.</summary>
    internal IReadOnlyList<BatchRow> Batches(BenchId bench)
    {
        CatchUp();
        using var context = file.Read();
        return [.. context.Batches.Where(row => row.Bench == bench.Value).OrderBy(row => row.Number)];
    }

    private static BatchReader TellerOf(BatchRow row) =>
        new(row.Before is { } json ? JsonSerializer.Deserialize<BenchCheckpoint>(json, EventJson.Options) : null,
            row.First);

    private CartridgeRecord Read(string json)
    {
        var told = JsonSerializer.Deserialize<CartridgeRecord>(json, EventJson.Options)!;
        return amended(told);
    }

    private void CatchUp(BenchId bench)
    {
        var stream = StreamName.OfBench(bench);
        if (!tellers.TryGetValue(bench, out var teller))
            teller = tellers[bench] = Begin(bench, stream);
        var position = teller.State?.Revision ?? 0;
        if (file.Log.Head(stream).Sequence == position)
            return;
        try
        {
            var told = new List<BatchRecord>();
            foreach (var entry in Decoding.InOrder(file.Log.ReadAll(stream, position), BenchStreams.EntryOf))
            {
                if (teller.Take(entry) is { } closed)
                    told.Add(closed);
                if (told.Count < BatchesAtATime)
                    continue;
                Write(bench, stream, teller, told);
                told.Clear();
            }
            if (teller.Present() is { } present)
                told.Add(present);
            Write(bench, stream, teller, told);
        }
        catch
        {
            // What was taken in and not written is read again the next time.
            tellers.Remove(bench);
            throw;
        }
    }

    /// <summary>
    /// Where to go on: at the first row of the last batch, or at the beginning where the tables were written otherwise.
    /// </summary>
    private BatchReader Begin(BenchId bench, StreamName stream)
    {
        using var context = file.Read();
        var name = NameOf(bench);
        var isCurrent = context.Projections.SingleOrDefault(row => row.Name == name) is { } projection
            && projection.CodeVersion == CodeVersion && projection.Sequence <= file.Log.Head(stream).Sequence;
        var last = isCurrent ? context.Batches.Where(row => row.Bench == bench.Value)
            .OrderByDescending(row => row.Number).FirstOrDefault() : null;
        if (last is not null)
            return TellerOf(last);

        file.Write(stream, writing =>
        {
            writing.Cartridges.Where(row => row.Bench == bench.Value).ExecuteDelete();
            writing.CartridgeTimes.Where(row => row.Bench == bench.Value).ExecuteDelete();
            return writing.Batches.Where(row => row.Bench == bench.Value).ExecuteDelete();
        });
        return new BenchStreams(file).Beginning(bench)?.Event is BenchEvent.CheckpointKept kept
            ? new BatchReader(kept.Checkpoint, kept.UpTo + 1) : new BatchReader(null, 1);
    }

    private void Write(BenchId bench, StreamName stream, BatchReader teller, IReadOnlyList<BatchRecord> batches) =>
        file.Write(stream, context =>
        {
            foreach (var batch in batches)
            {
                context.Cartridges.Where(row => row.Bench == bench.Value && row.Batch == batch.Number).ExecuteDelete();
                context.CartridgeTimes.Where(row => row.Bench == bench.Value && row.Batch == batch.Number)
                    .ExecuteDelete();
                context.Batches.Where(row => row.Bench == bench.Value && row.Number == batch.Number).ExecuteDelete();
                context.Batches.Add(RowOf(bench, batch));
                context.Cartridges.AddRange(batch.Cartridges.Select(RowOf));
                context.CartridgeTimes.AddRange(batch.Times.Select(TimesRows.RowOf));
            }
            context.MoveProjection(NameOf(bench), teller.State?.Revision ?? 0, CodeVersion);
            return batches.Count;
        });

    private static string NameOf(BenchId bench) => "cartridges " + bench.Value;

    private static BatchRow RowOf(BenchId bench, BatchRecord batch) => new()
    {
        Bench = bench.Value,
        Number = batch.Number,
        First = batch.First,
        Last = batch.Closed is null ? null : batch.Last,
        StartedAt = batch.Started is { } started ? Nanoseconds.Of(started.At) : null,
        ClosedAt = batch.Closed is { } closed ? Nanoseconds.Of(closed.Arrived) : null,
        Cartridges = batch.Cartridges.Length,
        Before = batch.Before is null ? null : JsonSerializer.Serialize(batch.Before, EventJson.Options),
        WorkedTo = batch.Use is { } use ? Nanoseconds.Of(use.To) : null,
        Hands = batch.Use?.Hands,
        Slots = batch.Use?.Slots,
        Readers = batch.Use?.Readers,
        HandsBusy = batch.Use?.HandsBusy.ToInt64Nanoseconds(),
        SlotsBusy = batch.Use?.SlotsBusy.ToInt64Nanoseconds(),
        ReadersBusy = batch.Use?.ReadersBusy.ToInt64Nanoseconds(),
        PlannedEnd = batch.Use?.PlannedEnd is { } planned ? Nanoseconds.Of(planned) : null,
        PlannedCartridges = batch.Use?.PlannedCartridges,
        Worked = batch.Use?.Cartridges,
    };

    private static CartridgeRow RowOf(CartridgeRecord cartridge) => new()
    {
        Bench = cartridge.Bench.Value,
        Batch = cartridge.Batch,
        Request = cartridge.Request.Value,
        Specimen = cartridge.Specimen.Value,
        Assay = cartridge.Assay.Value,
        Lot = cartridge.Lot.Value,
        At = Nanoseconds.Of(cartridge.At),
        Standing = cartridge.Standing.ToString(),
        Json = JsonSerializer.Serialize(cartridge, EventJson.Options),
    };
}
