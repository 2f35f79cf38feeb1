using System.Collections.Concurrent;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Records.Log;

namespace Incubation.Service.Benches;

/// <summary>The benches' log in the data file.</summary>
public sealed class RecordsBenchLog(DataFile file) : IBenchLog
{
    /// <summary>A state is kept anew after so many events: that many are replayed quickly.</summary>
    private const int KeepAfter = 500;

    private readonly BenchStreams streams = new(file);
    private readonly BenchSnapshots snapshots = new(file);
    private readonly ConcurrentDictionary<BenchId, long> kept = new();

    /// <inheritdoc/>
    public Task<IReadOnlyList<BenchEntry>> ReadAsync(BenchId bench, long after, CancellationToken cancellation) =>
        Task.FromResult<IReadOnlyList<BenchEntry>>(
            [.. file.Log.ReadAll(StreamName.OfBench(bench), after).Select(BenchStreams.EntryOf)]);

    /// <inheritdoc/>
    public Task<BenchState?> LoadAsync(BenchId bench, CancellationToken cancellation)
    {
        var state = snapshots.Load(bench, out var replayed);
        kept[bench] = (state?.Revision ?? 0) - replayed;
        return Task.FromResult(state);
    }

    /// <inheritdoc/>
    public void Keep(BenchState state, bool stopping)
    {
        if (state.Revision - kept.GetValueOrDefault(state.Id) < (stopping ? 1 : KeepAfter))
            return;
        // Also where it fails: the next try comes after as many events, not with every one.
        kept[state.Id] = state.Revision;
        snapshots.Save(state);
    }

    /// <inheritdoc/>
    public Task AppendAsync(BenchId bench, long after, IReadOnlyList<BenchEntry> entries,
        CancellationToken cancellation)
    {
        // On the runner's own thread: the next command may not be decided before this one is on the disk anyway.
        streams.Append(bench, after, entries);
        return Task.CompletedTask;
    }

    /// <inheritdoc/>
    public Task AppendAsync(BenchState before, BenchState after, IReadOnlyList<BenchEntry> entries,
        CancellationToken cancellation)
    {
        streams.Append(before, after, entries);
        return Task.CompletedTask;
    }
}
