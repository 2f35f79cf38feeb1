using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Turns a live bench into the planning problem that starts from where it stands.</summary>
internal static class BenchProblem
{
    /// <param name="state">The bench.</param>
    /// <param name="now">The present.</param>
    /// <param name="without">A cartridge in work to be left out, to see whether it is what hinders; or null.</param>
    /// <param name="notBegun">Rows that do not count as begun; null for those of <see cref="StaleSteps"/>.</param>
    public static BenchDay Of(BenchState state, Instant now, RequestId? without = null,
        ImmutableArray<RemainingStep>? notBegun = null)
    {
        var open = state.Cartridges.Where(cartridge => !cartridge.IsOver && cartridge.Id != without
            && cartridge.Stage is not CartridgeStage.Astray).ToList();
        var ready = Readiness.List(state, now);
        var planned = open.ToDictionary(cartridge => cartridge.Id, cartridge =>
            AsPlanned(state, cartridge, ready, now));
        LeaveOut(state, open, planned, ready, now);
        var requests = open.Select(cartridge => planned[cartridge.Id] with
        {
            AssayVersion = cartridge.Wanted.AssayVersion,
            After = [.. planned[cartridge.Id].After.Where(id => open.Any(earlier => earlier.Id == id))],
        }).ToList();
        return new BenchDay(
            state.StartedAt is { } started ? Instant.Min(started, now) : now,
            state.Setup,
            [.. open.Select(cartridge => cartridge.Wanted.Assay with { Version = cartridge.Wanted.AssayVersion })
                .DistinctBy(assay => assay.Key)],
            requests,
            Calendar: BenchResources.Calendar(state, now),
            state.Phase == BatchPhase.Running || state.HasCards ? MidRunOf(state, open,
                notBegun is { } rows ? StaleSteps.WithLoadsBehind(state, rows) : StaleSteps.KeptBack(state, now), now)
                : null);
    }

    /// <summary>
    /// Whether another cartridge was loaded into its slot while it was being moved out, and the start of its read was
    /// never reported. It is in no slot any more, and its alarm stands until it is read or discarded.
    /// </summary>
    private static bool IsOvertaken(BenchState state, Cartridge cartridge, Instant now) =>
        cartridge.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot at } mine
        && !Progress.IsBeingMoved(state, cartridge.Id, now)
        && state.Cartridges.Any(other => other.Id != cartridge.Id
            && other.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot its } later
            && its.Slot == at.Slot && later.LoadEnd.Latest >= mine.LoadEnd.Latest);

    /// <summary>
    /// A request as it is planned: not before everything it needs is ready, and after its lot's controls where it waits
    /// for them.
    /// </summary>
    private static Request AsPlanned(BenchState state, Cartridge cartridge, ImmutableArray<ReadinessItem> ready,
        Instant now)
    {
        var wanted = cartridge.Wanted.Request;
        return cartridge.Stage is CartridgeStage.Waiting
            ? LotGates.AsPlanned(state, cartridge, wanted with { Ready = Readiness.ReadyAt(ready, cartridge) }, ready,
                now)
            : wanted with { Ready = Instant.Min(wanted.Ready, now.Later(Bounds.PlannedWithin)) };
    }

    /// <summary>Leaves out what is not to be planned, and what comes after it.</summary>
    private static void LeaveOut(BenchState state, List<Cartridge> open, Dictionary<RequestId, Request> planned,
        ImmutableArray<ReadinessItem> ready, Instant now)
    {
        // A cartridge reported in a place that the bench does not have cannot be planned; its question asks where it
        // is.
        open.RemoveAll(cartridge => !IsSomewhere(state, cartridge.Phase) || IsOvertaken(state, cartridge, now));
        var left = open.Where(cartridge => cartridge.Stage is CartridgeStage.Waiting
            && (BenchResources.NotPlanned(state, cartridge, ready, now) is not null
                || PlanObstacles.IsTooFar(cartridge, now))).Select(cartridge => cartridge.Id)
            .ToHashSet();
        while (open.RemoveAll(cartridge => left.Contains(cartridge.Id)) > 0)
            left.UnionWith(open.Where(cartridge => cartridge.Stage is CartridgeStage.Waiting
                && planned[cartridge.Id].After.Any(left.Contains))
                .Select(cartridge => cartridge.Id));
    }

    private static bool IsSomewhere(BenchState state, CartridgePhase? phase) => phase?.FindPlace() switch
    {
        CartridgePlace.InSlot at => at.Slot.Value <= state.Setup.Slots,
        CartridgePlace.InReader inside => inside.Reader.Value <= state.Setup.Readers,
        _ => true,
    };

    /// <summary>The adopted plan as it stands, without what is no longer planned; null where there is none.</summary>
    public static Plan? RemainingPlan(BenchState state, BenchDay day)
    {
        if (state.Adopted?.AsItStands is not { } plan)
            return null;
        var planned = day.Requests.Select(request => request.Id).ToHashSet();
        bool IsPlanned(RequestId request) => planned.Contains(request);
        return plan with
        {
            Steps = state.NotKnown.IsEmpty
                && plan.Steps.All(step => step.Action.Subject is not { } subject || IsPlanned(subject))
                ? plan.Steps
                : WithoutIdleCards(day,
                    [.. plan.Steps.Where(step => step.Action.Subject is not { } subject || IsPlanned(subject))]),
            GuardUsed = [.. plan.GuardUsed.Where(IsPlanned)],
            Unplaced = [.. plan.Unplaced.Where(left => IsPlanned(left.Request))],
            Lost = [.. plan.Lost.Where(left => IsPlanned(left.Request))],
        };
    }

    /// <summary>Steps without the card changes that served only what is planned no more.</summary>
    private static List<PlannedStep> WithoutIdleCards(BenchDay day, List<PlannedStep> steps)
    {
        var lots = day.Requests.ToDictionary(request => request.Id, request => request.Lot);
        bool Serves(PlannedStep step, StepAction.CardChange change)
        {
            var next = steps.Where(later => later.Start >= step.End && later.Action.NeedsReader == change.Reader
                && later != step).MinBy(later => later.Start);
            return next?.Action.Subject is { } subject && lots[subject] == change.Lot;
        }

        return [.. steps.Where(step => step.Action is not StepAction.CardChange change || Serves(step, change))];
    }

    /// <summary>
    /// Whether the plan must discard a cartridge. Its discard is a step of hands, and its place stays taken until then;
    /// a cartridge in a reader is cleared instead, as any other.
    /// </summary>
    private static bool MustDiscard(BenchState state, Cartridge cartridge, Instant now) =>
        cartridge.Phase is CartridgePhase.Mixed or CartridgePhase.Reacting { Place: CartridgePlace.InSlot }
        && BenchResources.MustGo(state, cartridge, now) is not null;

    private static MidRun MidRunOf(BenchState state, List<Cartridge> open,
        ImmutableArray<RemainingStep> notBegun, Instant now) => new(
        now,
        [.. state.Checkpoint.Readers.Where(card => card.Card is not null)
            .Select(card => new CardInReader(card.Reader, card.Card!.Value))],
        [.. Begun(state, open, notBegun, now)],
        [.. open.Where(cartridge => cartridge.Phase is not null)
            .Select(cartridge =>
                new CartridgeInWork(cartridge.Id, cartridge.Phase!, MustDiscard(state, cartridge, now)))]);

    /// <summary>
    /// The steps in progress. A cartridge that is given up while other hands may still be loading or moving it is not
    /// discarded at the same time: their step counts. Those that are not known stand beside them.
    /// </summary>
    private static IEnumerable<StepInProgress> Begun(BenchState state, List<Cartridge> open,
        ImmutableArray<RemainingStep> notBegun, Instant now)
    {
        var begun = Progress.At(state, now)
            .Where(step => step.Action.Subject is not { } subject || open.Exists(cartridge => cartridge.Id == subject))
            .Where(step => !notBegun.Any(row => row.Step.Hands == step.Hands))
            .ToList();
        return begun.Where(step => step.Action is not StepAction.Discard
            || !begun.Exists(other => other.Action is not StepAction.Discard
                && other.Action.Subject == step.Action.Subject))
            .Concat(state.NotKnown.Where(step => open.Exists(cartridge => cartridge.Id == step.Action.Subject))
                .Select(step => new StepInProgress(step.Action, step.Hands, step.Begun, Unknown: true)));
    }
}
