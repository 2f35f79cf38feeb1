using Incubation.Model;
using Incubation.Planning;
using Incubation.Planning.Checking;

namespace Incubation.Cli;

/// <summary>Says in a few lines what a valid plan comes to.</summary>
internal static class Summary
{
    public static void Write(BenchDay day, Plan plan, TextWriter output)
    {
        var figures = PlanFigures.Of(day, plan);
        var planned = day.Requests.Count - plan.Unplaced.Count - plan.Lost.Count;
        output.WriteLine(Say.Text(Words.SummaryCounts, planned, day.Requests.Count, plan.Unplaced.Count,
            plan.Lost.Count, figures.CardChanges));
        output.WriteLine(Say.Text(Words.SummaryCost, plan.Cost, plan.Finish, day.Start + plan.Finish, plan.Late));
        output.WriteLine(Say.Text(plan.Proved ? Words.SummaryProved : Words.SummaryBound, plan.Bound));
        if (plan.GuardUsed.Count > 0)
            output.WriteLine(Say.Text(Words.SummaryGuardUsed, string.Join(", ", plan.GuardUsed)));
        foreach (var left in plan.Unplaced)
            output.WriteLine(Say.Text(Words.SummaryUnplaced, left.Request, LeftOutText.Of(left.Why)));
        foreach (var left in plan.Lost)
            output.WriteLine(Say.Text(Words.SummaryLost, left.Request, LeftOutText.Of(left.Why)));
    }

    /// <summary>The exit code of a valid plan.</summary>
    public static int CodeOf(Plan plan) => plan.Unplaced.Count + plan.Lost.Count > 0 ? ExitCode.LeftOut : ExitCode.Done;
}
