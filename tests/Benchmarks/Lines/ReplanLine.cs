using Incubation.Model;
using Incubation.Oracle;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Benchmarks.Lines;

/// <summary>Planning anew in mid-run: at once, well, and without changing its mind for nothing.</summary>
internal static class ReplanLine
{
    private const string Of = "24, 6 reacting";
    private const double WorthIt = 5; // seconds
    private const int PlannerSeeds = 5;
    private static readonly Duration Blink = Duration.FromMilliseconds(50);
    private static readonly Duration Second = Duration.FromSeconds(1);

    public static IEnumerable<Row> Measure(Measuring with)
    {
        if (!with.Wants("replan-24"))
            yield break;
        Measuring.Says("planning anew: replan-24");
        var days = Families.Interrupted(with.Seeds).ToList();
        yield return First(with, days);
        yield return Good(days);
        yield return Steady(days);
    }

    private static Row First(Measuring with, IReadOnlyList<(ulong Seed, Interrupted Day)> days)
    {
        var times = days.Select(of => (of.Seed, Time: with.Runs.FirstPlanMilliseconds(of.Day.Delayed, of.Day.Followed)))
            .ToList();
        var worst = times.MaxBy(time => time.Time);
        return new Row("planned anew: first valid plan", Of,
            Figures.Text($"median {Figures.Median(times.Select(time => time.Time)):0.00} ms, ")
                + Figures.Text($"worst {worst.Time:0.00} ms (seed {worst.Seed})"),
            "5 ms", worst.Time <= 5);
    }

    private static Row Good(IReadOnlyList<(ulong Seed, Interrupted Day)> days)
    {
        var ratios = new List<(ulong Seed, double Ratio)>();
        var failing = new List<ulong>();
        foreach (var (seed, (followed, _, day)) in days)
        {
            var soon = Runs.Checked(day, Planner.Plan(day, 1, new TimedBudget(Blink), followed).Plan);
            var later = Runs.Checked(day, Planner.Plan(day, 1, new TimedBudget(Second), followed).Plan);
            if (PlanStatus.Of(day, soon).FailsLike(PlanStatus.Of(day, later)))
                ratios.Add((seed, soon.Cost / later.Cost));
            else
                failing.Add(seed);
        }
        var worst = ratios.Count == 0 ? (Seed: 0UL, Ratio: double.NaN) : ratios.MaxBy(ratio => ratio.Ratio);
        return new Row("planned anew: after 50 ms ÷ after 1 s", Of,
            Figures.Text($"mean {Figures.GeometricMean([.. ratios.Select(ratio => ratio.Ratio)]):0.0000}, worst ")
                + Figures.Text($"{worst.Ratio:0.0000} (seed {worst.Seed})")
                + (failing.Count > 0 ? $"; more losses or guard use after 50 ms: seeds {string.Join(", ", failing)}"
                    : ""),
            "≤ 1.01", failing.Count == 0 && worst.Ratio <= 1.01);
    }

    /// <summary>
    /// A step has ended as planned and nothing else has changed: the next thing to do is another only where that gains
    /// something.
    /// </summary>
    private static Row Steady(IReadOnlyList<(ulong Seed, Interrupted Day)> days)
    {
        var changed = new List<string>();
        int better = 0, all = 0;
        foreach (var (seed, (followed, day, _)) in days)
        {
            var kept = PlanTiming.Retime(day, followed)
                ?? throw new InvalidOperationException(
                    $"The plan that was followed to the letter cannot be kept (seed {seed}).");
            var before = PlanStatus.Of(day, kept);
            for (var plannerSeed = 1UL; plannerSeed <= PlannerSeeds; plannerSeed++, all++)
            {
                var plan = Runs.Checked(day, Planner.Plan(day, plannerSeed, new TimedBudget(Blink), followed).Plan);
                var after = PlanStatus.Of(day, plan);
                if (Next(plan, day.Now) == Next(kept, day.Now))
                    continue;
                if (after.FailsLike(before) && after.Cost > before.Cost - WorthIt)
                    changed.Add($"{seed}/{plannerSeed}");
                else
                    better++;
            }
        }
        return new Row("planned anew, nothing changed: another next step", Of,
            $"{changed.Count} of {all} without a gain of 5 s" + (changed.Count > 0
                ? $" (day/planner seeds {string.Join(", ", changed.Take(5))})" : "") + $", {better} with",
            "0 without", changed.Count == 0);
    }

    private static StepAction? Next(Plan plan, Instant now) =>
        plan.Steps.Where(step => step.Hands is not null && step.Start >= now).MinBy(step => step.Start)?.Action;
}
