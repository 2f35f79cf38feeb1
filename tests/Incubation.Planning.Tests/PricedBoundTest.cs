using Incubation.Planning.Engine;
using Incubation.Planning.Engine.Proof;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>
/// The bound from prices never lies above what a plan costs. The cost it is told is set too high, so that this one
/// cannot hide a fault.
/// </summary>
public class PricedBoundTest
{
    private const long Work = 6_000;
    private const int OrdersMost = 20_000;

    public static TheoryData<string> Shapes =>
        ["any", "running", "clinic", "several hands", "calendar", "no lengths", "no windows to spare"];

    private static DayShape ShapeOf(string name) => name switch
    {
        "any" => DayShape.Any,
        "running" => DayShape.Running,
        "clinic" => DayShape.Clinic,
        "several hands" => DayShape.Any with { MaxHands = 3, MidRun = 0, FewestRequests = 4 },
        "calendar" => DayShape.Any with { Calendar = 1 },
        "no lengths" => DayShape.Any with { ZeroLengths = 1 },
        _ => DayShape.Tiny with { MaxHands = 1, FewestRequests = 3 },
    };

    [Theory]
    [MemberData(nameof(Shapes))]
    public void Value_RandomDay_IsNotAboveAPlansCost(string shape)
    {
        var raised = 0;
        for (var seed = 1UL; seed <= 15; seed++)
        {
            var day = RandomDays.Make(seed, ShapeOf(shape));
            var plan = Planner.Plan(day, seed, new IterationBudget(1500)).Plan;
            var worth = PlanWorth.Of(day, plan);
            if (worth.Unplaced > 0 || plan.Lost.Count > 0)
                continue;
            var (quick, priced) = BoundsOf(ProblemCompiler.Compile(day), plan.Cost, plan.GuardUsed.Count > 0);
            Assert.True(priced <= (plan.Cost * 1000) + 0.5, $"{shape}, seed {seed}: bound {priced}, cost {plan.Cost}");
            raised += priced > quick + 1 ? 1 : 0;
        }

        Assert.True(raised > 0, "the prices raised no bound");
    }

    [Fact]
    public void Value_TinyDay_IsNotAboveTheBestPlansCost()
    {
        var compared = 0;
        var days = CaseCount.Of(10, 20);
        for (var seed = 1UL; seed <= (ulong)days; seed++)
        {
            var day = RandomDays.Make(seed,
                DayShape.Tiny with { MidRun = seed % 3 == 0 ? 1 : 0, MaxHands = seed % 4 == 0 ? 2 : 1 });
            var plan = Planner.Plan(day, seed, new IterationBudget(1500)).Plan;
            var worth = PlanWorth.Of(day, plan);
            if (worth.Unplaced > 0 || plan.Lost.Count > 0 || Enumerator.Best(day, worth, OrdersMost) is not { } best)
                continue;
            compared++;
            var (_, priced) = BoundsOf(ProblemCompiler.Compile(day), best.CostSeconds, plan.GuardUsed.Count > 0);
            Assert.True(priced <= (best.CostSeconds * 1000) + 0.5, $"seed {seed}: bound {priced}, best {best}");
        }

        Assert.True(compared >= days * 2 / 5, $"only {compared} days could be enumerated");
    }

    /// <summary>
    /// Two urgent cartridges ready at once cannot both be first: the bound of each alone does not see it.
    /// </summary>
    [Fact]
    public void Value_TwoUrgentRequests_SeesThatOneWaits()
    {
        var day = Days.Day(Days.Bench(), [Days.Assay()],
            [Days.Request("R1", urgent: true), Days.Request("R2", urgent: true)]);
        var plan = Days.PlanOf(day);
        var (quick, priced) = BoundsOf(ProblemCompiler.Compile(day), plan.Cost, false);
        Assert.InRange(priced, quick + 100_000, plan.Cost * 1000);
    }

    [Fact]
    public void Plan_DozenAfterManyIterations_BoundIsRaisedAndTheSameEachTime()
    {
        var day = RandomDays.Make(9, DayShape.Clinic with { MidRun = 0, Calendar = 0 });
        var p = ProblemCompiler.Compile(day);
        var quick = LowerBound.Of(p, Left.Counted(p, false));
        var plan = Planner.Plan(day, 1, new IterationBudget(90_000)).Plan;
        Assert.Equal(plan.Bound, Planner.Plan(day, 1, new IterationBudget(90_000)).Plan.Bound);
        Assert.InRange(plan.Bound * 1000, quick + 1000, plan.Cost * 1000);
    }

    private static (double Quick, double Priced) BoundsOf(BenchProblem p, double costSeconds, bool inGuard)
    {
        var counted = Left.Counted(p, false);
        var tooHigh = (costSeconds * 1300) + 60_000;
        var bound = new PricedBound(p, counted, tooHigh, inGuard);
        bound.Improve(tooHigh, Work);
        return (LowerBound.Of(p, counted), bound.Value);
    }
}
