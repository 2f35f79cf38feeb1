using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Benches;

namespace Incubation.Service.Tests.Support;

/// <summary>A log in memory whose disk can be made to fail.</summary>
internal sealed class FakeBenchLog : IBenchLog
{
    private readonly Lock gate = new();
    private readonly List<BenchEntry> entries = [];

    /// <summary>How a write ends.</summary>
    public enum Write
    {
        Succeeds,

        /// <summary>Nothing reaches the disk.</summary>
        Fails,

        /// <summary>It reaches the disk, but the program is told that it failed.</summary>
        FailsAfterTheDisk,
    }

    /// <summary>How the next writes end.</summary>
    public Write Next { get; set; }

    /// <summary>What stands in the log.</summary>
    public IReadOnlyList<BenchEntry> Entries
    {
        get
        {
            lock (gate)
                return [.. entries];
        }
    }

    /// <summary>A log of its own with the same entries.</summary>
    public FakeBenchLog Copy()
    {
        var copy = new FakeBenchLog();
        copy.entries.AddRange(Entries);
        return copy;
    }

    public Task<IReadOnlyList<BenchEntry>> ReadAsync(BenchId bench, long after, CancellationToken cancellation)
    {
        lock (gate)
            return Task.FromResult<IReadOnlyList<BenchEntry>>([.. entries.Skip((int)after)]);
    }

    public Task AppendAsync(BenchId bench, long after, IReadOnlyList<BenchEntry> added, CancellationToken cancellation)
    {
        lock (gate)
        {
            if (Next == Write.Fails)
                throw new IOException("No space left on the disk.");
            if (entries.Count != after)
                throw new InvalidOperationException($"The log holds {entries.Count} entries, not {after}.");
            entries.AddRange(added);
            return Next == Write.FailsAfterTheDisk
                ? throw new IOException("The disk answered too late.") : Task.CompletedTask;
        }
    }
}
