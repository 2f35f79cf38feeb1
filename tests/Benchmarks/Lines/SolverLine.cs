using NodaTime;

namespace Incubation.Benchmarks.Lines;

/// <summary>Our plan after a short time against the solver's after a long one.</summary>
internal static class SolverLine
{
    private const double Rounding = 1e-6;

    public static IEnumerable<Row> AfterFiftyMilliseconds(Measuring with) =>
        with.Of(Families.Dozens).Select(family => Compare(with, family, Duration.FromMilliseconds(50), 1.01, null));

    public static IEnumerable<Row> AfterOneSecond(Measuring with) =>
        with.Of([.. Families.Dozens, .. Families.TwoDozens])
            .Select(family => Compare(with, family, Duration.FromSeconds(1), 1.00, 1.02));

    private static Row Compare(Measuring with, Family family, Duration limit, double meanTarget, double? worstTarget)
    {
        var name = limit < Duration.FromSeconds(1)
            ? $"after {limit.TotalMilliseconds:0} ms" : $"after {limit.TotalSeconds:0} s";
        Measuring.Says($"{name}: {family.Name}");
        var ratios = new List<(ulong Seed, double Ratio)>();
        int without = 0, missing = 0, proved = 0;
        foreach (var (seed, day) in family.Days(with.Seeds))
        {
            if (with.Cache.Solver(day, with.Solver) is not { } solver)
                missing++;
            else if (solver.Cost is not { } theirs)
                without++;
            else
            {
                proved += solver.Proved ? 1 : 0;
                ratios.Add((seed, with.Runs.After(day, limit).Cost / theirs));
            }
        }
        var what = Figures.Text($"{name} ÷ solver after {with.Solver.TotalSeconds} s");
        var target = Figures.Text($"mean ≤ {meanTarget:0.00}")
            + (worstTarget is { } most ? Figures.Text($", worst ≤ {most:0.00}") : "");
        if (ratios.Count == 0)
            return new Row(what, family.What, missing > 0
                ? "no kept results of the solver" : "the solver finds no plan", target);
        var mean = Figures.GeometricMean([.. ratios.Select(ratio => ratio.Ratio)]);
        var worst = ratios.MaxBy(ratio => ratio.Ratio);
        var met = mean <= meanTarget + Rounding && !(worst.Ratio > worstTarget + Rounding);
        var measured =
            Figures.Text($"mean {mean:0.0000}, worst {worst.Ratio:0.0000} (seed {worst.Seed}); ")
                + Figures.Text($"the solver proved {proved} of {ratios.Count}")
            + (without > 0 ? $", had no plan for {without} more" : "")
            + (missing > 0 ? $", {missing} not yet solved" : "");
        return new Row(what, family.What, measured, target, met);
    }
}
