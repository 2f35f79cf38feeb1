using Incubation.Model;
using Incubation.Planning;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Benchmarks;

/// <summary>A day that was followed by a plan until some are reacting.</summary>
/// <param name="Followed">The plan that was followed.</param>
/// <param name="AsPlanned">The day at the instant at which a step has ended, all as planned.</param>
/// <param name="Delayed">The same a little later, the hands having done nothing since.</param>
internal sealed record Interrupted(Plan Followed, BenchDay AsPlanned, BenchDay Delayed);

/// <summary>Plays a plan to the letter for a while.</summary>
internal static class Interruption
{
    private static readonly IterationBudget Enough = new(3_000);

    /// <summary>
    /// Follows a plan of a day with one pair of hands until so many cartridges react, then delays the hands for 5 to 25
    /// s.
    /// </summary>
    public static Interrupted Of(BenchDay day, int reacting, SeededRandom random)
    {
        var plan = Planner.Plan(day, 1, Enough).Plan;
        var ends = plan.Steps.Where(step => step.Hands is not null).Select(step => step.End).Distinct().Order()
            .ToList();
        var most = ends.Max(end => ReactingAt(plan, end));
        var now = ends.First(end => ReactingAt(plan, end) >= Math.Min(reacting, most));
        var asPlanned = At(day, plan, now);
        var later = now + Duration.FromSeconds(random.Between(5, 25));
        return new Interrupted(plan, asPlanned, asPlanned with { MidRun = asPlanned.MidRun! with { Now = later } });
    }

    private static int ReactingAt(Plan plan, Instant now) =>
        plan.Steps.Count(step => step.Action is StepAction.Load { Place: CartridgePlace.InSlot } load
        && step.End <= now
        && plan.Steps.Any(other => other.Action is StepAction.Move move && move.Request == load.Request
            && other.Start >= now));

    /// <summary>The day as it stands at an instant at which no hands are at work, all having gone as planned.</summary>
    private static BenchDay At(BenchDay day, Plan plan, Instant now)
    {
        var rows = plan.Steps.Where(step => step.Action.Subject is not null)
            .ToLookup(step => step.Action.Subject!.Value);
        var open = day.Requests.Where(request => !rows[request.Id]
            .Any(row => row.Action is StepAction.Clear && row.End <= now)).ToList();
        var assays = day.Assays.ToDictionary(assay => assay.Code);
        var cartridges = open.Select(request => PhaseOf([.. rows[request.Id]], assays[request.Assay], now) is { } phase
            ? new CartridgeInWork(request.Id, phase) : null).OfType<CartridgeInWork>().ToList();
        var cards = plan.Steps.Where(step => step.End <= now).Select(step => step.Action)
            .OfType<StepAction.CardChange>()
            .GroupBy(change => change.Reader).Select(changes => new CardInReader(changes.Key, changes.Last().Lot))
            .ToList();
        return day with { Requests = open, MidRun = new MidRun(now, cards, [], cartridges) };
    }

    private static CartridgePhase? PhaseOf(IReadOnlyList<PlannedStep> rows, Assay assay, Instant now)
    {
        PlannedStep Row<T>() => rows.First(row => row.Action is T);
        bool Has<T>() => rows.Any(row => row.Action is T && row.End <= now);
        if (Has<StepAction.Read>())
            return new CartridgePhase.Read(Row<StepAction.Read>().Action.NeedsReader!.Value);
        if (Has<StepAction.Move>())
            return new CartridgePhase.Reading(Row<StepAction.Move>().Action.NeedsReader!.Value,
                Row<StepAction.Read>().Start);
        if (Has<StepAction.Load>() && Row<StepAction.Load>() is { Action: StepAction.Load load } loaded)
            return new CartridgePhase.Reacting(new InstantRange(loaded.Start + assay.LoadShortest, loaded.End),
                load.Place);
        if (Has<StepAction.Mix>() && Row<StepAction.Mix>() is var mixed)
            return new CartridgePhase.Mixed(new InstantRange(mixed.Start + assay.MixShortest, mixed.End));
        return null;
    }
}
