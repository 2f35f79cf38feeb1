using Incubation.Model;
using NodaTime;
using Xunit;
using static Incubation.Planning.Tests.Checking.SmallDay;

namespace Incubation.Planning.Tests.Checking;

public sealed class ResourceRulesTest : CheckerTest
{
    private static readonly BenchDay TwoLots = Day(Request("R1"), Request("R2", "E"));

    private static readonly Plan TwoLotsPlan = PlanOf(TwoLots,
        CardChange("A-L1", 0), Mix("R1", 25), Load("R1", 1, 75), Mix("R2", 150), Load("R2", 2, 200),
        Move("R1", 565), Read("R1", 580), Clear("R1", 620), CardChange("E-L1", 630), Move("R2", 690), Read("R2", 705),
            Clear("R2", 745));

    private static CalendarEntry Entry(BenchResource resource, double from, double to) =>
        new(resource, At(from), At(to), null);

    [Fact]
    public void Check_TwoLotsWithCardChangeBetween_IsValid() => AssertValid(TwoLots, TwoLotsPlan);

    [Fact]
    public void Check_NoFirstCard_BreaksRule6()
    {
        var plan = PlanOf(TwoInSlots, [.. TwoInSlotsPlan.Steps.Skip(1)]);
        AssertBreaksOnly(6, TwoInSlots, plan);
        AssertValid(TwoInSlots.MidRun(0, []), plan);
    }

    [Fact]
    public void Check_NoCardChangeBetweenLots_BreaksRule6() =>
        AssertBreaks(6, TwoLots,
            PlanOf(TwoLots, [.. TwoLotsPlan.Steps.Where(step => step.Action != CardChange("E-L1", 0).Action)]));

    [Fact]
    public void Check_CardChangeToOtherLot_BreaksRule6() =>
        AssertBreaks(6, TwoLots,
            PlanOf(TwoLots,
                [.. TwoLotsPlan.Steps.Select(step => step.Action == CardChange("E-L1", 0).Action
                    ? CardChange("B-L1", 630) : step)]));

    [Fact]
    public void Check_CardChangeInOtherReader_BreaksRule6()
    {
        var day = TwoLots with { Bench = Bench with { Readers = 2 } };
        AssertBreaks(6, day,
            PlanOf(day,
                [.. TwoLotsPlan.Steps.Select(step => step.Action == CardChange("E-L1", 0).Action
                    ? CardChange("E-L1", 630, reader: 2) : step)]));
    }

    [Fact]
    public void Check_CardChangeOfOtherLength_BreaksRule6() =>
        AssertBreaks(6, TwoInSlots, TwoInSlotsPlan.And(TwoInSlots, CardChange("B-L1", 710, 24)));

    [Fact]
    public void Check_NeedlessCardChange_IsValid() =>
        AssertValid(TwoInSlots, TwoInSlotsPlan.And(TwoInSlots, CardChange("A-L1", 200)));

    [Fact]
    public void Check_CardChangeWhileReaderIsTaken_BreaksRule7()
    {
        var day = OneInReader with { Bench = Bench with { Hands = 2 } };
        AssertBreaks(7, day, OneInReaderPlan.And(day, CardChange("B-L1", 300, hands: 2)));
    }

    [Fact]
    public void Check_CardChangeOfNoLengthWhileReaderIsTaken_BreaksRule6()
    {
        var day = OneInReader with { Bench = Bench with { CardChange = Duration.Zero } };
        var plan = OneInReaderPlan.With(day, CardChange("B-L1", 0, 0));
        AssertValid(day, plan);
        AssertBreaks(6, day, plan.And(day, CardChange("B-L1", 300, 0)));
    }

    [Fact]
    public void Check_OneRowTwoThingsForHands_BreaksRule7()
    {
        var plan = TwoInSlotsPlan.With(TwoInSlots, Mix("R2", 99));
        AssertBreaks(7, TwoInSlots, plan);
    }

    [Fact]
    public void Check_OneSlotForTwoCartridges_BreaksRule7() =>
        AssertBreaks(7, TwoInSlots, TwoInSlotsPlan.With(TwoInSlots, Load("R2", 1, 150)));

    [Fact]
    public void Check_SlotFreedByMove_IsValidFromItsStart()
    {
        var day = Day(Request("R1"), Request("R2")) with { Bench = Bench with { Slots = 1, Hands = 2 } };
        Plan LoadedAt(double at) => PlanOf(day,
            CardChange("A-L1", 0), Mix("R1", 25), Load("R1", 1, 75), Mix("R2", 500), Move("R1", 565),
                Load("R2", 1, at, hands: 2),
            Read("R1", 580), Clear("R1", 620), Move("R2", 1060), Read("R2", 1075), Clear("R2", 1115));
        AssertValid(day, LoadedAt(565));
        AssertBreaks(7, day, LoadedAt(564));
    }

    [Fact]
    public void Check_ReaderTakenUntilClear_BreaksRule7()
    {
        // R2 comes to the reader at 640; R1 is cleared only by 641.
        var day = TwoInSlots with { Bench = Bench with { Hands = 2 } };
        AssertBreaks(7, day, TwoInSlotsPlan.With(day, Clear("R1", 631, hands: 2)));
    }

    [Fact]
    public void Check_StepsOfNoLength_OccupyNothing()
    {
        var quick = Assay("A", IncubationPlace.Incubator) with { Mix = Duration.Zero, MixShortest = Duration.Zero };
        var day = TwoInSlots with { Assays = [quick] };
        var plan = TwoInSlotsPlan.With(day, Mix("R1", 75, 0)).With(day, Mix("R2", 110, 0));
        AssertValid(day, plan.With(day, Mix("R2", 85, 0)));
    }

    [Fact]
    public void Check_HandsAway_BreaksRule7()
    {
        AssertValid(TwoInSlots with { Calendar = [Entry(new BenchResource.Hands(new HandsNumber(1)), 175, 565)] },
            TwoInSlotsPlan);
        AssertBreaks(7, TwoInSlots with { Calendar = [Entry(new BenchResource.Hands(new HandsNumber(1)), 174, 565)] },
            TwoInSlotsPlan);
        AssertBreaks(7, TwoInSlots with { Calendar = [Entry(new BenchResource.Hands(new HandsNumber(1)), 175, 566)] },
            TwoInSlotsPlan);
    }

    [Fact]
    public void Check_StepOfNoLengthWhileHandsAreAway_BreaksRule7()
    {
        var day = TwoInSlots with
        {
            Bench = Bench with { CardChange = Duration.Zero },
            Calendar = [Entry(new BenchResource.Hands(new HandsNumber(1)), 0, 5)]
        };
        AssertBreaks(7, day, TwoInSlotsPlan.With(day, CardChange("A-L1", 0, 0)));
        AssertValid(day, TwoInSlotsPlan.With(day, CardChange("A-L1", 5, 0)));
    }

    [Fact]
    public void Check_NewStayInSlotOutOfUse_BreaksRule7()
    {
        // R2 is in slot 2 from 150 to 640.
        AssertValid(TwoInSlots with
        {
            Calendar = [Entry(new BenchResource.Slot(new SlotNumber(2)), 0, 150),
                Entry(new BenchResource.Slot(new SlotNumber(2)), 640, 700)]
        }, TwoInSlotsPlan);
        AssertBreaks(7, TwoInSlots with { Calendar = [Entry(new BenchResource.Slot(new SlotNumber(2)), 639, 700)] },
            TwoInSlotsPlan);
    }

    [Fact]
    public void Check_NewStaysInIncubatorOutOfUse_BreakRule7() =>
        AssertBreaksOnly(7, TwoInSlots with { Calendar = [Entry(new BenchResource.Incubator(), 300, 301)] },
            TwoInSlotsPlan);

    [Fact]
    public void Check_NewStayInReaderOutOfUse_BreaksRule7() =>
        AssertBreaks(7,
            TwoInSlots with { Calendar = [Entry(new BenchResource.Reader(new ReaderNumber(1)), 704, 800)] },
            TwoInSlotsPlan);

    [Fact]
    public void Check_CardChangeIntoReaderOutOfUse_BreaksRule7() =>
        AssertBreaks(7, TwoInSlots with { Calendar = [Entry(new BenchResource.Reader(new ReaderNumber(1)), 24, 100)] },
            TwoInSlotsPlan);

    [Fact]
    public void Check_MixBeforeClearOfTheRequestBefore_BreaksRule7()
    {
        var first = Day(Request("R1"), Request("R2") with { After = [new("R1")] });
        AssertBreaks(7, first, TwoInSlotsPlan);
        var plan = PlanOf(first,
            CardChange("A-L1", 0), Mix("R1", 25), Load("R1", 1, 75), Move("R1", 565), Read("R1", 580), Clear("R1", 620),
            Mix("R2", 630), Load("R2", 1, 680), Move("R2", 1170), Read("R2", 1185), Clear("R2", 1225));
        AssertValid(first, plan);
    }

    [Fact]
    public void Check_PlacedAfterUnplaced_BreaksRule7()
    {
        var day = Day(Request("R1"), Request("R2") with { After = [new("R1")] });
        var plan = PlanOf(day, [.. TwoInSlotsPlan.Steps.Where(step => step.Action.Subject != new RequestId("R1"))])
            .WithUnplaced("R1");
        AssertBreaks(7, day, plan);
    }

    [Fact]
    public void Check_AfterRequestThatIsGone_IsValid()
    {
        var day = Day(Request("R1"), Request("R2") with { After = [new("R0")] }).MidRun(0, [], card: null);
        AssertValid(day, TwoInSlotsPlan);
    }
}
