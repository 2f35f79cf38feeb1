using System.Diagnostics;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Planning.Checking;
using NodaTime;

namespace Incubation.Benchmarks;

/// <summary>
/// The planner's runs, on one thread, warmed up and checked; a run of the same day and time is done once.
/// </summary>
internal sealed class Runs
{
    private const ulong Seed = 1;
    private static readonly Duration WarmUp = Duration.FromSeconds(1.5);
    private readonly Dictionary<(string Day, Duration Limit), Plan> done = [];
    private bool isWarm;

    /// <summary>What the planner has after a time, the first plan's included.</summary>
    public Plan After(BenchDay day, Duration limit)
    {
        var key = (SolverCache.HashOf(day), limit);
        if (done.TryGetValue(key, out var plan))
            return plan;
        Warm(day);
        plan = Checked(day, Planner.Plan(day, Seed, new TimedBudget(limit)).Plan);
        return done[key] = plan;
    }

    /// <summary>How long a plan without a search takes, in milliseconds: the median of some.</summary>
    public double FirstPlanMilliseconds(BenchDay day, Plan? incumbent = null, int times = 15)
    {
        Warm(day);
        Checked(day, Planner.Plan(day, Seed, new IterationBudget(0), incumbent).Plan);
        return Figures.Median(Enumerable.Range(0, times).Select(_ =>
        {
            var start = Stopwatch.GetTimestamp();
            Planner.Plan(day, Seed, new IterationBudget(0), incumbent);
            return Stopwatch.GetElapsedTime(start).TotalMilliseconds;
        }).ToList());
    }

    /// <summary>Lets the runtime compile the engine as well as it can.</summary>
    public void Warm(BenchDay day)
    {
        if (isWarm)
            return;
        isWarm = true;
        Planner.Plan(day, Seed, new TimedBudget(WarmUp));
        var until = new TimedBudget(WarmUp);
        while (until.AllowsMore(0))
            Planner.Plan(day, Seed, new IterationBudget(20));
    }

    /// <summary>A plan that breaks no rule; anything else ends the run.</summary>
    public static Plan Checked(BenchDay day, Plan plan) => PlanChecker.Check(day, plan) is [var fault, ..]
        ? throw new InvalidOperationException(
            $"The planner's plan of day {SolverCache.HashOf(day)} breaks rule {fault.Rule}: {fault.What}.")
        : plan;
}
