using Incubation.Model;

namespace Incubation.Bench;

/// <summary>What requests that come and go, and the end of a batch, change.</summary>
internal static class BatchChanges
{
    public static BenchState Added(BenchState state, BenchEvent.RequestsAdded added) => state.InRun(run => run with
    {
        Cartridges = run.Cartridges.AddRange(added.Requests.Select(wanted =>
            new Cartridge(wanted, new CartridgeStage.Waiting(), [], ReadInWindow: null, Result: null, Repeat: null))),
    });

    public static BenchState Closed(BenchState state)
    {
        var bench = state.Checkpoint with { Batch = state.Batch + 1 };
        return state with { Checkpoint = bench, Run = BenchState.NewRun(bench) };
    }

    /// <summary>A cartridge with which nothing remains to be done: its rows of the plan go.</summary>
    public static BenchState Ended(BenchState state, RequestId request, CartridgeStage stage) =>
        PlanChanges.WithoutRows(With(state, request, c => c with { Stage = stage }), a => a.Subject == request);

    /// <summary>The bench with one of its cartridges changed.</summary>
    public static BenchState With(BenchState state, RequestId request, Func<Cartridge, Cartridge> change) =>
        state.InRun(run => run.With(request, change));
}
