using Incubation.Planning.Engine;

namespace Incubation.Planning.Moments;

/// <summary>How late an order may be begun, and each step of it.</summary>
internal sealed partial class SavingSearch
{
    /// <summary>The latest instant until which the hands may stay idle before an order.</summary>
    /// <param name="steps">The order.</param>
    /// <param name="jobs">What it saves.</param>
    /// <param name="from">It holds from here.</param>
    public long LatestBegin(SavingStep[] steps, bool[] jobs, long from)
    {
        var beyond = from;
        for (var j = 0; j < p.Jobs; j++)
            if (jobs[j])
                beyond = Math.Max(beyond, 1 + (p.Stage[j] == Stage.Reacting ? benches[0].ReadBy(j) : p.LoadLatest[j]));
        return Halved(from, beyond, at => Holds(steps, at, -1, 0));
    }

    /// <summary>The latest start of one step of an order that holds from an instant on.</summary>
    public long LatestStart(SavingStep[] steps, long from, int step)
    {
        idleUntil = from;
        Holds(steps, from, -1, 0);
        var start = StartOf(steps, step);
        return Halved(start, p.Now + Horizon, at => Holds(steps, from, step, at));
    }

    /// <summary>No step that a window waits for is later (milliseconds): weeks.</summary>
    private const long Horizon = 4_000_000_000;

    private static long Halved(long holds, long beyond, Func<long, bool> isHeld)
    {
        while (beyond - holds > 1)
        {
            var middle = holds + ((beyond - holds) / 2);
            if (isHeld(middle))
                holds = middle;
            else
                beyond = middle;
        }

        return holds;
    }

    private bool Holds(SavingStep[] steps, long from, int late, long lateFrom)
    {
        idleUntil = from;
        var bench = benches[0];
        Array.Clear(bench.LoadNotBefore);
        for (var round = 0; round <= roundsMost; round++)
        {
            bench.Begin(from);
            if (TakeAll(bench, steps, late, lateFrom))
                return true;
            if (bench.RaiseJob < 0)
                return false;
            bench.LoadNotBefore[bench.RaiseJob] = bench.RaiseTo;
        }

        return false;
    }

    private long StartOf(SavingStep[] steps, int step)
    {
        var bench = benches[0];
        bench.Begin(idleUntil);
        for (var i = 0; i <= step; i++)
            bench.Take(steps[i], idleUntil);
        return bench.LastStart;
    }
}
