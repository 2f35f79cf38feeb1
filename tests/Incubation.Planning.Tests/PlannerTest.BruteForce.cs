using Incubation.Planning.Checking;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>The planner against the enumeration of every plan.</summary>
public class PlannerBruteForceTest
{
    private const int OrdersMost = 100_000;

    public static TheoryData<string, ulong, int> Shapes => new()
    {
        { "one pair of hands", 1, CaseCount.Of(20, 60) },
        { "one pair of hands, in mid-run", 1000, CaseCount.Of(30, 60) },
        { "two pairs of hands", 2000, CaseCount.Of(30, 60) },
        { "calendar", 3000, 40 },
        { "no lengths", 4000, 30 },
    };

    [Theory]
    [MemberData(nameof(Shapes))]
    public void Plan_TinyDay_NoPlanIsBetter(string name, ulong firstSeed, int days)
    {
        var shape = ShapeOf(name);
        var compared = 0;
        for (var seed = firstSeed; seed < firstSeed + (ulong)days; seed++)
        {
            var day = RandomDays.Make(seed, shape);
            var plan = Planner.Plan(day, seed, new IterationBudget(6000)).Plan;
            Assert.Empty(PlanChecker.Check(day, plan));
            var worth = PlanWorth.Of(day, plan);
            if (Enumerator.Best(day, worth, OrdersMost) is not { } best)
                continue;
            compared++;
            Assert.False(best.IsBetterThan(worth), $"{name}, seed {seed}: planned {worth}, best {best}");
            Assert.True(plan.Bound <= best.CostSeconds + 0.001 || worth.Losses + worth.Unplaced > 0,
                $"{name}, seed {seed}: bound {plan.Bound}, best {best}");
        }

        Assert.True(compared >= days * 3 / 4, $"only {compared} of {days} days could be enumerated");
    }

    private static DayShape ShapeOf(string name) => name switch
    {
        "one pair of hands" => DayShape.Tiny with { MidRun = 0, MaxHands = 1, Calendar = 0 },
        "one pair of hands, in mid-run" =>
            DayShape.Tiny with { MidRun = 1, MaxHands = 1, Calendar = 0.2, FewestRequests = 2 },
        "two pairs of hands" => DayShape.Tiny with { MaxRequests = 2, FewestRequests = 2 },
        "calendar" => DayShape.Tiny with { MaxRequests = 2, MaxHands = 1, Calendar = 1 },
        _ => DayShape.Tiny with { MaxRequests = 2, ZeroLengths = 1 },
    };
}
