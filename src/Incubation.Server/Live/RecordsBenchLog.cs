using Incubation.Bench;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Records.Log;

namespace Incubation.Server.Live;

/// <summary>The benches' log in the data file.</summary>
public sealed class RecordsBenchLog(DataFile file) : IBenchLog
{
    private readonly BenchStreams streams = new(file);

    /// <inheritdoc/>
    public Task<IReadOnlyList<BenchEntry>> ReadAsync(BenchId bench, long after, CancellationToken cancellation) =>
        Task.FromResult<IReadOnlyList<BenchEntry>>([.. file.Log.ReadAll(StreamName.OfBench(bench), after).Select(BenchStreams.EntryOf)]);

    /// <inheritdoc/>
    public Task AppendAsync(BenchId bench, long after, IReadOnlyList<BenchEntry> entries, CancellationToken cancellation)
    {
        // On the runner's own thread: the next command may not be decided before this one is on the disk anyway.
        streams.Append(bench, after, entries);
        return Task.CompletedTask;
    }
}
