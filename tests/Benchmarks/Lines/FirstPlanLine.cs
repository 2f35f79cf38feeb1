namespace Incubation.Benchmarks.Lines;

/// <summary>How long the first valid plan takes.</summary>
internal static class FirstPlanLine
{
    public static IEnumerable<Row> Measure(Measuring with)
    {
        foreach (var family in with.Of(Families.All))
        {
            Measuring.Says($"first plan: {family.Name}");
            var times = family.Days(with.Seeds).Select(of => (of.Seed, Time: with.Runs.FirstPlanMilliseconds(of.Day)))
                .ToList();
            var worst = times.MaxBy(time => time.Time);
            double? target = family.Shape.Requests switch { 12 => 2, 96 => 30, _ => null };
            yield return new Row("first valid plan", family.What,
                Figures.Text($"median {Figures.Median(times.Select(time => time.Time)):0.00} ms, ")
                    + Figures.Text($"worst {worst.Time:0.00} ms (seed {worst.Seed})"),
                target is { } most ? Figures.Text($"{most} ms") : "", target is { } limit ? worst.Time <= limit : null);
        }
    }
}
