using Incubation.Model;
using Incubation.Planning.Checking;
using NodaTime;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>
/// Textbook scheduling problems that are bench days: seconds for the book's units, everything not named of no length,
/// windows wide. Beside each published optimum stands an enumeration of the textbook problem itself.
/// </summary>
public class PlannerPublishedTest
{
    private const int Wide = 100_000;

    private static Assay Job(int number, int mix = 0, int incubation = 0, int read = 0) => new(
        new AssayCode($"J{number}"), $"job {number}", IncubationPlace.Incubator, Duration.FromSeconds(mix),
            Duration.FromSeconds(Wide), Duration.Zero,
        Duration.FromSeconds(incubation), Duration.FromSeconds(Wide), Duration.Zero, Duration.FromSeconds(read),
            Duration.Zero,
        Duration.FromSeconds(mix), Duration.Zero);

    private static Request Wanted(int number, int ready = 0, int? due = null, params int[] after) => new(
        new RequestId($"R{number}"), new SpecimenId($"S{number}"), new AssayCode($"J{number}"), new LotCode("L1"),
            Days.At(ready),
        RequestKind.Patient, true, Priority.Routine, due is { } d
            ? Days.At(d) : null, null, [.. after.Select(a => new RequestId($"R{a}"))]);

    private static Plan Solve(BenchSetup bench, IReadOnlyList<Assay> assays, IReadOnlyList<Request> requests)
    {
        var day = Days.Day(bench, assays, requests);
        var plan = Planner.Plan(day, 1, new IterationBudget(60_000)).Plan;
        Assert.Empty(PlanChecker.Check(day, plan));
        return plan;
    }

    private static IEnumerable<int[]> Orders(int count)
    {
        if (count == 0)
            return [[]];
        return Orders(count - 1)
            .SelectMany(order => Enumerable.Range(0, count)
                .Select(at => order[..at].Append(count - 1).Concat(order[at..]).ToArray()));
    }

    /// <summary>
    /// J. Carlier, "The one-machine sequencing problem", EJOR 11 (1982) 42–47, 7-job example: optimum 50.
    /// </summary>
    [Fact]
    public void Plan_CarlierHeadsAndTails_Reaches50()
    {
        int[] r = [10, 13, 11, 20, 30, 0, 30], p = [5, 6, 7, 4, 3, 6, 2], q = [7, 26, 24, 21, 8, 17, 0];
        var enumerated = Orders(7).Min(order =>
        {
            var (time, finish) = (0, 0);
            foreach (var j in order)
            {
                time = Math.Max(time, r[j]) + p[j];
                finish = Math.Max(finish, time + q[j]);
            }

            return finish;
        });
        Assert.Equal(50, enumerated);

        var plan = Solve(
            Days.Bench(slots: 7, readers: 7),
            [.. Enumerable.Range(0, 7).Select(j => Job(j, mix: p[j], incubation: q[j]))],
            [.. Enumerable.Range(0, 7).Select(j => Wanted(j, ready: r[j]))]);
        Assert.Equal(50, plan.Finish.TotalSeconds);
    }

    /// <summary>
    /// M. Pinedo, Scheduling, example 3.2.5, one machine, release times, greatest lateness: 5, so finish 17 with tails
    /// of 12 less the due time.
    /// </summary>
    [Fact]
    public void Plan_PinedoReleasesAndLateness_Reaches17()
    {
        int[] p = [4, 2, 6, 5], r = [0, 1, 3, 5], d = [8, 12, 11, 10];
        var enumerated = Orders(4).Min(order =>
        {
            var (time, finish) = (0, 0);
            foreach (var j in order)
            {
                time = Math.Max(time, r[j]) + p[j];
                finish = Math.Max(finish, time + 12 - d[j]);
            }

            return finish;
        });
        Assert.Equal(17, enumerated);

        var plan = Solve(
            Days.Bench(slots: 4, readers: 4),
            [.. Enumerable.Range(0, 4).Select(j => Job(j, mix: p[j], incubation: 12 - d[j]))],
            [.. Enumerable.Range(0, 4).Select(j => Wanted(j, ready: r[j]))]);
        Assert.Equal(17, plan.Finish.TotalSeconds);
    }

    /// <summary>M. Pinedo, Scheduling, example 3.4.5, total tardiness: 370, after 560 of work.</summary>
    [Fact]
    public void Plan_PinedoTotalTardiness_Reaches930()
    {
        int[] p = [121, 79, 147, 83, 130], d = [260, 266, 266, 336, 337];
        var enumerated = Orders(5).Min(order =>
        {
            var (time, late) = (0, 0);
            foreach (var j in order)
            {
                time += p[j];
                late += Math.Max(0, time - d[j]);
            }

            return time + late;
        });
        Assert.Equal(930, enumerated);

        var plan = Solve(
            Days.Bench(slots: 5, readers: 5),
            [.. Enumerable.Range(0, 5).Select(j => Job(j, mix: p[j]))],
            [.. Enumerable.Range(0, 5).Select(j => Wanted(j, due: d[j]))]);
        Assert.Equal(560, plan.Finish.TotalSeconds);
        Assert.Equal(370, plan.Late.TotalSeconds);
        Assert.Equal(930, plan.Cost);
    }

    /// <summary>
    /// Two-machine flow shops. The first: S. M. Johnson, "Optimal two- and three-stage production schedules", NRLQ 1
    /// (1954)
    /// 61–68 (data from memory), optimum 47; the others are class examples recomputed by enumeration, 28 and 34.
    /// </summary>
    [Theory]
    [InlineData(47, new[] { 4, 4, 30, 6, 2 }, new[] { 5, 1, 4, 30, 3 })]
    [InlineData(28, new[] { 10, 5, 7, 3, 1 }, new[] { 2, 4, 5, 6, 7 })]
    [InlineData(34, new[] { 8, 6, 2, 5, 7 }, new[] { 8, 7, 7, 6, 4 })]
    public void Plan_TwoMachineFlowShop_ReachesTheOptimum(int optimum, int[] first, int[] second)
    {
        var enumerated = Orders(5).Min(order =>
        {
            var (one, two) = (0, 0);
            foreach (var j in order)
            {
                one += first[j];
                two = Math.Max(one, two) + second[j];
            }

            return two;
        });
        Assert.Equal(optimum, enumerated);

        var plan = Solve(
            Days.Bench(slots: 5),
            [.. Enumerable.Range(0, 5).Select(j => Job(j, mix: first[j], read: second[j]))],
            [.. Enumerable.Range(0, 5).Select(j => Wanted(j))]);
        Assert.Equal(optimum, plan.Finish.TotalSeconds);
    }

    /// <summary>
    /// R. L. Graham, "Bounds on multiprocessing timing anomalies", SIAM J. Appl. Math. 17 (1969) 416–429 (data from
    /// memory): three machines, nine jobs with precedence, optimum 12; and longest-first's worst case, optimum 9
    /// (longest-first gives 11).
    /// </summary>
    [Theory]
    [InlineData(12, new[] { 3, 2, 2, 2, 4, 4, 4, 4, 9 }, true)]
    [InlineData(9, new[] { 5, 5, 4, 4, 3, 3, 3 }, false)]
    public void Plan_GrahamThreeMachines_ReachesTheOptimum(int optimum, int[] lengths, bool ordered)
    {
        var after = Enumerable.Range(0, lengths.Length)
            .Select(j => !ordered ? [] : j == 8 ? new[] { 0 } : j is >= 4 and <= 7 ? [3] : []).ToArray();
        Assert.Equal(optimum, ListSchedules(lengths, after, new int[3], new int[lengths.Length], 0));

        var plan = Solve(
            Days.Bench(hands: 3, slots: lengths.Length, readers: lengths.Length),
            [.. lengths.Select((length, j) => Job(j, mix: length))],
            [.. lengths.Select((_, j) => Wanted(j, 0, null, after[j]))]);
        Assert.Equal(optimum, plan.Finish.TotalSeconds);
    }

    /// <summary>
    /// The best finish over all orders, each job on the machine that is free first; some order gives the optimum.
    /// </summary>
    private static int ListSchedules(int[] lengths, int[][] after, int[] free, int[] ends, int done)
    {
        if (done == (1 << lengths.Length) - 1)
            return free.Max();
        var best = int.MaxValue;
        for (var j = 0; j < lengths.Length; j++)
        {
            if ((done >> j & 1) == 1 || after[j].Any(b => (done >> b & 1) == 0))
                continue;
            var machine = Array.IndexOf(free, free.Min());
            var was = free[machine];
            ends[j] = Math.Max(was, after[j].Select(b => ends[b]).DefaultIfEmpty(0).Max()) + lengths[j];
            free[machine] = ends[j];
            best = Math.Min(best, ListSchedules(lengths, after, free, ends, done | (1 << j)));
            free[machine] = was;
        }

        return best;
    }

    /// <summary>
    /// k cartridges whose windows, each w long, open at one instant; one pair of hands, enough readers, each move at
    /// most u: every read can be kept exactly when (k − 1)·u ≤ w, in the spirit of results on simple temporal networks
    /// with uncertainty.
    /// </summary>
    [Theory]
    [InlineData(4, 30, 90)]
    [InlineData(4, 30, 89)]
    [InlineData(5, 20, 80)]
    [InlineData(5, 20, 79)]
    public void Plan_WindowsOpenTogether_AllAreKeptExactlyWhenTheyFit(int k, int u, int w)
    {
        var assay = Days.Assay(incubation: 400, window: w, move: u);
        var run = Days.Run(200, Enumerable.Range(1, k).Select(i => Days.Reacting($"R{i}", 100, i)), null,
            [.. Enumerable.Range(1, k).Select(i => (i, "A1-L1"))]);
        var plan = Days.PlanOf(Days.Day(
            Days.Bench(slots: k, readers: k), [assay], [.. Enumerable.Range(1, k).Select(i => Days.Request($"R{i}"))],
                run));
        Assert.Equal((k - 1) * u <= w, plan.Lost.Count == 0);
    }
}
