using System.Collections.Concurrent;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Records.Events;
using Incubation.Records.Integrity;
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
public sealed partial class CartridgeProjection(DataFile file, Func<CartridgeRecord, CartridgeRecord> amended)
{
    /// <summary>Grows with every change of what is written into the tables; older tables are made anew.</summary>
    private const int OwnVersion = 17;

    /// <summary>
    /// What a bench knew before a batch stands in the tables in the form that its event has: that counts too.
    /// </summary>
    internal static readonly int CodeVersion = OwnVersion
        + (1000 * BenchEvents.Registry.FormOf<BenchEvent.CheckpointKept>().Version);

    /// <summary>Batches are written so many at a time: a report never waits long for the file.</summary>
    private const int BatchesAtATime = 10;

    private readonly Lock gate = new();
    private readonly Dictionary<BenchId, BatchReader> tellers = [];
    private readonly BorneOutRows borneOut = new();
    private readonly ConcurrentDictionary<string, ProjectionDifference> noticed = new(StringComparer.Ordinal);

    /// <summary>
    /// Rows that somebody else has changed, as they were come upon; what the log says was told instead.
    /// </summary>
    public IReadOnlyCollection<ProjectionDifference> Noticed => [.. noticed.Values];

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
        return new CartridgePage([.. Told(Page(context, found, query))], total);
    }

    /// <summary>
    /// Every cartridge in the order in which they were worked on, a few at a time: nothing stays open while a caller
    /// writes them. Each is told as the log says, whatever stands in the tables: where this process has not compared
    /// them yet, that is done first.
    /// </summary>
    public IEnumerable<CartridgeRecord> All(BenchId? bench = null)
    {
        const int AtATime = 1000;
        CatchUp();
        CompareOnce();
        var query = new CartridgeQuery(Bench: bench, Descending: false, Most: AtATime);
        var told = new Dictionary<(BenchId, int), int>();
        while (true)
        {
            List<CartridgeRow> rows;
            using (var context = file.Read())
                rows = Page(context, CartridgeSearch.Where(context.Cartridges, query), query);
            foreach (var row in Told(rows))
            {
                told[(row.Bench, row.Batch)] = told.GetValueOrDefault((row.Bench, row.Batch)) + 1;
                yield return row;
            }

            if (rows.Count < AtATime)
                break;
            query = query with { Skip = query.Skip + AtATime };
        }

        foreach (var ((of, batch), count) in borneOut.Counts())
            if ((bench is null || of == bench) && told.GetValueOrDefault((of, batch)) < count)
                foreach (var missing in Missing(of, batch))
                    yield return missing;
    }

    /// <summary>First which, by an index alone, then what they say: nothing long is put in order.</summary>
    private static List<CartridgeRow> Page(RecordsContext context, IQueryable<CartridgeRow> found, CartridgeQuery query)
    {
        var keys = CartridgeSearch.Ordered(found, query).Skip(query.Skip).Take(query.Most)
            .Select(row => new { row.Bench, row.Batch, row.Request }).ToList();
        return [.. keys.Select(key => Stored(context, key.Bench, key.Batch, key.Request)).OfType<CartridgeRow>()];
    }

    private static readonly Func<RecordsContext, string, int, string, CartridgeRow?> Stored = EF.CompileQuery(
        (RecordsContext context, string bench, int batch, string request) => context.Cartridges
            .SingleOrDefault(row => row.Bench == bench && row.Batch == batch && row.Request == request));

    /// <summary>
    /// The cartridges of rows as the log bears them out. One that it does not bear out, or whose batch was not compared
    /// yet, is told from its batch's own rows of the log; one of which the log knows nothing is left out.
    /// </summary>
    private IEnumerable<CartridgeRecord> Told(List<CartridgeRow> rows)
    {
        var retold = new Dictionary<(string, int), BatchRecord?>();
        foreach (var row in rows)
        {
            var bench = BenchId.Of(row.Bench);
            var isSo = borneOut.Bears(bench, row.Batch, TableForm.Cartridges, row);
            if (isSo == true)
            {
                yield return amended(JsonSerializer.Deserialize<CartridgeRecord>(row.Json, EventJson.Options)!);
                continue;
            }

            if (isSo == false)
                Notice(TableForm.Cartridges, row);
            if (!retold.TryGetValue((row.Bench, row.Batch), out var batch))
                retold[(row.Bench, row.Batch)] = batch = Tell(bench, row.Batch);
            if (batch?.Cartridges.FirstOrDefault(one => one.Request.Value == row.Request) is { } cartridge)
                yield return amended(cartridge);
        }
    }

    /// <summary>The cartridges of a batch that have no row.</summary>
    private IEnumerable<CartridgeRecord> Missing(BenchId bench, int batch)
    {
        HashSet<string> there;
        using (var context = file.Read())
            there = [.. context.Cartridges.Where(row => row.Bench == bench.Value && row.Batch == batch)
                .Select(row => row.Request)];
        foreach (var one in Tell(bench, batch)?.Cartridges ?? [])
            if (!there.Contains(one.Request.Value))
            {
                Notice(new ProjectionDifference(TableForm.Cartridges.Table, $"{bench}, {batch}, {one.Request}", null,
                    null, ""));
                yield return amended(one);
            }
    }

    /// <summary>
    /// A cartridge of the last closed batch of a bench in which its request stands; null where there is none.
    /// </summary>
    public CartridgeRecord? LastClosed(BenchId bench, RequestId request)
    {
        CatchUp();
        List<CartridgeRow> rows;
        using (var context = file.Read())
            rows = [.. LastClosed(context, bench, request)];
        return Told(rows).FirstOrDefault();
    }

    /// <summary>How that is asked of the table, so that a test can see which index leads to it.</summary>
    internal string LastClosedStatement(BenchId bench, RequestId request)
    {
        using var context = file.Read();
        return LastClosed(context, bench, request).ToQueryString();
    }

    private static IQueryable<CartridgeRow> LastClosed(RecordsContext context, BenchId bench, RequestId request) =>
        context.Cartridges.Where(row => row.Bench == bench.Value && row.Request == request.Value
            && context.Batches.Any(batch => batch.Bench == row.Bench && batch.Number == row.Batch
                && batch.Last != null))
            .OrderByDescending(row => row.Batch).Take(1);

    /// <summary>A batch as the record tells of it, running or closed; null where there is none.</summary>
    public BatchRecord? Batch(BenchId bench, int number)
    {
        CatchUp();
        return Tell(bench, number) is { } batch
            ? batch.Closed is null ? batch : batch with { Cartridges = [.. batch.Cartridges.Select(amended)] }
            : null;
    }

    private BatchRecord? Tell(BenchId bench, int number)
    {
        if (Find(bench, number) is not { } row)
            return null;
        var teller = TellerOf(row);
        foreach (var entry in Decoding.InOrder(RowsOf(bench, row), BenchStreams.EntryOf))
            if (teller.Take(entry) is { } closed)
                return closed;
        return teller.Present();
    }

    /// <summary>A batch as it was recorded, running or closed; null where there is none.</summary>
    public RecordedBatch? Entries(BenchId bench, int number)
    {
        CatchUp();
        return Find(bench, number) is { } row
            ? new RecordedBatch(TellerOf(row).State, [.. Decoding.InOrder(RowsOf(bench, row), BenchStreams.EntryOf)],
                row.Last is not null)
            : null;
    }

    /// <summary>
    /// A batch's row as the log bears it out: where it does not, the bench is replayed up to that batch.
    /// </summary>
    internal BatchRow? Find(BenchId bench, int number)
    {
        BatchRow? row;
        using (var context = file.Read())
            row = Readable(() => context.Batches
                .SingleOrDefault(batch => batch.Bench == bench.Value && batch.Number == number));
        if (row is null ? !borneOut.Knows(bench, number)
            : borneOut.Bears(bench, number, TableForm.Batches, row) != false)
            return row;
        Notice(row is null
            ? new ProjectionDifference(TableForm.Batches.Table, $"{bench}, {number}", null, null, "")
            : ProjectionDifference.TooMany(TableForm.Batches.Table, $"{bench}, {number}"));
        return Replayed(bench, number) is { } batch ? BatchRows.Of(bench, batch) : null;
    }

    private BatchRecord? Replayed(BenchId bench, int number)
    {
        var (teller, after) = FromTheBeginning(bench);
        foreach (var entry in Decoding.InOrder(file.Log.ReadAll(StreamName.OfBench(bench), after),
            BenchStreams.EntryOf))
            if (teller.Take(entry) is { } closed && closed.Number == number)
                return closed;
        return teller.Present() is { } open && open.Number == number ? open : null;
    }

    private void Notice(TableForm form, object row) =>
        Notice(ProjectionDifference.TooMany(form.Table, form.KeyOf(form.ValuesOf(row))));

    private void Notice(ProjectionDifference difference)
    {
        if (noticed.Count < ProjectionVerdict.MostNamed)
            noticed.TryAdd($"{difference.Table} {difference.Row}", difference);
    }

    /// <summary>Replays everything, where this process has not done so yet.</summary>
    private void CompareOnce()
    {
        if (borneOut.IsWhole)
            return;
        foreach (var _ in ProjectionCheck.Live(file, this).Pieces())
        {
            // Each piece notes what the rows of its batch must say.
        }

        TrustAll();
    }

    /// <summary>Notes what the rows of a batch that is closed must say.</summary>
    internal void Trust(BenchId bench, BatchRecord batch) => borneOut.Note(bench, batch);

    /// <summary>Every batch that was closed has been replayed by this process.</summary>
    internal void TrustAll() => borneOut.IsWhole = true;

    /// <summary>What was said of rows that somebody else had changed is mended.</summary>
    internal void ForgetNoticed() => noticed.Clear();

    /// <summary>The oldest batches of a bench were erased.</summary>
    internal void ForgetErased(BenchId bench, int upTo) => borneOut.Forget(bench, upTo);

    /// <summary>Makes the tables of a bench anew from its stream.</summary>
    internal void MakeAnew(BenchId bench)
    {
        lock (gate)
        {
            tellers.Remove(bench);
            var name = NameOf(bench);
            file.Write(StreamName.OfBench(bench), context =>
                context.Projections.Where(row => row.Name == name).ExecuteDelete());
            CatchUp(bench);
        }
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
        if (Last(bench, stream) is { } last)
            return TellerOf(last);
        file.Write(stream, writing =>
        {
            writing.Cartridges.Where(row => row.Bench == bench.Value).ExecuteDelete();
            writing.CartridgeTimes.Where(row => row.Bench == bench.Value).ExecuteDelete();
            return writing.Batches.Where(row => row.Bench == bench.Value).ExecuteDelete();
        });
        return FromTheBeginning(bench).Teller;
    }

    /// <summary>The last batch; null where the tables are made anew.</summary>
    private BatchRow? Last(BenchId bench, StreamName stream)
    {
        using var context = file.Read();
        return Positions.Of(context.Database, NameOf(bench)) is var (sequence, version) && version == CodeVersion
            && sequence <= file.Log.Head(stream).Sequence
            ? Readable(() => context.Batches.Where(row => row.Bench == bench.Value)
                .OrderByDescending(row => row.Number).FirstOrDefault()) : null;
    }

    /// <summary>A row; null where somebody has put in it what no program writes there.</summary>
    private static T? Readable<T>(Func<T?> read)
        where T : class
    {
        try
        {
            return read();
        }
        catch (Exception e) when (e is OverflowException or InvalidCastException or InvalidOperationException)
        {
            return null;
        }
    }

    private (BatchReader Teller, long After) FromTheBeginning(BenchId bench) =>
        new BenchStreams(file).Beginning(bench)?.Event is BenchEvent.CheckpointKept kept
            ? (new BatchReader(kept.Checkpoint, kept.UpTo + 1), kept.UpTo) : (new BatchReader(null, 1), 0);

    private void Write(BenchId bench, StreamName stream, BatchReader teller, IReadOnlyList<BatchRecord> batches)
    {
        file.Write(stream, context =>
        {
            foreach (var batch in batches)
            {
                context.Cartridges.Where(row => row.Bench == bench.Value && row.Batch == batch.Number).ExecuteDelete();
                context.CartridgeTimes.Where(row => row.Bench == bench.Value && row.Batch == batch.Number)
                    .ExecuteDelete();
                context.Batches.Where(row => row.Bench == bench.Value && row.Number == batch.Number).ExecuteDelete();
                context.Batches.Add(BatchRows.Of(bench, batch));
                context.Cartridges.AddRange(batch.Cartridges.Select(BatchRows.Of));
                context.CartridgeTimes.AddRange(batch.Times.Select(TimesRows.RowOf));
            }
            context.MoveProjection(NameOf(bench), teller.State?.Revision ?? 0, CodeVersion);
            return batches.Count;
        });
        foreach (var batch in batches)
            borneOut.Note(bench, batch);
    }

    /// <summary>Name under which the position in a bench's stream is kept.</summary>
    internal static string NameOf(BenchId bench) => NameBegins + bench.Value;

    /// <summary>How those names begin.</summary>
    internal const string NameBegins = "cartridges ";
}
