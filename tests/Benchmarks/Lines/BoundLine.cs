using NodaTime;

namespace Incubation.Benchmarks.Lines;

/// <summary>
/// The planner's own bound: never above what anyone found, close to the cost, and proofs on small days.
/// </summary>
internal static class BoundLine
{
    private static readonly Duration Second = Duration.FromSeconds(1);

    public static IEnumerable<Row> Gaps(Measuring with)
    {
        foreach (var family in with.Of(Families.All))
        {
            Measuring.Says($"bound: {family.Name}");
            var plans = family.Days(with.Seeds).Select(of => (of.Seed, of.Day, Plan: with.Runs.After(of.Day, Second)))
                .ToList();
            var gaps = plans.Select(of => (of.Plan.Cost - of.Plan.Bound) / of.Plan.Cost).ToList();
            var wrong = plans.Where(of => with.Cache.Solver(of.Day, with.Solver)?.Cost < of.Plan.Bound - 0.001)
                .Select(of => of.Seed).ToList();
            var isDozen = family.Shape.Requests == 12;
            yield return new Row("gap of cost and bound after 1 s", family.What,
                Figures.Text($"median {Figures.Median(gaps):P1}, worst {gaps.Max():P1}, proved ")
                    + Figures.Text($"{plans.Count(of => of.Plan.Proved)} of {plans.Count}")
                    + (wrong.Count > 0 ? $"; BOUND ABOVE THE SOLVER'S PLAN, seeds {string.Join(", ", wrong)}" : ""),
                isDozen ? "median ≤ 5 %, never wrong" : "never wrong", wrong.Count == 0
                    && (!isDozen || Figures.Median(gaps) <= 0.05));
        }
    }

    public static IEnumerable<Row> Proofs(Measuring with)
    {
        if (!with.Wants("small"))
            yield break;
        Measuring.Says("proofs: small");
        var plans = Families.Small(Math.Max(10, 2 * with.Seeds))
            .Select(of => (of.Seed, Plan: with.Runs.After(of.Day, Second))).ToList();
        var open = plans.Where(of => !of.Plan.Proved).Select(of => of.Seed).ToList();
        yield return new Row("proved after 1 s", "2 to 6 on 8 slots",
            $"{plans.Count - open.Count} of {plans.Count}"
                + (open.Count > 0 ? $" (not: seeds {string.Join(", ", open)})" : ""),
            "9 of 10", open.Count * 10 <= plans.Count);
    }
}
