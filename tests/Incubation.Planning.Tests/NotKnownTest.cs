using CsCheck;
using Incubation.Model;
using Incubation.Planning.Checking;
using Incubation.TestKit;
using NodaTime;
using Xunit;
using static Incubation.Planning.Tests.Checking.SmallDay;

namespace Incubation.Planning.Tests;

/// <summary>A step of which nobody knows whether it was done: hands are free, places are not.</summary>
public class NotKnownTest
{
    private static Gen<BenchDay> Days { get; } =
        CsCheck.Gen.ULong.Select(seed => RandomUnknown.In(RandomDays.Make(seed, DayShape.Running), seed + 1));

    [Fact]
    public void Plan_RandomStepsNotKnown_BreaksNoRule() => Days.Sample(
        day => Assert.Empty(PlanChecker.Check(day, Planner.Plan(day, 1, new IterationBudget(200)).Plan)),
        iter: CaseCount.Of(400, 20_000), threads: 1);

    /// <summary>
    /// Each step was done, or was not: either way the plan holds, with the cartridge left where it is to the end.
    /// </summary>
    [Fact]
    public void Plan_RandomStepsNotKnown_HoldsWhetherTheyWereDoneOrNot() => Days.Sample(
        day =>
        {
            if (new NotKnown(day).Places.Any(place => place.Until != Instant.MaxValue))
                return;
            var plan = Planner.Plan(day, 1, new IterationBudget(200)).Plan;
            var random = new SeededRandom((ulong)day.Now.ToUnixTimeTicks());
            for (var world = 0; world < 3; world++)
            {
                var (truth, whole) = new UnknownWorld(day, plan, _ => random.Chance(0.5)).Make();
                Assert.Empty(PlanChecker.Check(truth, whole));
            }
        },
        iter: CaseCount.Of(400, 20_000), threads: 1);

    /// <summary>What the plan says stays true as long as nothing is known: re-timed at once it is as it was.</summary>
    [Fact]
    public void Retime_RandomStepsNotKnown_KeepsTheRules() =>
        Days.Sample(KeepsTheRules, iter: CaseCount.Of(200, 5_000), threads: 1);

    /// <summary>
    /// One reader is not known. The other's card must be changed before a mix that cannot wait for that: not a reason
    /// to wait for the first.
    /// </summary>
    [Fact]
    public void Retime_CardBeforeTheMixInTheOnlyReaderKnown_KeepsTheRules() =>
        Days.Sample(KeepsTheRules, seed: "4ouw0E-MJFy2", iter: 1, threads: 1);

    /// <summary>
    /// A cartridge whose move comes too late has left its slot: what goes there waits for no discard.
    /// </summary>
    [Fact]
    public void Retime_MoveUnderWayThatComesTooLate_KeepsTheRules() =>
        Days.Sample(KeepsTheRules, seed: "1eI38tT_HDG2", iter: 1, threads: 1);

    /// <summary>The same, where the plan itself was a hundred days ahead in the reader that is not known.</summary>
    [Fact]
    public void Plan_CardBeforeTheMixInTheOtherReader_BreaksNoRule() => Days.Sample(
        day => Assert.Empty(PlanChecker.Check(day, Planner.Plan(day, 1, new IterationBudget(200)).Plan)),
        seed: "5l1gQS2BZew2", iter: 1, threads: 1);

    private static void KeepsTheRules(BenchDay day)
    {
        var plan = Planner.Plan(day, 1, new IterationBudget(50)).Plan;
        if (PlanTiming.Retime(day, plan) is { } retimed)
            Assert.Empty(PlanChecker.Check(day, retimed));
        else
            Assert.Fail("A plan cannot be re-timed on the day it was made for.");
    }

    [Fact]
    public void Plan_MixNotKnown_HandsGoOnAndItsRequestWaits()
    {
        var day = Day(Request("R1"), Request("R2"), Request("R3") with { After = [new("R1")] })
            .MidRun(100, [], [Unknown(new StepAction.Mix(new("R1")), 0)]);
        var plan = Planner.Plan(day, 1, new IterationBudget(500)).Plan;
        Assert.All(plan.Steps, row => Assert.Equal(new RequestId("R2"), row.Action.Subject));
        Assert.Equal(At(100), plan.Steps[0].Start);
        Assert.Empty(plan.Unplaced);
        Assert.Empty(plan.Lost);
    }

    [Fact]
    public void Plan_LoadNotKnown_TakesAnotherSlot()
    {
        var day = Day(Request("R1"), Request("R2")).MidRun(100, [Mixed("R1", 40, 50)],
            [Unknown(new StepAction.Load(new("R1"), new CartridgePlace.InSlot(new(1))), 60)]);
        var plan = Planner.Plan(day, 1, new IterationBudget(500)).Plan;
        var load = Assert.Single(plan.Steps, row => row.Action is StepAction.Load);
        Assert.Equal(new StepAction.Load(new("R2"), new CartridgePlace.InSlot(new(2))), load.Action);
        Assert.Empty(PlanChecker.Check(day, plan));
        var wrong = plan with
        {
            Steps = [.. plan.Steps.Select(row => row == load
                ? row with { Action = new StepAction.Load(new("R2"), new CartridgePlace.InSlot(new(1))) } : row)],
        };
        Assert.Contains(PlanChecker.Check(day, wrong), fault => fault.Rule == 7);
    }

    [Fact]
    public void Plan_CardChangeNotKnown_PutsTheCardIn()
    {
        var day = Day(Request("R1")).MidRun(500, [InSlot("R1", 1, 0, 10)],
            [Unknown(new StepAction.CardChange(new(1), new("A-L1")), 400)]);
        var plan = Planner.Plan(day, 1, new IterationBudget(500)).Plan;
        Assert.Equal(new StepAction.CardChange(new(1), new("A-L1")), plan.Steps[0].Action);
        Assert.Equal(At(500), plan.Steps[0].Start);
        var without = plan with { Steps = [.. plan.Steps.Skip(1)] };
        Assert.Contains(PlanChecker.Check(day, without), fault => fault.Rule == 6);
    }

    /// <summary>
    /// The only reader: until somebody has looked it counts as taken for as long as the move, the read and the clear
    /// can take.
    /// </summary>
    [Fact]
    public void Plan_MoveIntoTheOnlyReaderNotKnown_WaitsForAsLongAsItCanTake()
    {
        var day = Day(Request("R1"), Request("R2")).MidRun(540, [InSlot("R1", 1, 0, 10), InSlot("R2", 2, 60, 70)],
            [Unknown(new StepAction.Move(new("R1"), new(1)), 490)]);
        var plan = Planner.Plan(day, 1, new IterationBudget(500)).Plan;
        var move = Assert.Single(plan.Steps, row => row.Action is StepAction.Move);
        Assert.Equal(new StepAction.Move(new("R2"), new(1)), move.Action);
        Assert.Equal(At(540 + 15 + 40 + 10), move.Start);
        Assert.Empty(PlanChecker.Check(day, plan));
    }

    [Theory]
    [InlineData(true, false)]
    [InlineData(false, true)]
    public void Check_RequestOfAStepNotKnownNamed_BreaksForm(bool unplaced, bool lost)
    {
        var day = Day(Request("R1"), Request("R2")).MidRun(100, [],
            [Unknown(new StepAction.Mix(new("R1")), 0)]);
        var plan = Planner.Plan(day, 1, new IterationBudget(100)).Plan;
        var named = new LeftOut(new("R1"), new LeftOutReason.MustDiscard());
        Assert.Contains(
            PlanChecker.Check(day, plan with { Unplaced = unplaced ? [named] : [], Lost = lost ? [named] : [] }),
            fault => fault.Rule == 0);
        Assert.Contains(PlanChecker.Check(day, plan with { Steps = [.. plan.Steps, Mix("R1", 5000)] }),
            fault => fault.Rule == 0 && fault.StepIndex == plan.Steps.Count);
    }

    private static StepInProgress Unknown(StepAction action, double start) =>
        new(action, new HandsNumber(1), At(start), Unknown: true);
}
