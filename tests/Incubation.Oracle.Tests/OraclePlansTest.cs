using Incubation.Model;
using Incubation.Planning;
using Incubation.Planning.Checking;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Oracle.Tests;

/// <summary>The oracle's plans are held against the independent checker, which shares no code with it.</summary>
public sealed class OraclePlansTest
{
    /// <summary>Such days are proved in a tenth of a second; the limit is for slow machines.</summary>
    private static readonly OracleOptions UntilProved = new(Duration.FromSeconds(60));

    private static readonly DayShape Small = DayShape.Any with { MaxRequests = 4 };

    public static TheoryData<ulong> Seeds => [.. Enumerable.Range(1, 12).Select(seed => (ulong)seed)];

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Solve_RandomMorning_PlanBreaksNoRule(ulong seed) =>
        HoldsOn(RandomDays.Make(seed, Small with { MidRun = 0 }));

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Solve_RandomDayInMidRun_PlanBreaksNoRule(ulong seed) =>
        HoldsOn(RandomDays.Make(seed, Small with { FewestRequests = 2, MidRun = 1 }));

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Solve_RandomDayWithCalendar_PlanBreaksNoRule(ulong seed) =>
        HoldsOn(RandomDays.Make(seed, Small with { MidRun = 0.5, Calendar = 1 }));

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Solve_FromAPlan_StartsWithItsCost(ulong seed)
    {
        var day = RandomDays.Make(seed, Small with { FewestRequests = 3, MidRun = 0, Calendar = 0 });
        var plan = Planner.Plan(day, 1, new IterationBudget(0)).Plan;

        var result = Oracle.Solve(day, UntilProved with { Hint = plan });

        Assert.NotNull(result.Plan);
        Assert.True(PlanStatus.Of(day, result.Plan).Against(PlanStatus.Of(day, plan)) <= 0);
        Assert.True(result.Improvements[0].Cost <= plan.Cost + 0.001);
    }

    [Fact]
    public void Solve_DayThatNothingFits_LeavesEverythingOut()
    {
        var day = RandomDays.Make(1, Small with { MidRun = 0, Calendar = 0 });
        var late = day with
        { Requests = [.. day.Requests.Select(request => request with { LoadBy = day.Start, After = [] })] };

        var result = Oracle.Solve(late, UntilProved);

        Assert.True(result.Proved);
        Assert.Equal(late.Requests.Select(request => request.Id).Order(IdOrder),
            result.Plan!.Unplaced.Select(left => left.Request).Order(IdOrder));
        Assert.Equal(0, result.Plan.Cost);
        Assert.Empty(PlanChecker.Check(late, result.Plan));
    }

    private static IComparer<RequestId> IdOrder => Comparer<RequestId>
        .Create((one, other) => string.CompareOrdinal(one.Value, other.Value));

    private static void HoldsOn(BenchDay day)
    {
        var result = Oracle.Solve(day, UntilProved);

        Assert.NotNull(result.Plan);
        Assert.Empty(PlanChecker.Check(day, result.Plan));
        Assert.True(result.Bound <= result.Plan.Cost + 0.001);
        Assert.Equal(result.Plan.Cost, result.Improvements[^1].Cost, 0.0015);
    }
}
