using Incubation.Model;
using Incubation.Planning.Checking;
using NodaTime;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>One test a rule, on days small enough to work out by hand.</summary>
public class PlannerRulesTest
{
    [Fact]
    public void Plan_OneCartridge_EndsAfterItsOwnStepsAlone()
    {
        var plan = Days.PlanOf(Days.Day(Days.Bench(cardChange: 25), [Days.Assay()], [Days.Request("R1")]));

        // 50 mix, 25 load, 480 incubation with card and move inside, 40 read, 10 clear.
        Assert.Equal(605, plan.Cost);
        Assert.Equal(Duration.FromSeconds(605), plan.Finish);
        Assert.Equal(605, plan.Bound);
        Assert.True(plan.Proved);
        Assert.Equal(
            ["Mix", "Load", "CardChange", "Move", "Read", "Clear"],
            plan.Steps.Select(s => s.Action.GetType().Name));
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Plan_CartridgeThatMustBeDiscarded_IsLostWhateverItsTimes(bool mixed)
    {
        var phase = mixed
            ? new CartridgePhase.Mixed(new InstantRange(Days.At(590), Days.At(595)))
            : Days.Reacting("R1", loadEnd: 500, slot: 2).Phase;
        var run = Days.Run(600, [new CartridgeInWork(new RequestId("R1"), phase)]);
        var day = Days.Day(Days.Bench(), [Days.Assay()], [Days.Request("R1"), Days.Request("R2")], run);
        Assert.Empty(Days.PlanOf(day).Lost);

        var must = day with { MidRun = run with { Cartridges = [run.Cartridges[0] with { MustDiscard = true }] } };
        var plan = Days.PlanOf(must);
        Assert.Equal(new LeftOut(new RequestId("R1"), new LeftOutReason.MustDiscard()), Assert.Single(plan.Lost));
        Assert.True(plan.Step<StepAction.Discard>("R1").Start >= Days.At(600));
        Assert.NotNull(PlanTiming.Retime(must, plan));

        // A plan that saves it serves no more.
        Assert.Null(PlanTiming.Retime(must, Days.PlanOf(day)));
        Assert.Contains(PlanChecker.Check(must, Days.PlanOf(day)), fault =>
            fault.What.Contains("must be discarded", StringComparison.Ordinal));
    }

    [Fact]
    public void Plan_TwoVersionsOfOneAssay_EachKeepsItsOwnTimes()
    {
        var code = new string('A', 64);
        var slow = Days.Assay(code, incubation: 480);
        var quick = Days.Assay(code, incubation: 60) with { Version = 2 };
        var plan = Days.PlanOf(Days.Day(
            Days.Bench(), [slow, quick], [Of("R1", 1), Of("R2", 2)]));
        Assert.Equal(Duration.FromSeconds(480),
            plan.Step<StepAction.Read>("R1").Start - plan.Step<StepAction.Load>("R1").End);
        Assert.True(plan.Step<StepAction.Read>("R2").Start < plan.Step<StepAction.Read>("R1").Start);

        Request Of(string id, int version) =>
            Days.Request(id, "A1") with { Assay = new AssayCode(code), AssayVersion = version };
    }

    [Fact]
    public void Plan_ReadyLater_MixWaits()
    {
        var plan = Days.PlanOf(Days.Day(Days.Bench(), [Days.Assay()], [Days.Request("R1", ready: 300)]));
        Assert.Equal(Days.At(300), plan.Step<StepAction.Mix>("R1").Start);
    }

    [Fact]
    public void Plan_ReaderPlace_ReadsByItselfInTheReaderOfTheLoad()
    {
        var plan =
            Days.PlanOf(Days.Day(Days.Bench(slots: 0), [Days.Assay(place: IncubationPlace.Reader)],
                [Days.Request("R1"), Days.Request("R2")]));
        Assert.DoesNotContain(plan.Steps, s => s.Action is StepAction.Move);
        foreach (var id in new[] { "R1", "R2" })
            Assert.Equal(plan.Step<StepAction.Load>(id).End + Duration.FromSeconds(480),
                plan.Step<StepAction.Read>(id).Start);

        // The reader holds each from its load to its clear: the second load follows the first clear.
        Assert.Equal((50 + (2 * (25 + 480 + 40 + 10))), plan.Cost);
    }

    [Fact]
    public void Plan_EitherPlaceWithOneSlot_UsesBoth()
    {
        var plan = Days.PlanOf(Days.Day(
            Days.Bench(slots: 1, readers: 2), [Days.Assay(place: IncubationPlace.Either)],
                [Days.Request("R1"), Days.Request("R2"), Days.Request("R3")]));
        Assert.True(plan.Cost < 1000, $"three react side by side, cost {plan.Cost}");
    }

    [Fact]
    public void Plan_WindowsWouldClash_LoadIsDelayedOnPurpose()
    {
        // Two cartridges loaded as fast as hands allow would want the reader within 30 s; a window of 20 s and a stay
        // of 105 s forbid it.
        var assay = Days.Assay(mix: 10, load: 5, window: 20, read: 80);
        var plan = Days.PlanOf(Days.Day(Days.Bench(), [assay], [Days.Request("R1"), Days.Request("R2")]));
        var between = plan.Step<StepAction.Load>("R2").Start - plan.Step<StepAction.Load>("R1").Start;
        Assert.True(Math.Abs(between.TotalSeconds) >= 85, $"loads {between} apart");
    }

    [Fact]
    public void Plan_TwoLotsOneReader_ChangesCardBetween()
    {
        var plan = Days.PlanOf(Days.Day(
            Days.Bench(cardChange: 25), [Days.Assay(), Days.Assay("A2")],
                [Days.Request("R1"), Days.Request("R2", "A2"), Days.Request("R3")]));
        Assert.Equal(2, plan.Steps.Count(s => s.Action is StepAction.CardChange));
    }

    [Fact]
    public void Plan_CardAlreadyIn_NeedsNoChange()
    {
        var run = Days.Run(60, [], null, (1, "A1-L1"));
        var plan = Days.PlanOf(Days.Day(Days.Bench(cardChange: 25), [Days.Assay()], [Days.Request("R1")], run));
        Assert.DoesNotContain(plan.Steps, s => s.Action is StepAction.CardChange);
    }

    [Fact]
    public void Plan_AfterControl_MixesWhenControlIsCleared()
    {
        var plan = Days.PlanOf(Days.Day(
            Days.Bench(hands: 2), [Days.Assay()],
                [Days.Request("R1", after: "C1"), Days.Request("C1", kind: RequestKind.Control)]));
        Assert.Equal(plan.Step<StepAction.Clear>("C1").End, plan.Step<StepAction.Mix>("R1").Start);
    }

    [Fact]
    public void Plan_HandsAway_StepsWait()
    {
        var away = new CalendarEntry(new BenchResource.Hands(new HandsNumber(1)), Days.At(30), Days.At(300), "away");
        var plan = Days.PlanOf(Days.Day(Days.Bench(), [Days.Assay()], [Days.Request("R1")], null, away));
        Assert.Equal(Days.At(300), plan.Step<StepAction.Mix>("R1").Start);
    }

    [Fact]
    public void Plan_ReaderOutOfUse_LoadWaitsUntilTheReadCanBeMade()
    {
        // The read would open at 555 while the reader is out until 2000: the load comes so late that the move begins at
        // 2000.
        var check = new CalendarEntry(new BenchResource.Reader(new ReaderNumber(1)), Days.At(500), Days.At(2000),
            "daily check");
        var plan = Days.PlanOf(Days.Day(Days.Bench(), [Days.Assay()], [Days.Request("R1")], null, check));
        Assert.Equal(Days.At(2000), plan.Step<StepAction.Move>("R1").Start);
        Assert.Equal(2000 + 15 + 40 + 10, plan.Cost);
    }

    [Fact]
    public void Plan_UrgentAgainstRoutine_UrgentFirst()
    {
        var plan =
            Days.PlanOf(Days.Day(Days.Bench(), [Days.Assay()], [Days.Request("R1"), Days.Request("R2", urgent: true)]));
        Assert.True(plan.Step<StepAction.Clear>("R2").End < plan.Step<StepAction.Clear>("R1").End);
        Assert.Equal(605, plan.Late.TotalSeconds);
        Assert.Equal((605 * 10) + plan.Finish.TotalSeconds, plan.Cost);
    }

    [Theory]
    [InlineData("window", "no read window")]
    [InlineData("mixture", "spread of its mix")]
    [InlineData("slots", "no slots")]
    [InlineData("loadBy", "2026-03-02T08:01:00Z")]
    public void Plan_RequestThatNoPlanCanPlace_IsUnplacedWithItsReasonAndTheRestIsPlanned(string case_, string says)
    {
        var assay = case_ switch
        {
            "window" => Days.Assay("A2", window: 10, load: 25, loadShortest: 10),
            "mixture" => Days.Assay("A2", mix: 60, mixShortest: 20, mixToLoad: 30),
            _ => Days.Assay("A2"),
        };
        var bad = Days.Request("R2", "A2", loadBy: case_ == "loadBy" ? 60 : null);
        var plan = Days.PlanOf(Days.Day(
            Days.Bench(slots: case_ == "slots" ? 0 : 4), [Days.Assay(place: IncubationPlace.Reader), assay],
            [Days.Request("R1"), bad, Days.Request("R3", after: "R2")]));

        Assert.Equal(["R2", "R3"], plan.Unplaced.Select(u => u.Request.Value));
        Assert.Contains(says, LeftOutText.Of(plan.Unplaced[0].Why), StringComparison.Ordinal);
        Assert.Contains("R2", LeftOutText.Of(plan.Unplaced[1].Why), StringComparison.Ordinal);
        Assert.Equal("R1", plan.Steps.Single(s => s.Action is StepAction.Clear).Action.Subject!.Value.Value);
    }

    [Fact]
    public void Plan_TwoLoadBysAndTimeForOne_OneIsUnplaced()
    {
        var plan = Days.PlanOf(Days.Day(
            Days.Bench(), [Days.Assay()],
                [Days.Request("R1", loadBy: 80), Days.Request("R2", loadBy: 80), Days.Request("R3")]));
        Assert.Single(plan.Unplaced);
        Assert.Contains("2026-03-02T08:01:20Z", LeftOutText.Of(plan.Unplaced[0].Why), StringComparison.Ordinal);
    }

    [Fact]
    public void Plan_NoRequests_IsEmptyAndProved()
    {
        var plan = Days.PlanOf(Days.Day(Days.Bench(), [], []));
        Assert.Empty(plan.Steps);
        Assert.Equal(0, plan.Cost);
        Assert.True(plan.Proved);
    }
}
