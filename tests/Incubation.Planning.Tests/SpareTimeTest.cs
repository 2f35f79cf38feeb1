using Incubation.Model;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>
/// The last tie-break of rule 8: of plans of equal cost and card changes, the one with the greater least spare time.
/// </summary>
public class SpareTimeTest
{
    [Fact]
    public void Plan_RandomMornings_LeavesNoLessSpareThanItsOrderAtItsEarliest()
    {
        var more = 0;
        for (var seed = 1UL; seed <= 150; seed++)
        {
            var day =
                RandomDays.Make(seed, new DayShape(MidRun: 0, Calendar: 0, Impossible: 0, MaxHands: 1, MaxRequests: 6));
            var plan = Planner.Plan(day, 1, new IterationBudget(300)).Plan;
            if (plan.Unplaced.Count > 0 || PlanTiming.Retime(day, plan) is not { } earliest)
                continue;
            Assert.Equal(earliest.Cost, plan.Cost, 0.01);
            Assert.True(Least(day, plan) >= Least(day, earliest), $"seed {seed}");
            more += Least(day, plan) > Least(day, earliest) ? 1 : 0;
        }

        Assert.True(more > 10, $"{more} days gain spare time");
    }

    private static Duration Least(BenchDay day, Plan plan) => PlanTiming.Spare(day, plan).Select(s => s.Spare)
        .DefaultIfEmpty(StepSpare.Unlimited).Min();
}
