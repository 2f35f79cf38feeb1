using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// What an urgent request asks of a search: to begin with it, and that neither the reserve that plans keep nor the wish
/// to leave the offers as they are makes it wait. What is better is decided by rule 8 alone.
/// </summary>
internal static class UrgentFirst
{
    /// <summary>
    /// How long the day without its waiting routine requests is searched, in iterations and not in time: what an urgent
    /// request gets does not depend on how busy the machine is. Some ten requests at most, so 30 to 50 ms.
    /// </summary>
    private const int FirstIterations = 30_000;

    /// <summary>The same for many days in little time.</summary>
    private const int FewFirstIterations = 3_000;

    /// <summary>
    /// How long the whole day is then searched without a margin, at most; the rest goes to the margin.
    /// </summary>
    private const int PlainIterations = 12_000;

    /// <summary>Whether an urgent request is still to be served.</summary>
    public static bool IsAsked(BenchDay day) => day.Requests.Any(IsUrgent);

    /// <summary>By how much the urgent requests of a day end after they are due in a plan, all together.</summary>
    public static Duration Late(BenchDay day, Plan plan)
    {
        var due = day.Requests.Where(IsUrgent).ToDictionary(request => request.Id,
            request => request.EffectiveDue(day.Start)!.Value);
        return plan.Steps.Where(step => step.Action is StepAction.Clear && due.ContainsKey(step.Action.Subject!.Value))
            .Aggregate(Duration.Zero, (sum, clear) =>
                sum + Duration.Max(Duration.Zero, clear.End - due[clear.Action.Subject!.Value]));
    }

    /// <summary>
    /// A plan of the whole day, begun with the urgent requests and what is in work; routine requests that wait are put
    /// where they cost least beside them.
    /// </summary>
    /// <param name="day">The day as it is, without a margin.</param>
    /// <param name="seed">Seed of the searches.</param>
    /// <param name="budget">How long the whole day may be searched.</param>
    /// <param name="search">Says how long the urgent requests are searched for.</param>
    public static PlanningResult Plan(BenchDay day, ulong seed, ISearchBudget budget, SearchWhen search)
    {
        var most = search == SearchWhen.Always ? FirstIterations : FewFirstIterations;
        var first = Planner.Plan(WithoutWaitingRoutine(day), seed, new IterationBudget(most)).Plan;
        return Planner.Plan(day, seed, new Part(budget), first);
    }

    /// <summary>
    /// The day without the routine requests that nothing holds to a time and that nothing urgent comes after: they find
    /// room at the end of any plan.
    /// </summary>
    private static BenchDay WithoutWaitingRoutine(BenchDay day)
    {
        var begun = day.MidRun is { } run
            ? run.Cartridges.Select(cartridge => cartridge.Request)
                .Concat(run.Steps.Select(step => step.Action.Subject).OfType<RequestId>()).ToHashSet() : [];
        var kept = day.Requests.Where(request => IsUrgent(request) || request.LoadBy is not null
            || begun.Contains(request.Id)).ToDictionary(request => request.Id);
        var all = day.Requests.ToDictionary(request => request.Id);
        for (var ahead = new Queue<Request>(kept.Values); ahead.TryDequeue(out var request);)
            foreach (var before in request.After)
                if (all.TryGetValue(before, out var needed) && kept.TryAdd(before, needed))
                    ahead.Enqueue(needed);
        return day with { Requests = [.. day.Requests.Where(request => kept.ContainsKey(request.Id))] };
    }

    private static bool IsUrgent(Request request) => request.Priority == Priority.Urgent;

    /// <summary>A budget up to <see cref="PlainIterations"/>.</summary>
    private sealed class Part(ISearchBudget whole) : ISearchBudget
    {
        public bool AllowsMore(long iterationsDone) =>
            iterationsDone < PlainIterations && whole.AllowsMore(iterationsDone);
    }
}
