using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Discards of cartridges that a plan gives up by allowed lengths, and that quicker hands may still save: they wait
/// until the cartridge is past saving, where nothing in the plan needs its place or its end before.
/// </summary>
internal static class WaitingDiscards
{
    /// <summary>The plan with these discards as late as that.</summary>
    /// <param name="state">The bench.</param>
    /// <param name="day">The day for which the plan was made.</param>
    /// <param name="plan">The plan.</param>
    public static Plan In(BenchState state, BenchDay day, Plan plan)
    {
        foreach (var step in plan.Steps.Where(step => step.Action is StepAction.Discard).ToList())
        {
            if (!(PastSaving(state, step) is { } until && until > step.Start) || IsAwaited(day, step))
                continue;
            var place = day.MidRun!.Cartridges.FirstOrDefault(one => one.Request == step.Action.Subject)?.Phase
                .FindPlace();
            var loads = place is null ? []
                : plan.Steps.Where(other => other.Action is StepAction.Load load && load.Place == place).ToList();
            if (loads.Count == 0)
                plan = Later(day, plan, step, until);
            else if (loads.Count == 1 && OtherSlot(state, day, plan, loads[0]) is { } free)
                plan = Later(day, plan with
                {
                    Steps = [.. plan.Steps.Select(other => other == loads[0]
                        ? other with { Action = ((StepAction.Load)other.Action) with { Place = free } } : other)],
                }, step, until);
        }

        return plan;
    }

    /// <summary>A slot that is empty and that nothing else is planned for; null where there is none.</summary>
    private static CartridgePlace? OtherSlot(BenchState state, BenchDay day, Plan plan, PlannedStep load) =>
        Enumerable.Range(1, day.Bench.Slots).Select(number => new SlotNumber(number))
            .Where(slot => !day.Calendar.Any(entry => entry.Resource == new BenchResource.Slot(slot)
                    && entry.To > load.Start))
            .Select(slot => new CartridgePlace.InSlot(slot))
            .FirstOrDefault(slot => UnknownSteps.At(state, slot) is null && state.InSlot(slot.Slot) is null
                && !plan.Steps.Any(step => step.Action is StepAction.Load other && other.Place == slot)
                && !day.MidRun!.Steps.Any(step => step.Action is StepAction.Load other && other.Place == slot));

    /// <summary>From when the cartridge of a discard cannot be saved any more; null where it must go.</summary>
    private static Instant? PastSaving(BenchState state, PlannedStep discard) =>
        state.Find(discard.Action.Subject!.Value) is { MustGo: null } cartridge
            ? Progress.PastSaving(state, cartridge) : null;

    /// <summary>Whether somebody is at it, or something is mixed only after it.</summary>
    private static bool IsAwaited(BenchDay day, PlannedStep discard) =>
        day.MidRun!.Steps.Any(step => step.Action == discard.Action)
            || day.Requests.Any(other => other.After.Contains(discard.Action.Subject!.Value));

    private static Plan Later(BenchDay day, Plan plan, PlannedStep discard, Instant from)
    {
        var others = plan.Steps.Where(step => step != discard).ToList();
        var length = discard.End - discard.Start;
        var (hands, start) = Enumerable.Range(1, day.Bench.Hands).Select(number => new HandsNumber(number))
            .Select(one => (Hands: one, Start: FirstGap(day, others, one, from, length)))
            .OrderBy(one => one.Start).ThenBy(one => one.Hands != discard.Hands).First();
        var later = discard with { Hands = hands, Start = start, End = start + length };
        return plan with { Steps = [.. others.Append(later).OrderBy(step => step.Start).ThenBy(step => step.End)] };
    }

    private static Instant FirstGap(BenchDay day, List<PlannedStep> steps, HandsNumber hands, Instant from,
        Duration length)
    {
        var taken = steps.Where(step => step.Hands == hands).Select(step => (step.Start, step.End))
            .Concat(day.Calendar.Where(entry => entry.Resource == new BenchResource.Hands(hands))
                .Select(entry => (Start: entry.From, End: entry.To)))
            .Where(one => one.End > from).OrderBy(one => one.Start);
        foreach (var (start, end) in taken)
            if (start < from + length)
                from = Instant.Max(from, end);
        return from;
    }
}
