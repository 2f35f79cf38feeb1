using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Simulation;

/// <summary>How a batch went.</summary>
/// <param name="Cartridges">Requests of the batch.</param>
/// <param name="ReadInWindow">Reads that started inside their window.</param>
/// <param name="ReadOutside">Reads that did not.</param>
/// <param name="Discarded">Cartridges thrown away.</param>
/// <param name="Finish">From the start to the last clear.</param>
/// <param name="LeastSpare">The least spare time with which a step that had a window to keep began; null when none
/// had.</param>
/// <param name="MedianSpare">The median of those spare times.</param>
public sealed record DaySummary(int Cartridges, int ReadInWindow, int ReadOutside, int Discarded, Duration Finish,
    Duration? LeastSpare, Duration? MedianSpare);

/// <summary>A simulated day.</summary>
/// <param name="Entries">What the bench recorded, entry by entry.</param>
/// <param name="State">The bench at the end.</param>
/// <param name="Steps">What the virtual hands and readers really did, in the order in which hands' steps ended.</param>
/// <param name="Summary">How it went.</param>
public sealed record SimulatedRun(ImmutableArray<BenchEntry> Entries, BenchState State, ImmutableArray<DoneStep> Steps,
    DaySummary Summary);

/// <summary>Runs one batch on virtual time: the real bench, the real planner, virtual hands.</summary>
public static class SimulatedDay
{
    /// <summary>Plays a batch from its start to the last clear and result.</summary>
    /// <param name="open">The bench.</param>
    /// <param name="requests">What is wanted.</param>
    /// <param name="start">When the batch starts.</param>
    /// <param name="seed">Seed of every chance.</param>
    /// <param name="times">How long steps take.</param>
    /// <param name="budget">Makes the search budget of each re-plan.</param>
    /// <param name="policy">How the adopted plan is kept; as the live bench does where none is given.</param>
    public static SimulatedRun Run(BenchCommand.OpenBench open, IReadOnlyList<BenchRequest> requests, Instant start,
        ulong seed, RandomStepLengths times, Func<ISearchBudget> budget, SearchPolicy? policy = null)
    {
        var aide = new VirtualAide(new Random(unchecked((int)seed)));
        var bench = new VirtualBench(start, seed, new PlainHands(new HandsLengths(times, seed), aide.InventedResult),
            budget, policy);
        bench.Say(open, VirtualBench.Host);
        bench.Say(new BenchCommand.AddRequests(requests), VirtualBench.Host);
        bench.Tell(new BenchCommand.StartBatch(), bench.Aide);
        bench.PlayUntil();
        return Result(bench, start);
    }

    private static SimulatedRun Result(VirtualBench bench, Instant start)
    {
        var totals = LiveBench.View(bench.State, bench.Now).Totals;
        var spares = bench.Spares.Order().ToList();
        var summary = new DaySummary(
            totals.Total, totals.ReadInWindow, totals.ReadOutside, totals.Discarded,
            (totals.Finish ?? start) - start,
            spares.Count == 0 ? null : spares[0],
            spares.Count == 0 ? null : spares[spares.Count / 2]);
        return new SimulatedRun([.. bench.Entries], bench.State, [.. bench.Steps], summary);
    }
}
