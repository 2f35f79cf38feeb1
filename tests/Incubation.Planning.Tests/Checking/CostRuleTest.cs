using Incubation.Model;
using Incubation.Planning.Checking;
using NodaTime;
using Xunit;
using static Incubation.Planning.Tests.Checking.SmallDay;

namespace Incubation.Planning.Tests.Checking;

public sealed class CostRuleTest : CheckerTest
{
    // Cleared at 630 and 705.
    private static readonly BenchDay Late = TwoInSlots with
    {
        Bench = Bench with { WaitWeight = 0.5 },
        Requests = [Request("R1", ready: 20) with { Priority = Priority.Urgent, Due = At(600) },
            Request("R2", ready: -50) with { Due = At(700) }],
    };

    [Fact]
    public void Of_LateUrgentWaiting_CountsEachAsTheRuleSays()
    {
        var figures = PlanFigures.Of(Late, TwoInSlotsPlan);
        Assert.Equal(Seconds(705), figures.Finish);
        Assert.Equal(Seconds(30 + 5), figures.Late);
        Assert.Equal(705 + (10 * 30) + 5 + (0.5 * (610 + 705)), figures.Cost);
        Assert.Equal(1, figures.CardChanges);
        Assert.Equal(Duration.Zero, figures.GuardUse);
    }

    [Fact]
    public void Of_UrgentWithoutDue_IsDueWhenReady()
    {
        var day = Day(Request("R1") with { Priority = Priority.Urgent }, Request("R2"));
        Assert.Equal(Seconds(630), PlanFigures.Of(day, TwoInSlotsPlan).Late);
        Assert.Equal(705 + 6300, PlanFigures.Of(day, TwoInSlotsPlan).Cost);
    }

    [Fact]
    public void Check_OwnFiguresWithinOneMillisecond_IsValid()
    {
        AssertValid(TwoInSlots,
            TwoInSlotsPlan with { Cost = 705.001, Bound = 705, Finish = Seconds(704.999), Late = Seconds(0.001) });
        AssertValid(Late, TwoInSlotsPlan.Settled(Late));
    }

    [Theory]
    [InlineData(705.002)]
    [InlineData(704.998)]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void Check_WrongCost_BreaksRule8(double cost) =>
        AssertBreaks(8, TwoInSlots, TwoInSlotsPlan with { Cost = cost });

    [Fact]
    public void Check_WrongFinish_BreaksRule8() =>
        AssertBreaks(8, TwoInSlots, TwoInSlotsPlan with { Finish = Seconds(704) });

    [Fact]
    public void Check_WrongLate_BreaksRule8() => AssertBreaks(8, TwoInSlots, TwoInSlotsPlan with { Late = Seconds(1) });

    [Theory]
    [InlineData(706)]
    [InlineData(double.NaN)]
    [InlineData(double.NegativeInfinity)]
    public void Check_BoundAboveCost_BreaksRule8(double bound) =>
        AssertBreaks(8, TwoInSlots, TwoInSlotsPlan with { Bound = bound });
}
