using NodaTime;

namespace Incubation.Benchmarks.Lines;

/// <summary>
/// Large days: after one second against the best that anyone finds in a long time, and the gap to the best bound.
/// </summary>
internal static class LargeLine
{
    private static readonly Duration Second = Duration.FromSeconds(1);

    public static IEnumerable<Row> Measure(Measuring with) => with.Of(Families.Large)
        .SelectMany(family => MeasureFamily(with, family));

    private static IEnumerable<Row> MeasureFamily(Measuring with, Family family)
    {
        Measuring.Says($"large: {family.Name}, two searches of {with.Long.TotalSeconds} s a day where none is kept");
        var ratios = new List<(ulong Seed, double Ratio)>();
        var gaps = new List<double>();
        int solverBetter = 0, missing = 0, alone = 0;
        foreach (var (seed, day) in family.Days(with.Seeds))
        {
            var ours = with.Runs.After(day, Second);
            var patient = with.Cache.Planner(day, with.Long);
            var solver = with.Cache.SolverFrom(day, with.Long, () => with.Runs.After(day, Second));
            alone += with.Cache.Solver(day, with.Solver) is { Cost: not null } ? 1 : 0;
            if (patient is null || solver is null)
            {
                missing++;
                continue;
            }
            var best = new[] { ours.Cost, patient.Cost ?? double.MaxValue, solver.Cost ?? double.MaxValue }.Min();
            solverBetter += solver.Cost < patient.Cost ? 1 : 0;
            ratios.Add((seed, ours.Cost / best));
            gaps.Add((ours.Cost - new[] { ours.Bound, patient.Bound, solver.Bound }.Max()) / ours.Cost);
        }
        var target = family.Shape.Requests <= 48 ? 1.03 : 1.06;
        var what = Figures.Text($"after 1 s ÷ best of anyone in {with.Long.TotalSeconds} s");
        if (ratios.Count == 0)
        {
            yield return new Row(what, family.What, "no kept results of long searches",
                Figures.Text($"≤ {target:0.00}"));
            yield break;
        }
        var worst = ratios.MaxBy(ratio => ratio.Ratio);
        yield return new Row(what, family.What,
            Figures.Text($"mean {Figures.GeometricMean([.. ratios.Select(ratio => ratio.Ratio)]):0.0000}, worst ")
                + Figures.Text($"{worst.Ratio:0.0000} (seed {worst.Seed}); ")
                + Figures.Text($"the solver found the better plan on {solverBetter} of {ratios.Count} days")
                + (missing > 0 ? $", {missing} not yet solved" : ""),
            Figures.Text($"≤ {target:0.00}"), worst.Ratio <= target);
        yield return new Row("after 1 s, gap to the best bound", family.What,
            Figures.Text($"median {Figures.Median(gaps):P1}, worst {gaps.Max():P1}"));
        yield return new Row(Figures.Text($"the solver alone, {with.Solver.TotalSeconds} s"), family.What,
            Figures.Text($"has a plan on {alone} of {with.Seeds} days"));
    }
}
