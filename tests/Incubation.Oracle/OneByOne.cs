using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Oracle;

/// <summary>
/// The plan of the plainest habit: one cartridge at a time, from its mix to its clear. It is what the solver starts
/// from where it is given nothing better, for by itself it often finds no plan of a large day at all.
/// </summary>
internal static class OneByOne
{
    /// <summary>The plan; null for a day in mid-run or with a calendar, where that habit has no plain answer.</summary>
    public static Plan? Of(Problem problem)
    {
        if (problem.Day.MidRun is not null || problem.Calendar.Count > 0)
            return null;
        var steps = new List<PlannedStep>();
        var unplaced = new List<LeftOut>();
        var (free, card) = (problem.Now, (LotCode?)null);
        foreach (var its in InOrder(problem))
        {
            var mix = Math.Max(free, its.Earliest);
            var changes = card != its.Request.Lot;
            mix += changes ? problem.CardChange : 0;
            if (!(its.MaySlot || its.MayReader) || mix + its.Mix + its.Load > its.LoadBy)
            {
                unplaced.Add(new LeftOut(its.Request.Id, new LeftOutReason.InWords("not one by one")));
                continue;
            }
            if (changes)
                steps.Add(Step(problem, new StepAction.CardChange(new(1), its.Request.Lot), mix - problem.CardChange,
                    problem.CardChange));
            card = its.Request.Lot;
            free = Add(problem, steps, its, mix);
        }
        return new Plan(steps, 0, Duration.Zero, Duration.Zero, 0, false, [], unplaced, []);
    }

    private static long Add(Problem problem, List<PlannedStep> steps, Case its, long mix)
    {
        var id = its.Request.Id;
        var load = mix + its.Mix;
        var read = load + its.Load + (its.MaySlot ? Math.Max(its.Incubation, its.Move) : its.Incubation);
        CartridgePlace place = its.MaySlot ? new CartridgePlace.InSlot(new(1)) : new CartridgePlace.InReader(new(1));
        steps.Add(Step(problem, new StepAction.Mix(id), mix, its.Mix));
        steps.Add(Step(problem, new StepAction.Load(id, place), load, its.Load));
        if (its.MaySlot)
            steps.Add(Step(problem, new StepAction.Move(id, new(1)), read - its.Move, its.Move));
        steps.Add(Step(problem, new StepAction.Read(id, new(1)), read, its.Read) with { Hands = null });
        steps.Add(Step(problem, new StepAction.Clear(id, new(1)), read + its.Read, its.Clear));
        return read + its.Read + its.Clear;
    }

    /// <summary>What others wait for first, then urgent ones, then by ready time and lot.</summary>
    private static IEnumerable<Case> InOrder(Problem problem)
    {
        var left = problem.Cases.OrderByDescending(its => its.IsUrgent).ThenBy(its => its.Earliest)
            .ThenBy(its => its.Request.Lot.Value, StringComparer.Ordinal).ToList();
        var done = new HashSet<int>();
        while (left.FirstOrDefault(its => its.After.All(done.Contains)) is { } next)
        {
            left.Remove(next);
            done.Add(next.Index);
            yield return next;
        }
    }

    private static PlannedStep Step(Problem problem, StepAction action, long start, long length) =>
        new(action, new HandsNumber(1), problem.Grid.Instant(start), problem.Grid.Instant(start + length));
}
