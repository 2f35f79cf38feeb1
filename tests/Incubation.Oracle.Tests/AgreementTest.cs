using Incubation.Planning;
using Incubation.Planning.Checking;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Oracle.Tests;

/// <summary>
/// The planner finds the optimum that the oracle proves. Two hundred larger days are compared by
/// tests/Benchmarks/agree.sh.
/// </summary>
public sealed class AgreementTest
{
    private const ulong PlannerSeed = 1;

    /// <summary>
    /// Far more than such small days need, so that a difference is a fault of the planner and no bad luck.
    /// </summary>
    private static readonly IterationBudget Ample = new(40_000);

    /// <summary>
    /// One worker makes the solver deterministic. The limit is for slow machines: most days take a tenth of a second.
    /// </summary>
    private static readonly OracleOptions OneWorker = new(Duration.FromSeconds(60));

    private static readonly DayShape UpToFive = DayShape.Any with { FewestRequests = 2, MaxRequests = 5 };

    public static TheoryData<ulong> Seeds => [.. Enumerable.Range(1001, 20).Select(seed => (ulong)seed)];

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Plan_DayOfUpToFive_IsAsGoodAsTheProvedOptimum(ulong seed)
    {
        var day = RandomDays.Make(seed, UpToFive);
        var oracle = Oracle.Solve(day, OneWorker);
        Assert.True(oracle.Proved, $"The solver proved nothing in {oracle.Took}.");
        Assert.Empty(PlanChecker.Check(day, oracle.Plan!));

        var plan = Planner.Plan(day, PlannerSeed, Ample).Plan;

        Assert.Empty(PlanChecker.Check(day, plan));
        var (optimum, ours) = (PlanStatus.Of(day, oracle.Plan!), PlanStatus.Of(day, plan));
        Assert.True(ours.Against(optimum) == 0, $"planner: {ours}; optimum: {optimum}");
        Assert.True(plan.Bound <= optimum.Cost + 0.001,
            $"The planner's bound {plan.Bound} lies above the optimum {optimum.Cost}.");
    }

    /// <summary>
    /// In its best plan a reader is given a card before the cartridge for which it is changed has been mixed.
    /// </summary>
    [Fact]
    public void Plan_CardChangedLongBeforeItsCartridge_ProvesTheOptimumThatTheSolverProves()
    {
        var day = RandomDays.Make(5114, DayShape.Any with { FewestRequests = 2, MaxRequests = 7 });
        var oracle = Oracle.Solve(day, OneWorker);
        var plan = Planner.Plan(day, PlannerSeed, Ample).Plan;

        Assert.True(oracle.Proved && plan.Proved);
        Assert.Equal(oracle.Plan!.Cost, plan.Cost, 0.001);
        Assert.Equal(plan.Cost, plan.Bound, 0.001);
    }
}
