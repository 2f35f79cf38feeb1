using CsCheck;
using Incubation.Planning.Checking;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>Random days of every feature against the independent checker.</summary>
public class PlannerRandomDaysTest
{
    public static TheoryData<string> Shapes => ["any", "morning", "running", "clinic"];

    private static DayShape ShapeOf(string name) => name switch
    {
        "any" => DayShape.Any,
        "morning" => DayShape.Morning,
        "running" => DayShape.Running,
        _ => DayShape.Clinic,
    };

    [Theory]
    [MemberData(nameof(Shapes))]
    public void Plan_RandomDay_BreaksNoRule(string shape) => RandomDays.Gen(ShapeOf(shape)).Sample(
        day => Assert.Empty(PlanChecker.Check(day, Planner.Plan(day, 1, new IterationBudget(300)).Plan)),
        iter: 300, threads: 1);

    /// <summary>
    /// Only an instant to load by can crowd a request out; any other is unplaced only if it would be alone on the
    /// bench, or follows one.
    /// </summary>
    [Theory]
    [MemberData(nameof(Shapes))]
    public void Plan_RandomDay_LeavesNothingUnplacedThatCouldComeLast(string shape) => RandomDays.Gen(ShapeOf(shape))
        .Sample(
        day =>
        {
            var plan = Planner.Plan(day, 1, new IterationBudget(20)).Plan;
            var unplaced = plan.Unplaced.Select(u => u.Request).ToHashSet();
            foreach (var request in day.Requests.Where(r => unplaced.Contains(r.Id) && r.LoadBy is null
                && !r.After.Any(unplaced.Contains)))
            {
                var alone = day with { Requests = [request with { After = [] }], MidRun = null, Calendar = [] };
                Assert.Single(Planner.Plan(alone, 1, new IterationBudget(0)).Plan.Unplaced);
            }
        },
        iter: 300, threads: 1);

    [Theory]
    [MemberData(nameof(Shapes))]
    public void Plan_OwnPlanAsIncumbent_IsNeverWorse(string shape) => RandomDays.Gen(ShapeOf(shape)).Sample(
        day =>
        {
            var first = Planner.Plan(day, 1, new IterationBudget(200)).Plan;
            var again = Planner.Plan(day, 2, new IterationBudget(0), first).Plan;
            Assert.False(PlanWorth.Of(day, first).IsBetterThan(PlanWorth.Of(day, again)));
        },
        iter: 150, threads: 1);

    /// <summary>
    /// A day on which cartridges without lengths are loaded, moved and cleared at one instant, on two pairs of hands:
    /// their rows were read back in an order that contradicts itself, and the plan was given up.
    /// </summary>
    [Fact]
    public void Plan_OwnPlanWithWhatTakesNoTime_IsTakenOver()
    {
        var day = RandomDays.Make(1894078032354, DayShape.Clinic);
        var first = Planner.Plan(day, 1, new IterationBudget(200)).Plan;

        var again = Planner.Plan(day, 2, new IterationBudget(0), first).Plan;

        Assert.Equal(PlanWorth.Of(day, first), PlanWorth.Of(day, again));
    }

    [Fact]
    public void Plan_SameSeedAndIterations_SamePlan() => RandomDays.Gen(DayShape.Any).Sample(
        day =>
        {
            var one = Planner.Plan(day, 7, new IterationBudget(500));
            var other = Planner.Plan(day, 7, new IterationBudget(500));
            Assert.Equal(one.Plan.Steps, other.Plan.Steps);
            Assert.Equal(one.Iterations, other.Iterations);
        },
        iter: 60, threads: 1);

    [Fact]
    public void Plan_MoreIterations_IsNeverWorse() => RandomDays.Gen(DayShape.Any).Sample(
        day =>
        {
            var few = PlanWorth.Of(day, Planner.Plan(day, 7, new IterationBudget(50)).Plan);
            var many = PlanWorth.Of(day, Planner.Plan(day, 7, new IterationBudget(500)).Plan);
            Assert.False(few.IsBetterThan(many));
        },
        iter: 60, threads: 1);

    [Fact]
    public void Plan_FiveHundredRequests_IsValid()
    {
        var day = RandomDays.Make(3, new DayShape(FewestRequests: 500, MaxRequests: 500, MaxSlots: 24, MidRun: 0));
        var plan = Planner.Plan(day, 1, new IterationBudget(20)).Plan;
        Assert.Empty(PlanChecker.Check(day, plan));
    }
}
