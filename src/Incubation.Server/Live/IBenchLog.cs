using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Server.Live;

/// <summary>The log as a bench's runner needs it.</summary>
public interface IBenchLog
{
    /// <summary>The entries of a bench after so many, in order.</summary>
    Task<IReadOnlyList<BenchEntry>> ReadAsync(BenchId bench, long after, CancellationToken cancellation);

    /// <summary>
    /// Appends entries in one transaction, all or none, on disk before it returns. Fails where the bench's stream does not
    /// hold exactly <paramref name="after"/> entries.
    /// </summary>
    Task AppendAsync(BenchId bench, long after, IReadOnlyList<BenchEntry> entries, CancellationToken cancellation);
}
