using Incubation.Model;
using Incubation.Planning.Engine;

namespace Incubation.Planning;

/// <summary>Says whether a search may go on. Planning reads no clock: a budget of time is the host's.</summary>
public interface ISearchBudget
{
    /// <summary>Whether one more iteration may be tried after so many.</summary>
    bool AllowsMore(long iterationsDone);
}

/// <summary>A budget of iterations: the same day, seed and number give the same plan.</summary>
public sealed class IterationBudget(long iterations) : ISearchBudget
{
    /// <inheritdoc/>
    public bool AllowsMore(long iterationsDone) => iterationsDone < iterations;
}

/// <summary>What a search found.</summary>
/// <param name="Plan">The best plan found; always valid.</param>
/// <param name="Iterations">How many iterations the search did.</param>
public sealed record PlanningResult(Plan Plan, long Iterations);

/// <summary>Makes plans.</summary>
public static class Planner
{
    /// <summary>The planner's version, kept with each adopted plan.</summary>
    public const string Version = "2";

    /// <summary>
    /// Plans a day: builds a valid plan, then improves it while the budget allows. Never fails on a day that does not
    /// contradict itself: what cannot be placed or saved is named in the plan.
    /// </summary>
    /// <param name="day">The problem.</param>
    /// <param name="seed">Seed of every random choice.</param>
    /// <param name="budget">How long to search.</param>
    /// <param name="incumbent">A plan to start from where its order is still valid, or null.</param>
    public static PlanningResult Plan(BenchDay day, ulong seed, ISearchBudget budget, Plan? incumbent = null) =>
        new PlanSearch(ProblemCompiler.Compile(KnownDay.Of(day)), incumbent).Run(seed, budget);

    /// <summary>A cost in seconds below which no plan of a day comes.</summary>
    /// <param name="day">The problem.</param>
    /// <param name="leavesOut">Whether the plan in question leaves something out or gives it up: then only what every
    /// plan places counts.</param>
    public static double Bound(BenchDay day, bool leavesOut)
    {
        var problem = ProblemCompiler.Compile(KnownDay.Of(day));
        return Math.Round(LowerBound.Of(problem, Left.Counted(problem, leavesOut)) / 1000, 3);
    }
}
