using Incubation.Exchange.Json;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Exchange;

/// <summary>Reads the members of a plan file.</summary>
internal static class PlanReader
{
    private const double LargestCost = 1e12;

    public static Plan? Read(JsonItem item, FaultList faults)
    {
        if (Members.Of(item, faults)?.Only("steps", "cost", "finish", "late", "bound", "proved", "guardUsed",
            "unplaced", "lost") is not { } root)
            return null;
        var steps = root.RequiredItems("steps", BenchLimits.PlanSteps).Select(row => Step(row, faults)).ToList();
        var cost = root.Required("cost", Values.Real(0, LargestCost));
        var finish = root.Required<Duration>("finish", Values.Sum);
        var late = root.Required<Duration>("late", Values.Sum);
        var bound = root.Required("bound", Values.Real(-LargestCost, LargestCost));
        var proved = root.Required<bool>("proved", Values.Truth);
        var guardUsed = root.RequiredItems("guardUsed", BenchDay.MaximumRequests)
            .Select(id => Values.Id<RequestId>(id, faults)).ToList();
        var unplaced = LeftOut(root, "unplaced", faults);
        var lost = LeftOut(root, "lost", faults);
        if (!faults.IsEmpty)
            return null;
        return new Plan(
            [.. steps.Select(step => step!)], cost!.Value, finish!.Value, late!.Value, bound!.Value, proved!.Value,
            [.. guardUsed.Select(id => id!.Value)], unplaced, lost);
    }

    private static PlannedStep? Step(JsonItem item, FaultList faults)
    {
        if (Members.Of(item, faults) is not { } row)
            return null;
        var done = StepReader.Read(row, Wordlists.Steps, StepRanges.Widest, faults, "start", "end");
        var start = row.Required<Instant>("start", Values.Instant);
        var end = row.Required<Instant>("end", Values.Instant);
        if (end < start)
            faults.Add(row.At("end"), Words.EndBeforeStart, Words.AllowedEndAfterStart);
        return done is { } step && start is { } from && end is { } to
            ? new PlannedStep(step.Action, step.Hands, from, to) : null;
    }

    private static List<LeftOut> LeftOut(Members root, string name, FaultList faults)
    {
        var list = new List<LeftOut>();
        foreach (var item in root.RequiredItems(name, BenchDay.MaximumRequests))
        {
            if (Members.Of(item, faults)?.Only("request", "why") is not { } row)
                continue;
            var request = row.Required<RequestId>("request", Values.Id<RequestId>);
            var why = row.RequiredText("why", maximumLength: 1000);
            if (request is { } id && why is not null)
                list.Add(new LeftOut(id, new LeftOutReason.InWords(why)));
        }
        return list;
    }
}
