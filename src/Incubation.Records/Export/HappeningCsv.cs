using Incubation.Bench;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using NodaTime;

namespace Incubation.Records.Export;

/// <summary>
/// What else happened in batches, as comma-separated values (<see cref="Csv"/>): a line for whatever is no step of a
/// cartridge and no plan, in the order of the record. Times are ISO 8601 in the clinic's zone with their offset.
/// </summary>
public static class HappeningCsv
{
    /// <summary>The names of the columns in their order.</summary>
    public static IReadOnlyList<string> Names { get; } =
        ["bench", "batch", "batchStarted", "at", "event", "person", "device", "what"];

    /// <summary>The header and the lines, each with its CRLF. Each batch is told anew from the log.</summary>
    /// <param name="file">The data file.</param>
    /// <param name="book">Its batches.</param>
    /// <param name="zone">The clinic's zone.</param>
    /// <param name="wordsOf">For a batch: what an entry of it is in words.</param>
    public static IEnumerable<string> Lines(DataFile file, CartridgeProjection book, DateTimeZone zone,
        Func<BatchRecord, Func<BenchEntry, string>> wordsOf)
    {
        ArgumentNullException.ThrowIfNull(file);
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(zone);
        ArgumentNullException.ThrowIfNull(wordsOf);
        yield return Csv.Mark + Csv.Line(Names);
        foreach (var bench in new BenchStreams(file).All())
            foreach (var number in book.Batches(bench).Select(row => row.Number))
            {
                if (book.Batch(bench, number) is not { } batch)
                    continue;
                var words = wordsOf(batch);
                foreach (var entry in batch.Happenings)
                    yield return Csv.Line([bench.Value, number, Csv.At(batch.Started?.At, zone),
                        Csv.At(entry.Provenance.At, zone), BenchEvents.Registry.Encode(entry.Event).Type,
                        entry.Provenance.Person.Value, entry.Provenance.Device.Value, words(entry)]);
            }
    }
}
