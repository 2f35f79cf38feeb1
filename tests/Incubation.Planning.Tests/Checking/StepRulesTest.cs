using Xunit;
using static Incubation.Planning.Tests.Checking.SmallDay;

namespace Incubation.Planning.Tests.Checking;

public sealed class StepRulesTest : CheckerTest
{
    [Fact]
    public void Check_MixOfOtherLength_BreaksRule1() =>
        AssertBreaks(1, TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Mix("R1", 25, 45)));

    [Fact]
    public void Check_MixBeforeReady_BreaksRule1()
    {
        var day = Day(Request("R1", ready: 26), Request("R2"));
        AssertBreaks(1, day, TwoInSlotsPlan);
        AssertValid(Day(Request("R1", ready: 25), Request("R2")), TwoInSlotsPlan);
    }

    [Fact]
    public void Check_MixBeforeStart_BreaksRule1()
    {
        var day = Day(Request("R1", "B", ready: -600));
        var plan = PlanOf(day, Mix("R1", -10), CardChange("B-L1", 40), LoadReader("R1", 75), Read("R1", 580),
            Clear("R1", 620));
        AssertBreaks(1, day, plan);
    }

    [Fact]
    public void Check_MixBeforeNow_BreaksRule1()
    {
        var day = TwoInSlots.MidRun(26, []);
        AssertBreaks(1, day, TwoInSlotsPlan.Without(day, CardChange("A-L1", 0)));
    }

    [Fact]
    public void Check_LoadOfOtherLength_BreaksRule2()
    {
        // The window is counted from the load's start and the assay's lengths, so the quicker row changes nothing else.
        AssertBreaks(2, TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Load("R2", 2, 150, 20)));
    }

    [Fact]
    public void Check_LoadBeforeMixHasEnded_BreaksRule2()
    {
        var day = TwoInSlots with { Bench = Bench with { Hands = 2 } };
        AssertBreaks(2, day, TwoInSlotsPlan.With(day, Load("R2", 2, 149, hands: 2)));
    }

    [Fact]
    public void Check_LoadAfterShortestMixNoLongerKeeps_BreaksRule2()
    {
        // Mixed from 25, at the quickest by 60: the mixture keeps until 180.
        var day = Day(Request("R1"));
        Plan Loaded(double at) =>
            PlanOf(day, CardChange("A-L1", 0), Mix("R1", 25), Load("R1", 1, at), Move("R1", at + 490),
                Read("R1", at + 505), Clear("R1", at + 545));
        AssertValid(day, Loaded(180));
        AssertBreaks(2, day, Loaded(181));
    }

    [Fact]
    public void Check_LoadEndsAfterLoadBy_BreaksRule2()
    {
        var request = Request("R2");
        AssertValid(Day(Request("R1"), request with { LoadBy = At(175) }), TwoInSlotsPlan);
        AssertBreaks(2, Day(Request("R1"), request with { LoadBy = At(174.999) }), TwoInSlotsPlan);
    }

    [Fact]
    public void Check_MoveOfOtherLength_BreaksRule3() =>
        AssertBreaks(3, TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Move("R2", 645, 10)));

    [Fact]
    public void Check_ReadNotAtMoveEnd_BreaksRule3() =>
        AssertBreaks(3, TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Read("R2", 656))
            .With(TwoInSlots, Clear("R2", 696)));

    [Fact]
    public void Check_ReadBeforeWindowOpens_BreaksRule3()
    {
        // R2's load ends by 175 at the latest: the window opens at 655.
        var plan = TwoInSlotsPlan.With(TwoInSlots, Move("R2", 639)).With(TwoInSlots, Read("R2", 654));
        AssertBreaks(3, TwoInSlots, plan);
    }

    [Fact]
    public void Check_ReadInsideGuardOfPlannedLoad_BreaksRule3()
    {
        // R2's load ends by 165 at the earliest: its window closes at 735, the guard begins after 720.
        Plan ReadAt(double at) => TwoInSlotsPlan.With(TwoInSlots, Move("R2", at - 15)).With(TwoInSlots, Read("R2", at))
            .With(TwoInSlots, Clear("R2", at + 40));
        AssertValid(TwoInSlots, ReadAt(720));
        AssertBreaks(3, TwoInSlots, ReadAt(720.001));
    }

    [Fact]
    public void Check_ReadInOtherReaderThanMove_BreaksRule3()
    {
        var day = TwoInSlots with { Bench = Bench with { Readers = 2 } };
        var plan = TwoInSlotsPlan.With(day, Read("R2", 655, reader: 2)).With(day, Clear("R2", 695, reader: 2));
        AssertBreaks(3, day, plan);
    }

    [Fact]
    public void Check_GuardUsedNamesReadOutsideIt_BreaksRule3() =>
        AssertBreaks(3, TwoInSlots, TwoInSlotsPlan.WithGuardUsed("R1"));

    [Fact]
    public void Check_ReadInsideReaderNotByItself_BreaksRule4()
    {
        AssertBreaks(4, OneInReader, OneInReaderPlan.With(OneInReader, Read("R1", 579)));
        AssertBreaks(4, OneInReader, OneInReaderPlan.With(OneInReader, Read("R1", 581))
            .With(OneInReader, Clear("R1", 621)));
    }

    [Fact]
    public void Check_ReadInOtherReaderThanLoad_BreaksRule4()
    {
        var day = OneInReader with { Bench = Bench with { Readers = 2 } };
        var plan = OneInReaderPlan.With(day, Read("R1", 580, reader: 2)).With(day, Clear("R1", 620, reader: 2));
        AssertBreaks(4, day, plan);
    }

    [Fact]
    public void Check_ReadOfOtherLength_BreaksRule5() =>
        AssertBreaks(5, TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Read("R2", 655, 39)));

    [Fact]
    public void Check_ClearOfOtherLength_BreaksRule5() =>
        AssertBreaks(5, TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Clear("R2", 695, 9)));

    [Fact]
    public void Check_ClearBeforeReadHasEnded_BreaksRule5() =>
        AssertBreaks(5, TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Clear("R2", 694)));

    [Fact]
    public void Check_ClearLongAfterRead_IsValid() =>
        AssertValid(TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Clear("R2", 9000)));

    [Fact]
    public void Check_ClearFromOtherReader_BreaksRule5()
    {
        var day = OneInReader with { Bench = Bench with { Readers = 2 } };
        AssertBreaks(5, day, OneInReaderPlan.With(day, Clear("R1", 620, reader: 2)));
    }
}
