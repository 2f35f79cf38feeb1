using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Connections;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Benches;

/// <summary>The streams of the benches in a data file, in the bench's own types. May be used from any thread.</summary>
/// <param name="file">The data file.</param>
public sealed class BenchStreams(DataFile file)
{
    /// <summary>The benches that have a stream, by name of the stream.</summary>
    public IReadOnlyList<BenchId> All() => [.. file.Log.Streams().Select(stream => stream.Bench).OfType<BenchId>()];

    /// <summary>
    /// Every entry of a bench in order, each verified before it is given; the n-th one has sequence n. Where the oldest
    /// rows were erased, the first is what the bench knew after them, and the next those that follow. Throws
    /// <see cref="LogBrokenException"/> or <see cref="UnreadableEventException"/> at the first that cannot be trusted
    /// or understood.
    /// </summary>
    public IEnumerable<BenchEntry> Load(BenchId bench)
    {
        var stream = StreamName.OfBench(bench);
        if (Beginning(bench) is not { } beginning)
            return file.Log.ReadAll(stream).Select(EntryOf);
        return file.Log.ReadAll(stream, ((BenchEvent.CheckpointKept)beginning.Event).UpTo).Select(EntryOf)
            .Prepend(beginning);
    }

    /// <summary>What a bench knew after the last row that was erased; null where none was.</summary>
    internal BenchEntry? Beginning(BenchId bench) => file.Log.Beginning(StreamName.OfBench(bench)) is { } row
        ? EntryOf(row) : null;

    /// <summary>The entry in a verified row.</summary>
    public static BenchEntry EntryOf(LogRow row) =>
        new(BenchEvents.Registry.Decode(row), Provenances.Of(row.Header));

    /// <summary>
    /// Appends the entries of one command, all or none, with what destinations are told by it; when this returns they
    /// are on the disk. Throws <see cref="AppendException"/> when nothing was written.
    /// </summary>
    /// <param name="before">The bench as its last entry left it; null where these are its first.</param>
    /// <param name="after">The bench as these leave it.</param>
    /// <param name="entries">The entries, at least one.</param>
    /// <returns>The new head.</returns>
    public LogHead Append(BenchState? before, BenchState after, IReadOnlyList<BenchEntry> entries)
    {
        ArgumentNullException.ThrowIfNull(after);
        ArgumentNullException.ThrowIfNull(entries);
        return Append(after.Id, before?.Revision ?? 0, entries,
            [.. NoticeProjection.RowsOf(before, after, after.Revision, entries[^1].Provenance)]);
    }

    /// <summary>
    /// Appends the entries of whole commands, all or none, with what destinations are told by each. When this returns
    /// they are on the disk. Throws <see cref="AppendException"/> when nothing was written.
    /// </summary>
    /// <param name="before">The bench as its last entry left it; null where these are its first.</param>
    /// <param name="entries">The entries, at least one.</param>
    /// <returns>The bench as these leave it.</returns>
    public BenchState Append(BenchState? before, IReadOnlyList<BenchEntry> entries)
    {
        ArgumentNullException.ThrowIfNull(entries);
        var (after, notices) = Told(before, entries);
        Append(after!.Id, before?.Revision ?? 0, entries, notices);
        return after;
    }

    /// <summary>
    /// Appends entries, all or none, to a bench of which the caller holds no state: what destinations are told is
    /// worked out by a replay. When this returns they are on the disk. Throws <see cref="AppendException"/> when
    /// nothing was written.
    /// </summary>
    /// <param name="bench">The bench.</param>
    /// <param name="expectedSequence">The sequence of the last entry that the caller knows (the bench's revision); 0
    /// for none.</param>
    /// <param name="entries">The entries, at least one.</param>
    /// <returns>The new head.</returns>
    public LogHead Append(BenchId bench, long expectedSequence, IReadOnlyList<BenchEntry> entries)
    {
        ArgumentNullException.ThrowIfNull(entries);
        return Append(bench, expectedSequence, entries, NoticesOf(bench, expectedSequence, entries));
    }

    private IReadOnlyList<NoticeRow> NoticesOf(BenchId bench, long after, IReadOnlyList<BenchEntry> entries)
    {
        try
        {
            var state = after == 0 ? null : Load(bench).Aggregate((BenchState?)null, LiveBench.Apply);
            // Where the stream ends elsewhere nothing is appended.
            return (state?.Revision ?? 0) == after ? Told(state, entries).Notices : [];
        }
        catch (InvalidOperationException)
        {
            // A stream that no bench can have come from tells nobody anything.
            return [];
        }
    }

    /// <summary>What destinations are told by the entries of whole commands, and the bench after them.</summary>
    private static (BenchState? After, IReadOnlyList<NoticeRow> Notices) Told(BenchState? before,
        IReadOnlyList<BenchEntry> entries)
    {
        var reader = new NoticeReader();
        var notices = new List<NoticeRow>();
        var state = before;
        foreach (var entry in entries)
        {
            var was = state;
            state = LiveBench.Apply(state, entry);
            notices.AddRange(reader.Take(was, entry, state));
        }

        return (state, [.. notices, .. reader.End()]);
    }

    private LogHead Append(BenchId bench, long expectedSequence, IReadOnlyList<BenchEntry> entries,
        IReadOnlyList<NoticeRow> notices)
    {
        var head = file.Log.Append(
            StreamName.OfBench(bench),
            expectedSequence,
            [.. entries.Select(entry => new NewRow(BenchEvents.Registry.Encode(entry.Event), entry.Provenance))],
            context =>
            {
                foreach (var entry in entries)
                    Stock.UseProjection.Apply(context, bench, entry);
                NoticeProjection.Add(context, file.Seal, notices);
            });
        if (notices.Count > 0)
            file.TellNoticesAdded();
        return head;
    }
}
