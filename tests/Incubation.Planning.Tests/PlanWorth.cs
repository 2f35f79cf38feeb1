using Incubation.Model;

namespace Incubation.Planning.Tests;

/// <summary>What a plan is worth, worked out from its lists and figures.</summary>
internal static class PlanWorth
{
    public static Worth Of(BenchDay day, Plan plan)
    {
        var tiny = new TinyDay(day);
        var lost = plan.Lost.Select(l => l.Request).ToHashSet();
        // One that is being discarded was given up before.
        var losses = tiny.Jobs.Where(j => lost.Contains(j.Request.Id) && !j.Discarded).Sum(j => j.LossKey);
        return new Worth(losses, GuardMs(tiny, plan), plan.Unplaced.Count, plan.Cost);
    }

    private static long GuardMs(TinyDay tiny, Plan plan)
    {
        var used = 0L;
        foreach (var id in plan.GuardUsed)
        {
            var job = tiny.Jobs.Single(j => j.Request.Id == id);
            var read = plan.Steps.Single(s => s.Action is StepAction.Read r && r.Request == id);
            used += tiny.Ms(read.Start)
                - (job.EndEarliest + TinyDay.Ms(job.Assay.Incubation) + TinyDay.Ms(job.Assay.ReadWindow) - tiny.Guard);
        }

        return used;
    }
}
