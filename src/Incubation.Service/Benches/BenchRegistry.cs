using System.Collections.Concurrent;
using Incubation.Bench;
using Incubation.Planning;
using Incubation.Service.Clock;
using Incubation.Service.Snapshots;

namespace Incubation.Service.Benches;

/// <summary>The benches of this server: their runners, by id, in the order in which they were opened.</summary>
public sealed class BenchRegistry(IBenchLog log, BenchClock clock, Func<ISearchBudget> budget,
    ILogger<BenchRunner> logger, ClockGuard guard, StepPatience? patience = null)
    : IAsyncDisposable
{
    private readonly ConcurrentDictionary<string, BenchRunner> runners = new(StringComparer.Ordinal);
    private volatile IReadOnlyList<BenchRunner> all = [];

    /// <summary>Called with every new view of every bench, on that bench's thread; must be quick.</summary>
    public event Action<BenchMoment>? Changed;

    /// <summary>All runners.</summary>
    public IReadOnlyList<BenchRunner> All => all;

    /// <summary>A bench's runner, or null where there is none of that name.</summary>
    public BenchRunner? Find(string? bench) => bench is not null && runners.TryGetValue(bench, out var runner)
        ? runner : null;

    /// <summary>Replays a bench's log and goes on where it ends; false where it is empty.</summary>
    public bool Continue(IReadOnlyList<BenchEntry> entries)
    {
        if (entries.Count == 0)
            return false;
        Continue(entries.Aggregate((BenchState?)null, LiveBench.Apply)!);
        return true;
    }

    /// <summary>Goes on where a bench's log ends.</summary>
    public BenchRunner Continue(BenchState state)
    {
        var runner = new BenchRunner(state, log, clock, budget, logger, guard, patience ?? StepPatience.Usual);
        if (!runners.TryAdd(state.Id.Value, runner))
            throw new InvalidOperationException($"The bench {state.Id} runs already.");
        all = [.. all, runner];
        LeaveThreadsForOthers(all.Count);
        runner.Changed += view => Changed?.Invoke(view);
        guard.Changed += runner.LookAgain;
        return runner;
    }

    /// <summary>
    /// A runner holds its thread while it writes and while it searches. When many benches begin at once, the answers of
    /// the others must not wait until the pool has made up its mind, a second at a time, to have more threads.
    /// </summary>
    private static void LeaveThreadsForOthers(int runners)
    {
        const int Others = 16;
        ThreadPool.GetMinThreads(out var workers, out var ports);
        if (workers < runners + Others)
            ThreadPool.SetMinThreads(runners + Others, ports);
    }

    /// <summary>Opens a new bench: its opening is the first entry of its log.</summary>
    /// <exception cref="InvalidOperationException">The bench is open already.</exception>
    public async Task<BenchRunner> OpenAsync(BenchCommand.OpenBench open, Provenance provenance,
        CancellationToken cancellation)
    {
        if (LiveBench.Decide(null, open, provenance) is not Decision.Accepted accepted
            || Find(open.Bench.Value) is not null)
            throw new InvalidOperationException($"The bench {open.Bench} is open already.");
        var entries = accepted.Entries(provenance);
        await log.AppendAsync(open.Bench, 0, entries, cancellation);
        return Continue(entries.Aggregate((BenchState?)null, LiveBench.Apply)!);
    }

    /// <summary>Stops every bench.</summary>
    public async ValueTask DisposeAsync()
    {
        // All at once: the program that stops us does not wait for one after the other.
        await Task.WhenAll(all.Select(runner => runner.DisposeAsync().AsTask()));
    }
}
