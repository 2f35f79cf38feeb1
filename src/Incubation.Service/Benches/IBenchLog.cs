using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Service.Benches;

/// <summary>The log as a bench's runner needs it.</summary>
public interface IBenchLog
{
    /// <summary>The entries of a bench after so many, in order.</summary>
    Task<IReadOnlyList<BenchEntry>> ReadAsync(BenchId bench, long after, CancellationToken cancellation);

    /// <summary>The state that a bench's log leads to; null where the log is empty.</summary>
    async Task<BenchState?> LoadAsync(BenchId bench, CancellationToken cancellation) =>
        (await ReadAsync(bench, 0, cancellation)).Aggregate((BenchState?)null, LiveBench.Apply);

    /// <summary>
    /// Keeps a state whose entries are all on the disk, so that the next start need not replay them; may do nothing.
    /// </summary>
    /// <param name="state">The state.</param>
    /// <param name="stopping">Whether the server stops; else it is kept only now and then.</param>
    void Keep(BenchState state, bool stopping)
    {
    }

    /// <summary>
    /// Appends entries in one transaction, all or none, on disk before it returns. Fails where the bench's stream does
    /// not hold exactly <paramref name="after"/> entries.
    /// </summary>
    Task AppendAsync(BenchId bench, long after, IReadOnlyList<BenchEntry> entries, CancellationToken cancellation);

    /// <summary>
    /// Appends the entries of one command, as above, with what destinations are told by it where the log keeps that.
    /// </summary>
    /// <param name="before">The bench before them.</param>
    /// <param name="after">The bench after them.</param>
    /// <param name="entries">The entries.</param>
    /// <param name="cancellation">Ends the wait.</param>
    Task AppendAsync(BenchState before, BenchState after, IReadOnlyList<BenchEntry> entries,
        CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(before);
        return AppendAsync(before.Id, before.Revision, entries, cancellation);
    }
}
