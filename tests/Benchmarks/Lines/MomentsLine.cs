using Incubation.Model;
using Incubation.Planning;
using Incubation.TestKit;

namespace Incubation.Benchmarks.Lines;

/// <summary>The last useful moments of benches with many cartridges in work, as a share of a first plan.</summary>
internal static class MomentsLine
{
    private const int Times = 15;

    public static IEnumerable<Row> Measure(Measuring with)
    {
        (string, int, int, int)[] sizes = [("16 on 12 slots", 16, 12, 12), ("32 on 24 slots", 32, 24, 24)];
        foreach (var (name, requests, slots, reacting) in sizes)
        {
            Measuring.Says($"last moments: {name}");
            var days = Enumerable.Range(0, with.Seeds).Select(index =>
            {
                var seed = 1500 + (ulong)index;
                return Interruption.Of(MorningDay.Make(seed, new(requests, slots)), reacting, new SeededRandom(seed))
                    .Delayed;
            }).ToList();
            yield return RowOf(with, name, days);
        }
    }

    private static Row RowOf(Measuring with, string name, IReadOnlyList<BenchDay> days)
    {
        var times = days.Select(day => (First: with.Runs.FirstPlanMilliseconds(day), Moments: MedianOf(day),
            LastMoments.Of(day).IsExact, InWork: day.MidRun!.Cartridges.Count)).ToList();
        var inexact = times.Count(time => !time.IsExact);
        return new Row("last useful moments", name,
            Figures.Text($"median {Figures.Median(times.Select(time => time.Moments)):0.00} ms, ")
                + Figures.Text($"worst {times.Max(time => time.Moments):0.00} ms; ÷ first plan median ")
                + Figures.Text($"{Figures.Median(times.Select(time => time.Moments / time.First)):0.00}; ")
                + Figures.Text($"{times.Min(time => time.InWork)} to {times.Max(time => time.InWork)} in work; ")
                + Figures.Text($"not exact {inexact} of {times.Count}"),
            "5 ms, all exact", times.Max(time => time.Moments) <= 5 && inexact == 0);
    }

    private static double MedianOf(BenchDay day)
    {
        for (var n = 0; n < Times; n++)
            LastMoments.Of(day);
        return Figures.Median(Enumerable.Range(0, Times).Select(_ =>
        {
            var start = System.Diagnostics.Stopwatch.GetTimestamp();
            LastMoments.Of(day);
            return System.Diagnostics.Stopwatch.GetElapsedTime(start).TotalMilliseconds;
        }).ToList());
    }
}
