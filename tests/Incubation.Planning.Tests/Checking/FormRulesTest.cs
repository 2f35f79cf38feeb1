using Incubation.Model;
using Xunit;
using static Incubation.Planning.Tests.Checking.SmallDay;

namespace Incubation.Planning.Tests.Checking;

public sealed class FormRulesTest : CheckerTest
{
    [Fact]
    public void Check_ValidPlans_HaveNoFault()
    {
        AssertValid(TwoInSlots, TwoInSlotsPlan);
        AssertValid(OneInReader, OneInReaderPlan);
        AssertValid(Day(), PlanOf(Day()));
    }

    [Fact]
    public void Check_RowsInAnyOrder_AreValid() =>
        AssertValid(TwoInSlots, TwoInSlotsPlan with { Steps = [.. TwoInSlotsPlan.Steps.Reverse()] });

    [Fact]
    public void Check_RowOfUnknownRequest_BreaksForm() =>
        Assert.Equal(2,
            AssertBreaks(0, TwoInSlots,
                PlanOf(TwoInSlots) with
                {
                    Steps = [.. TwoInSlotsPlan.Steps.Take(2), Mix("R9", 710), .. TwoInSlotsPlan.Steps.Skip(2)],
                    Cost = 705,
                    Finish = Seconds(705)
                }).StepIndex);

    [Fact]
    public void Check_UnknownRequestInList_BreaksForm() =>
        AssertBreaks(0, TwoInSlots, TwoInSlotsPlan.WithUnplaced("R9"));

    [Fact]
    public void Check_StepWithoutHands_BreaksForm() =>
        AssertBreaks(0, TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Clear("R2", 695) with { Hands = null }));

    [Fact]
    public void Check_ReadWithHands_BreaksForm() =>
        AssertBreaks(0, TwoInSlots,
            TwoInSlotsPlan.With(TwoInSlots, Read("R2", 655) with { Hands = new HandsNumber(1) }));

    [Fact]
    public void Check_HandsThatTheBenchLacks_BreakForm() =>
        AssertBreaks(0, TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Mix("R1", 25, hands: 2)));

    [Fact]
    public void Check_SlotThatTheBenchLacks_BreaksForm() =>
        AssertBreaks(0, TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Load("R2", 3, 150)));

    [Fact]
    public void Check_ReaderThatTheBenchLacks_BreaksForm()
    {
        var plan = PlanOf(OneInReader, CardChange("B-L1", 0), Mix("R1", 25), LoadReader("R1", 75), Read("R1", 580),
            Clear("R1", 620), CardChange("A-L1", 640, reader: 2));
        AssertBreaks(0, OneInReader, plan);
    }

    [Fact]
    public void Check_RowThatEndsBeforeItStarts_BreaksForm()
    {
        var plan = TwoInSlotsPlan.And(TwoInSlots, CardChange("A-L1", 710, -25));
        Assert.Contains(Incubation.Planning.Checking.PlanChecker.Check(TwoInSlots, plan), fault => fault.Rule == 0
            && fault.StepIndex == 11);
    }

    [Fact]
    public void Check_TimeFinerThanMillisecond_BreaksForm()
    {
        var clear = Clear("R2", 700);
        AssertBreaks(0, TwoInSlots,
            TwoInSlotsPlan.With(TwoInSlots,
                clear with { Start = clear.Start.PlusNanoseconds(1), End = clear.End.PlusNanoseconds(1) }));
    }

    [Fact]
    public void Check_RequestWithoutAnyRow_BreaksFormForEachRow()
    {
        var plan =
            PlanOf(TwoInSlots, [.. TwoInSlotsPlan.Steps.Where(step => step.Action.Subject != new RequestId("R2"))]);
        AssertBreaksOnly(0, TwoInSlots, plan);
    }

    [Fact]
    public void Check_RequestWithoutItsClear_BreaksForm() =>
        AssertBreaks(0, TwoInSlots, TwoInSlotsPlan.Without(TwoInSlots, Clear("R2", 0)));

    [Fact]
    public void Check_RequestWithTwoClears_BreaksForm() =>
        AssertBreaks(0, TwoInSlots, TwoInSlotsPlan.And(TwoInSlots, Clear("R2", 710)));

    [Fact]
    public void Check_MoveOfCartridgeInsideTheReader_BreaksForm() =>
        AssertBreaks(0, OneInReader, OneInReaderPlan.And(OneInReader, Move("R1", 565)));

    [Fact]
    public void Check_UnplacedRequestWithoutRows_IsValid()
    {
        var plan =
            PlanOf(TwoInSlots, [.. TwoInSlotsPlan.Steps.Where(step => step.Action.Subject != new RequestId("R2"))]);
        AssertValid(TwoInSlots, plan.WithUnplaced("R2"));
    }

    [Fact]
    public void Check_UnplacedRequestWithRows_BreaksForm() =>
        AssertBreaksOnly(0, TwoInSlots, TwoInSlotsPlan.WithUnplaced("R2").Settled(TwoInSlots));

    [Fact]
    public void Check_UnplacedTwice_BreaksForm()
    {
        var plan =
            PlanOf(TwoInSlots, [.. TwoInSlotsPlan.Steps.Where(step => step.Action.Subject != new RequestId("R2"))]);
        AssertBreaks(0, TwoInSlots, plan.WithUnplaced("R2", "R2"));
    }

    [Fact]
    public void Check_UnplacedWithoutReason_BreaksForm()
    {
        var plan =
            PlanOf(TwoInSlots, [.. TwoInSlotsPlan.Steps.Where(step => step.Action.Subject != new RequestId("R2"))]);
        AssertBreaks(0, TwoInSlots, plan with { Unplaced = [new LeftOut(new("R2"), new LeftOutReason.InWords(" "))] });
    }

    [Fact]
    public void Check_LostRequestThatHasNotBegun_BreaksForm()
    {
        var plan = PlanOf(TwoInSlots,
            [.. TwoInSlotsPlan.Steps.Where(step => step.Action.Subject != new RequestId("R2")), Discard("R2", 710)]);
        AssertBreaks(0, TwoInSlots, plan.WithLost("R2"));
    }

    [Fact]
    public void Check_DiscardOfCartridgeNotLost_BreaksForm() =>
        AssertBreaks(0, TwoInSlots, TwoInSlotsPlan.And(TwoInSlots, Discard("R2", 710)));

    [Fact]
    public void Check_IncubatorAssayLoadedIntoReader_BreaksForm()
    {
        var day = Day(Request("R1"));
        AssertBreaks(0, day,
            PlanOf(day, CardChange("A-L1", 0), Mix("R1", 25), LoadReader("R1", 75), Read("R1", 580), Clear("R1", 620)));
    }

    [Fact]
    public void Check_ReaderAssayLoadedIntoSlot_BreaksForm()
    {
        var day = Day(Request("R1", "B"));
        AssertBreaks(0, day,
            PlanOf(day, CardChange("B-L1", 0), Mix("R1", 25), Load("R1", 1, 75), Move("R1", 565), Read("R1", 580),
                Clear("R1", 620)));
    }

    [Fact]
    public void Check_EitherAssayInSlotOrReader_IsValid()
    {
        var day = Day(Request("R1", "E"));
        AssertValid(day,
            PlanOf(day, CardChange("E-L1", 0), Mix("R1", 25), Load("R1", 1, 75), Move("R1", 565), Read("R1", 580),
                Clear("R1", 620)));
        AssertValid(day,
            PlanOf(day, CardChange("E-L1", 0), Mix("R1", 25), LoadReader("R1", 75), Read("R1", 580), Clear("R1", 620)));
    }
}
