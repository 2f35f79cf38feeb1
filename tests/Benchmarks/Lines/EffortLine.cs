using System.Diagnostics;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Benchmarks.Lines;

/// <summary>What the engine's inner loop does in a second and allocates, and how a first plan's effort grows.</summary>
internal static class EffortLine
{
    private const int Days = 3;
    private const long Iterations = 20_000;

    public static IEnumerable<Row> Loop(Measuring with)
    {
        foreach (var family in with.Of([Families.Dozens[0], Families.Large[0]]))
        {
            Measuring.Says($"loop: {family.Name}");
            var days = family.Days(Days).Select(of => of.Day).ToList();
            with.Runs.Warm(days[0]);
            var rates = days.Select(IterationsASecond).ToList();
            var bytes = days.Max(BytesAnIteration);
            yield return new Row("iterations of the search a second", family.What,
                Figures.Text($"{Figures.Median(rates):N0}"));
            yield return new Row("bytes allocated an iteration", family.What, Figures.Text($"{bytes:0.0}"), "0",
                bytes < 1);
        }
    }

    /// <summary>Doubling the day must not take or allocate more than four times as much.</summary>
    public static IEnumerable<Row> Growth(Measuring with)
    {
        if (!with.Wants("growing"))
            yield break;
        Measuring.Says("growth: growing");
        var efforts = Families.Growing(Days).Select(of =>
        {
            var time = Figures.Median([.. of.Days.Select(day => with.Runs.FirstPlanMilliseconds(day, times: 3))]);
            return (of.Size, Time: time, Bytes: Figures.Median([.. of.Days.Select(day => (double)Allocated(day, 0))]));
        }).ToList();
        var steps = efforts.Zip(efforts.Skip(1)).Select(pair =>
        {
            var doublings = Math.Log2((double)pair.Second.Size / pair.First.Size);
            return (Time: Math.Log2(pair.Second.Time / pair.First.Time) / doublings,
                Bytes: Math.Log2(pair.Second.Bytes / pair.First.Bytes) / doublings);
        }).ToList();
        var all = string.Join(" → ",
            efforts.Select(effort => Figures.Text($"{effort.Size}: {effort.Time:0} ms, {effort.Bytes / 1e6:0.0} MB")));
        yield return new Row("first plan, growth", "62 to 500 on 24, two hands, two readers",
            Figures.Text($"{all}; worst exponent of time {steps.Max(step => step.Time):0.00}, of memory ")
                + Figures.Text($"{steps.Max(step => step.Bytes):0.00}"),
            "exponents ≤ 2", steps.All(step => step.Time <= 2 && step.Bytes <= 2));
    }

    private static double IterationsASecond(BenchDay day)
    {
        var start = Stopwatch.GetTimestamp();
        var result = Planner.Plan(day, 1, new TimedBudget(Duration.FromSeconds(1)));
        return result.Iterations / Stopwatch.GetElapsedTime(start).TotalSeconds;
    }

    /// <summary>What twice as many iterations allocate more: the start and the writing of the plan fall out.</summary>
    private static double BytesAnIteration(BenchDay day)
    {
        Allocated(day, Iterations);
        return (Allocated(day, 2 * Iterations) - Allocated(day, Iterations)) / (double)Iterations;
    }

    private static long Allocated(BenchDay day, long iterations)
    {
        var before = GC.GetAllocatedBytesForCurrentThread();
        Planner.Plan(day, 1, new IterationBudget(iterations));
        return GC.GetAllocatedBytesForCurrentThread() - before;
    }
}
