using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Keeps the adopted plan true: after each change it is pulled earlier in its own order, and a search may replace it by
/// a better one. The live bench and simulated days do exactly the same.
/// </summary>
public static class PlanKeeping
{
    /// <summary>The next thing on a tablet does not change its mind for less than this.</summary>
    public static readonly Duration WorthChanging = Duration.FromSeconds(5);

    /// <summary>
    /// Time alone asks for a plan at <see cref="BenchLook.ReplanAt"/>; where that changed nothing, a host asks again no
    /// sooner than after this.
    /// </summary>
    public static readonly Duration AskAgainAfter = Duration.FromSeconds(5);

    /// <summary>
    /// Plans to adopt from where the bench stands, the preferred one first; a host adopts the first that is accepted.
    /// Empty when the bench follows the right plan already, or has nothing to plan.
    /// </summary>
    /// <param name="state">The bench.</param>
    /// <param name="now">The present; the touch of the adoption carries this instant.</param>
    /// <param name="cause">Why.</param>
    /// <param name="seed">Seed of the search.</param>
    /// <param name="budget">How long to search.</param>
    public static IReadOnlyList<BenchCommand.AdoptPlan> Propose(BenchState state, Instant now, PlanCause cause, ulong seed, ISearchBudget budget)
    {
        var day = LiveBench.Problem(state, now);
        if (day.Requests.Count == 0 && state.Adopted is null)
            return [];
        var standing = state.Adopted?.AsItStands;
        var retimed = standing is null ? null : PlanTiming.Retime(day, standing);
        var found = Planner.Plan(day, seed, budget, retimed);
        var searched = new BenchCommand.AdoptPlan(found.Plan, new PlanOrigin(cause, seed, found.Iterations, Planner.Version));
        if (retimed is null)
            return [searched];
        var kept = new BenchCommand.AdoptPlan(retimed, new PlanOrigin(cause, seed, 0, Planner.Version));
        if (IsWorthChanging(found.Plan, retimed, state.Phase))
            return [searched, kept];
        return IsSame(retimed, standing!) ? [] : [kept, searched];
    }

    private static bool IsWorthChanging(Plan found, Plan kept, BatchPhase phase)
    {
        var first = (found.Lost.Count, found.GuardUsed.Count, found.Unplaced.Count);
        var second = (kept.Lost.Count, kept.GuardUsed.Count, kept.Unplaced.Count);
        var order = first.CompareTo(second);
        if (order != 0)
            return order < 0;
        var gain = kept.Cost - found.Cost;
        return phase == BatchPhase.Running ? gain >= WorthChanging.TotalSeconds : gain > 0;
    }

    private static bool IsSame(Plan retimed, Plan standing) =>
        retimed.Steps.SequenceEqual(standing.Steps)
        && retimed.Lost.Select(l => l.Request).SequenceEqual(standing.Lost.Select(l => l.Request))
        && retimed.Unplaced.Select(l => l.Request).SequenceEqual(standing.Unplaced.Select(l => l.Request));
}
