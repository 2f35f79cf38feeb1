using Incubation.Model;
using Incubation.Planning.Checking;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Oracle.Tests;

/// <summary>The oracle's plans are held against the independent checker, which shares no code with it.</summary>
public sealed class OraclePlansTest
{
    private static readonly OracleOptions Briefly = new(Duration.FromSeconds(10));

    public static TheoryData<ulong> Seeds => [.. Enumerable.Range(1, 30).Select(seed => (ulong)seed)];

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Solve_RandomDay_PlanBreaksNoRule(ulong seed) => HoldsOn(RandomDays.Make(seed, DayShape.Any with { MostRequests = 5 }));

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Solve_RandomDayInMidRun_PlanBreaksNoRule(ulong seed) => HoldsOn(RandomDays.Make(seed, DayShape.Running with { MostRequests = 6 }));

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Solve_RandomDayWithCalendar_PlanBreaksNoRule(ulong seed) =>
        HoldsOn(RandomDays.Make(seed, new DayShape(MostRequests: 4, MidRun: 0.5, Calendar: 1)));

    private static void HoldsOn(BenchDay day)
    {
        var result = Oracle.Solve(day, Briefly);
        Assert.NotNull(result.Plan);
        Assert.Empty(PlanChecker.Check(day, result.Plan));
        TestContext.Current.TestOutputHelper!.WriteLine($"{result.Took} {result.Proved} {result.Plan.Cost} {result.Bound} lost {result.Plan.Lost.Count} unplaced {result.Plan.Unplaced.Count}");
    }
}
