using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Whether the adopted plan is replaced: after each change it is pulled earlier in its own order, and a search may find
/// a cheaper one; <see cref="IsWorthReplacing"/> decides between the two. The live bench and simulated days do exactly
/// the same.
/// </summary>
public static class PlanReplacement
{
    /// <summary>
    /// While a batch runs, the adopted plan is kept unless another costs less by at least this, so that the offers on a
    /// tablet do not change for next to nothing.
    /// </summary>
    public static readonly Duration LeastGain = Duration.FromSeconds(5);

    /// <summary>
    /// Plans to adopt from where the bench stands, the preferred one first; a host adopts the first that is accepted.
    /// Empty when the bench follows the right plan already, or has nothing to plan.
    /// </summary>
    /// <param name="state">The bench.</param>
    /// <param name="now">The present; the provenance of the adoption carries this instant.</param>
    /// <param name="cause">Why.</param>
    /// <param name="seed">Seed of the search.</param>
    /// <param name="budget">How long to search, where one is made.</param>
    /// <param name="policy">When to search, and what to keep in reserve; <see cref="SearchPolicy.Live"/> where none is
    /// given.</param>
    public static IReadOnlyList<BenchCommand.AdoptPlan> Propose(
        BenchState state, Instant now, PlanCause cause, ulong seed, ISearchBudget budget, SearchPolicy? policy = null)
    {
        ArgumentNullException.ThrowIfNull(state);
        state = LiveBench.Readable(state);
        policy ??= SearchPolicy.Live;
        var day = LiveBench.Problem(state, now);
        if (day.Requests.Count == 0 && state.Adopted is null)
            return [];
        var views = new Views(day, MarginDay.Of(day, policy.Margin));
        var standing = BenchProblem.RemainingPlan(state, day);
        var kept = standing is null ? null : Pull(views, standing);
        var keeping = kept is null ? null : new BenchCommand.AdoptPlan(WaitingDiscards.In(state, day, kept.Plan),
            new PlanOrigin(cause, seed, 0, Planner.Version));
        if (policy.Search == SearchWhen.Needed && kept is not null && !NeedsSearch(kept, cause))
            return IsSame(keeping!.Plan, state.Adopted!.AsItStands) ? [] : [keeping];
        // What is wanted has changed, or the order no longer serves.
        var afresh = UrgentFirst.IsAsked(day)
            && (kept is null || cause is not (PlanCause.Report or PlanCause.StepOverran));
        var (found, iterations) = afresh ? SearchUrgentFirst(views, seed, budget, policy.Search)
            : Search(views, kept?.Plan, seed, budget);
        var searched = new BenchCommand.AdoptPlan(WaitingDiscards.In(state, day, found),
            new PlanOrigin(cause, seed, iterations, Planner.Version));
        if (kept is null)
            return [searched];
        if (IsWorthReplacing(day, found, kept, state.Phase))
            return [searched, keeping!];
        // As it stands, with what is planned no more: its rows are still offered until another plan is adopted.
        return IsSame(keeping!.Plan, state.Adopted!.AsItStands) ? [] : [keeping, searched];
    }

    /// <summary>
    /// A plan that takes nothing over from the adopted one: where pulling that earlier is what fails. Null where there
    /// is nothing to plan.
    /// </summary>
    internal static BenchCommand.AdoptPlan? Afresh(BenchState state, Instant now, PlanCause cause, ulong seed,
        ISearchBudget budget, SearchPolicy policy)
    {
        var day = LiveBench.Problem(state, now);
        if (day.Requests.Count == 0 && state.Adopted is null)
            return null;
        var (found, iterations) = Search(new Views(day, MarginDay.Of(day, policy.Margin)), null, seed, budget);
        return new BenchCommand.AdoptPlan(found, new PlanOrigin(cause, seed, iterations, Planner.Version));
    }

    /// <summary>The day as it is, and as it is seen with the margin; one and the same without one.</summary>
    private sealed record Views(BenchDay True, BenchDay Cautious)
    {
        public bool HasMargin => !ReferenceEquals(True, Cautious);
    }

    /// <summary>The adopted plan pulled earlier.</summary>
    /// <param name="Plan">The plan.</param>
    /// <param name="KeepsMargin">Whether it keeps the margin; false says that a step has left its spare time.</param>
    private sealed record Pulled(Plan Plan, bool KeepsMargin);

    /// <summary>
    /// Pulls a plan earlier in its own order, with the margin where that can be kept; null where the order cannot.
    /// </summary>
    private static Pulled? Pull(Views views, Plan standing)
    {
        if (views.HasMargin && PlanTiming.Retime(views.Cautious, standing) is { } cautious)
            return new Pulled(ForTrueDay(cautious, views.True), KeepsMargin: true);
        return PlanTiming.Retime(views.True, standing) is { } plain
            ? new Pulled(plain, KeepsMargin: !views.HasMargin) : null;
    }

    /// <summary>
    /// The adopted order no longer serves: what is wanted has changed, a step has left its spare time, or something is
    /// given up that may be saved after all.
    /// </summary>
    private static bool NeedsSearch(Pulled kept, PlanCause cause) =>
        cause is not (PlanCause.Report or PlanCause.StepOverran)
        || !kept.KeepsMargin
        || kept.Plan.GuardUsed.Count + kept.Plan.Lost.Count + kept.Plan.Unplaced.Count > 0;

    /// <summary>
    /// Searches afresh, with what is urgent; the margin is given up where it would make that wait.
    /// </summary>
    private static (Plan Plan, long Iterations) SearchUrgentFirst(Views views, ulong seed, ISearchBudget budget,
        SearchWhen search)
    {
        var (urgent, begun) = UrgentFirst.Plan(views.True, seed, budget, search);
        var (found, iterations) = Search(views, urgent, seed, budget);
        return (IsSoonerForUrgent(views.True, urgent, found) ? urgent : found, begun + iterations);
    }

    /// <summary>
    /// Whether a plan is better by rule 8 and brings what is urgent sooner, and loses, uses of the guard and leaves out
    /// no more.
    /// </summary>
    private static bool IsSoonerForUrgent(BenchDay day, Plan plan, Plan than) =>
        Leaves(plan).CompareTo(Leaves(than)) <= 0 && plan.Cost < than.Cost
        && UrgentFirst.Late(day, plan) < UrgentFirst.Late(day, than);

    /// <summary>
    /// Searches with the margin, and again without where a cartridge or a request would be left out for its sake.
    /// </summary>
    private static (Plan Plan, long Iterations) Search(Views views, Plan? kept, ulong seed, ISearchBudget budget)
    {
        var found = Planner.Plan(views.Cautious, seed, budget, kept);
        if (!views.HasMargin)
            return (found.Plan, found.Iterations);
        if (Leaves(found.Plan) != default)
        {
            var plain = Planner.Plan(views.True, seed, budget, kept);
            if (Leaves(plain.Plan).CompareTo(Leaves(found.Plan)) < 0)
                return (plain.Plan, plain.Iterations);
        }

        return (ForTrueDay(found.Plan, views.True), found.Iterations);
    }

    /// <summary>
    /// A plan made with a margin, with its bound worked out for the day without the margin, on which another plan may
    /// cost less.
    /// </summary>
    private static Plan ForTrueDay(Plan plan, BenchDay day)
    {
        var bound = Planner.Bound(day, leavesOut: plan.Unplaced.Count + plan.Lost.Count > 0);
        return plan with { Bound = Math.Min(bound, plan.Cost), Proved = plan.Proved && bound >= plan.Cost };
    }

    private static (int Lost, int GuardUsed, int Unplaced) Leaves(Plan plan) =>
        (plan.Lost.Count, plan.GuardUsed.Count, plan.Unplaced.Count);

    /// <summary>
    /// Whether the plan that a search found is to replace the adopted one: it loses fewer cartridges, uses less of the
    /// guard or leaves out fewer requests; else where the adopted one has lost its margin, or costs more by at least
    /// <see cref="LeastGain"/> (by anything at all before the batch has started). Neither makes what is urgent wait.
    /// </summary>
    /// <param name="day">The day as it is.</param>
    /// <param name="found">The plan that the search found.</param>
    /// <param name="kept">The adopted plan, pulled earlier.</param>
    /// <param name="phase">Whether the batch runs.</param>
    private static bool IsWorthReplacing(BenchDay day, Plan found, Pulled kept, BatchPhase phase)
    {
        var order = Leaves(found).CompareTo(Leaves(kept.Plan));
        if (order != 0)
            return order < 0;
        if (IsSoonerForUrgent(day, found, kept.Plan))
            return true;
        if (IsSoonerForUrgent(day, kept.Plan, found))
            return false;
        // A plan that has left its margin gives way to one that keeps it, at any cost.
        if (!kept.KeepsMargin)
            return true;
        var gain = kept.Plan.Cost - found.Cost;
        return phase == BatchPhase.Running ? gain >= LeastGain.TotalSeconds : gain > 0;
    }

    private static bool IsSame(Plan retimed, Plan standing) =>
        retimed.Steps.SequenceEqual(standing.Steps)
        && retimed.Lost.Select(left => left.Request).SequenceEqual(standing.Lost.Select(left => left.Request))
        && retimed.Unplaced.Select(left => left.Request).SequenceEqual(standing.Unplaced.Select(left => left.Request));
}
