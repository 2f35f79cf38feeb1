using Incubation.Model;
using Incubation.Planning.Checking;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Planning.Tests.Checking;

/// <summary>
/// The checker answers whatever plan it is given, and a plan with one thing broken is never taken for valid.
/// </summary>
public sealed class AnyPlanTest
{
    [Fact]
    public void Check_PlanOfAnotherDay_AnswersWithFaults()
    {
        for (var seed = 0UL; seed < 150; seed++)
        {
            var plan = Planner.Plan(RandomDays.Make(seed, DayShape.Any), seed, new IterationBudget(0)).Plan;
            var faults = PlanChecker.Check(RandomDays.Make(seed + 1, DayShape.Any), plan);
            Assert.True(faults.Count > 0 || plan.Steps.Count == 0, $"seed {seed}");
        }
    }

    [Fact]
    public void Check_RowTakenOutOrDoubled_HasFaults()
    {
        for (var seed = 0UL; seed < 100; seed++)
        {
            var (day, plan) = Planned(seed);
            for (var i = 0; i < plan.Steps.Count; i++)
            {
                if (IsNeedless(plan.Steps[i]))
                    continue;
                Assert.NotEmpty(
                    PlanChecker.Check(day, plan with { Steps = [.. plan.Steps.Take(i), .. plan.Steps.Skip(i + 1)] }));
                Assert.NotEmpty(PlanChecker.Check(day, plan with { Steps = [.. plan.Steps, plan.Steps[i]] }));
            }
        }

        static bool IsNeedless(PlannedStep row) => row.Action is StepAction.CardChange && row.Start == row.End;
    }

    [Fact]
    public void Check_RowMadeLongerOrShorter_HasFaults()
    {
        for (var seed = 0UL; seed < 100; seed++)
        {
            var (day, plan) = Planned(seed);
            for (var i = 0; i < plan.Steps.Count; i++)
            {
                foreach (var by in new[] { -1, 1 })
                {
                    var row = plan.Steps[i] with { End = plan.Steps[i].End + Duration.FromMilliseconds(by) };
                    var broken = plan with { Steps = [.. plan.Steps.Take(i), row, .. plan.Steps.Skip(i + 1)] };
                    Assert.NotEmpty(PlanChecker.Check(day, broken.Settled(day)));
                }
            }
        }
    }

    [Fact]
    public void Check_RequestDroppedFromItsList_HasFaults()
    {
        var seen = 0;
        for (var seed = 0UL; seed < 300; seed++)
        {
            var (day, plan) = Planned(seed);
            if (plan.Unplaced.Count > 0)
                Assert.NotEmpty(PlanChecker.Check(day, plan with { Unplaced = [.. plan.Unplaced.Skip(1)] }));
            if (plan.Lost.Count > 0)
                Assert.NotEmpty(PlanChecker.Check(day, plan with { Lost = [.. plan.Lost.Skip(1)] }));
            if (plan.GuardUsed.Count > 0)
                Assert.NotEmpty(PlanChecker.Check(day, plan with { GuardUsed = [.. plan.GuardUsed.Skip(1)] }));
            seen += plan.Unplaced.Count + plan.Lost.Count + plan.GuardUsed.Count;
        }
        Assert.True(seen > 50, $"Only {seen} requests were in a list: the days do not test it.");
    }

    private static (BenchDay Day, Plan Plan) Planned(ulong seed)
    {
        var day = RandomDays.Make(seed, DayShape.Any);
        var plan = Planner.Plan(day, seed, new IterationBudget(0)).Plan;
        Assert.Empty(PlanChecker.Check(day, plan));
        return (day, plan);
    }
}
