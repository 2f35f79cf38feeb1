using Incubation.Bench;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Server.Live;

/// <summary>A plan that the bench may adopt.</summary>
public sealed record Proposal(Plan Plan, PlanOrigin Origin);

/// <summary>
/// Makes the plans that a bench may adopt. The adopted plan pulled earlier in its own order comes first, so that an aide
/// who is on the way is not turned round; a search started from it takes its place only where it saves a cartridge, a
/// guard or a request, or at least <see cref="LeastGain"/> of cost.
/// </summary>
public sealed class Replanner(Func<ISearchBudget> budget)
{
    /// <summary>A better plan must gain so much before the order changes under an aide's hands; seconds of cost.</summary>
    public const double LeastGain = 5;

    /// <summary>The plans to try, the preferred one first; empty where the adopted plan is already what would be proposed.</summary>
    public IReadOnlyList<Proposal> Propose(BenchState state, Instant now, PlanCause cause)
    {
        var problem = LiveBench.Problem(state, now);
        var adopted = state.Adopted;
        if (problem.Requests.Count == 0 && adopted is null or { Remaining: [] })
            return [];
        var retimed = adopted is null ? null : PlanTiming.Retime(problem, adopted.Plan);
        var seed = (ulong)state.Revision;
        var found = Planner.Plan(problem, seed, budget(), retimed ?? adopted?.Plan);

        var search = new Proposal(found.Plan, new PlanOrigin(cause, seed, found.Iterations, Planner.Version));
        if (retimed is null)
            return [search];
        var pulled = new Proposal(retimed, new PlanOrigin(cause, seed, 0, Planner.Version));
        if (cause is PlanCause.RequestsChanged or PlanCause.BatchStarted || IsWorthTheChange(found.Plan, retimed))
            return [search, pulled];
        return IsSame(retimed, adopted!) ? [] : [pulled, search];
    }

    private static bool IsWorthTheChange(Plan found, Plan pulled)
    {
        if (found.Lost.Count != pulled.Lost.Count)
            return found.Lost.Count < pulled.Lost.Count;
        if (found.GuardUsed.Count != pulled.GuardUsed.Count)
            return found.GuardUsed.Count < pulled.GuardUsed.Count;
        if (found.Unplaced.Count != pulled.Unplaced.Count)
            return found.Unplaced.Count < pulled.Unplaced.Count;
        return found.Cost <= pulled.Cost - LeastGain;
    }

    private static bool IsSame(Plan plan, AdoptedPlan adopted) =>
        plan.Steps.SequenceEqual(adopted.Remaining)
        && plan.Lost.SequenceEqual(adopted.Plan.Lost)
        && plan.Unplaced.SequenceEqual(adopted.Plan.Unplaced);
}
