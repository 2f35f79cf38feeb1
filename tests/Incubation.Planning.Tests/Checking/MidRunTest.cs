using Incubation.Model;
using Incubation.Planning.Checking;
using Xunit;
using static Incubation.Planning.Tests.Checking.SmallDay;

namespace Incubation.Planning.Tests.Checking;

/// <summary>
/// Plans of a bench in mid-run: what has begun is a fact, what is lost is discarded, the guard may be used and is
/// named.
/// </summary>
public sealed class MidRunTest : CheckerTest
{
    private static readonly BenchDay One = Day(Request("R1"));

    [Fact]
    public void Check_MixInProgress_KeepsItsTrueStartAndEndsNoEarlierThanNow()
    {
        var day = One.MidRun(100, [], [Begun(Mix("R1", 20))]);
        Plan Mixed(double until) =>
            PlanOf(day, Mix("R1", 20, until - 20), Load("R1", 1, 100), Move("R1", 590), Read("R1", 605),
                Clear("R1", 645));
        AssertValid(day, Mixed(100));
        AssertBreaks(0, day, Mixed(70));
        AssertBreaks(0, day, Mixed(100).With(day, Mix("R1", 21, 79)));
    }

    [Fact]
    public void Check_StepInProgressNotListed_BreaksForm()
    {
        var day = One.MidRun(40, [], [Begun(CardChange("A-L1", 30))], card: null);
        var plan = PlanOf(day, CardChange("A-L1", 30), Mix("R1", 55), Load("R1", 1, 105), Move("R1", 595),
            Read("R1", 610), Clear("R1", 650));
        AssertValid(day, plan);
        AssertBreaksOnly(0, day, plan.With(day, CardChange("A-L1", 29)));
        Assert.Contains(PlanChecker.Check(day, PlanOf(day, [.. plan.Steps.Skip(1)])), fault => fault.Rule == 0);
    }

    [Fact]
    public void Check_MixInProgress_BoundsTheLoadByItsEarliestAndLatestEnd()
    {
        // Begun at 20: ends 55 to 70; loaded from 70 to 175.
        var day = One.MidRun(30, [], [Begun(Mix("R1", 20))]);
        Plan Loaded(double at) =>
            PlanOf(day, Mix("R1", 20), Load("R1", 1, at), Move("R1", at + 490), Read("R1", at + 505),
                Clear("R1", at + 545));
        AssertValid(day, Loaded(70));
        AssertValid(day, Loaded(175));
        AssertBreaks(2, day, Loaded(176));
    }

    [Fact]
    public void Check_MixedCartridge_IsLoadedWhileItKeeps()
    {
        // Mixed between 40 and 60: keeps until 160.
        var day = One.MidRun(80, [Mixed("R1", 40, 60)]);
        Plan Loaded(double at) =>
            PlanOf(day, Load("R1", 1, at), Move("R1", at + 490), Read("R1", at + 505), Clear("R1", at + 545));
        AssertValid(day, Loaded(160));
        AssertBreaks(2, day, Loaded(161));
        AssertBreaks(0, day, Loaded(79));
    }

    [Fact]
    public void Check_LoadInProgress_IsNotHeldToLoadBy()
    {
        // Loading from 70: ends 85 to 95 for planning, the window is 575 to 655.
        var day = Day(Request("R1") with { LoadBy = At(60) })
            .MidRun(80, [Mixed("R1", 40, 60)], [Begun(Load("R1", 1, 70))]);
        Plan ReadAt(double at) =>
            PlanOf(day, Load("R1", 1, 70), Move("R1", at - 15), Read("R1", at), Clear("R1", at + 40));
        AssertValid(day, ReadAt(575));
        AssertBreaks(3, day, ReadAt(574));
        AssertBreaks(3, day, ReadAt(655));
        AssertValid(day, ReadAt(655).WithGuardUsed("R1"));
        AssertBreaks(3, day, ReadAt(656).WithGuardUsed("R1"));
    }

    [Fact]
    public void Check_LoadInProgressInsideReader_ReadsAtItsLatest()
    {
        var day = OneInReader.MidRun(110, [Mixed("R1", 40, 60)], [Begun(LoadReader("R1", 70))], card: "B-L1");
        var plan = PlanOf(day, LoadReader("R1", 70, 40), Read("R1", 590), Clear("R1", 630));
        AssertValid(day, plan);
        AssertBreaks(4, day, plan.With(day, Read("R1", 575)));
    }

    [Fact]
    public void Check_ReactingCartridge_IsReadInItsKnownWindow()
    {
        // Loaded between 60 and 70: the window is 550 to 630, the guard begins after 615.
        var day = One.MidRun(200, [InSlot("R1", 2, 60, 70)]);
        Plan ReadAt(double at) => PlanOf(day, Move("R1", at - 15), Read("R1", at), Clear("R1", at + 40));
        AssertValid(day, ReadAt(550));
        AssertBreaks(3, day, ReadAt(549));
        AssertValid(day, ReadAt(615));
        AssertBreaks(3, day, ReadAt(616));
        AssertBreaks(3, day, ReadAt(615).WithGuardUsed("R1"));
        AssertValid(day, ReadAt(630).WithGuardUsed("R1"));
        AssertBreaks(3, day, ReadAt(630).WithGuardUsed("R1", "R1"));
        AssertBreaks(3, day, ReadAt(631).WithGuardUsed("R1"));
        Assert.Equal(Seconds(15), PlanFigures.Of(day, ReadAt(630)).GuardUse);
    }

    [Theory]
    [InlineData(530, 550)] // quick hands hold until the window opens
    [InlineData(570, 575)] // the allowed time
    [InlineData(590, 590)] // an overrun: at once
    public void Check_MoveInProgress_EndsWhenTheReadCanStart(double now, double end)
    {
        var began = end == 575 ? 560 : 520;
        var day = One.MidRun(now, [InSlot("R1", 2, 60, 70)], [Begun(Move("R1", began))]);
        var plan = PlanOf(day, Move("R1", began, end - began), Read("R1", end), Clear("R1", end + 40));
        AssertValid(day, plan);
        AssertBreaks(0, day, plan.With(day, Move("R1", began, end - began + 1)).With(day, Read("R1", end + 1))
            .With(day, Clear("R1", end + 41)));
    }

    [Fact]
    public void Check_ReactingInsideReader_ReadsAtItsLatestAndMayHaveEnded()
    {
        // Loaded between 60 and 70: read from 550 at the latest, to 590.
        var day = OneInReader.MidRun(560, [InReader("R1", 60, 70)], card: "B-L1");
        var plan = PlanOf(day, Read("R1", 550), Clear("R1", 590));
        AssertValid(day, plan);
        AssertBreaks(4, day, plan.With(day, Read("R1", 540)));
        AssertBreaks(0, day, plan.Without(day, Read("R1", 550)));
        var later = OneInReader.MidRun(600, [InReader("R1", 60, 70)], card: "B-L1");
        AssertValid(later, PlanOf(later, Clear("R1", 600)));
        AssertValid(later, PlanOf(later, Read("R1", 550, 50), Clear("R1", 600)));
        AssertBreaks(5, later, PlanOf(later, Read("R1", 550, 40), Clear("R1", 600)));
    }

    [Fact]
    public void Check_ReadInProgress_KeepsItsTrueStart()
    {
        var day = One.MidRun(560, [BeingRead("R1", 540)]);
        var plan = PlanOf(day, Read("R1", 540), Clear("R1", 580));
        AssertValid(day, plan);
        AssertBreaks(0, day, plan.With(day, Read("R1", 541, 39)));
        AssertBreaks(5, day, plan.With(day, Clear("R1", 579)));
        AssertBreaks(0, day, plan.Without(day, Read("R1", 540)));
        AssertValid(One.MidRun(580, [BeingRead("R1", 540)]), PlanOf(day, Clear("R1", 580)));
    }

    [Fact]
    public void Check_ReadInProgressInOtherReader_BreaksRule5()
    {
        var day = One.MidRun(560, [BeingRead("R1", 540)]) with { Bench = Bench with { Readers = 2 } };
        AssertBreaks(5, day, PlanOf(day, Read("R1", 540, reader: 2), Clear("R1", 580, reader: 2)));
    }

    [Fact]
    public void Check_ReadNotYetCleared_IsClearedFromItsReader()
    {
        var day = One.MidRun(600, [HasBeenRead("R1")]) with { Bench = Bench with { Readers = 2 } };
        AssertValid(day, PlanOf(day, Clear("R1", 600)));
        AssertBreaks(5, day, PlanOf(day, Clear("R1", 600, reader: 2)));
        AssertBreaks(0, day, PlanOf(day, Clear("R1", 599)));
    }

    [Fact]
    public void Check_ClearInProgress_IsAFact()
    {
        var day = One.MidRun(600, [HasBeenRead("R1")], [Begun(Clear("R1", 595))]);
        AssertValid(day, PlanOf(day, Clear("R1", 595)));
        AssertBreaks(0, day, PlanOf(day, Clear("R1", 600)));
    }

    [Fact]
    public void Check_CardChangeInProgress_CountsFromItsEnd()
    {
        var day = OneInReader.MidRun(300, [Mixed("R1", 270, 290)], [Begun(CardChange("B-L1", 290))]);
        AssertValid(day,
            PlanOf(day, CardChange("B-L1", 290), LoadReader("R1", 315), Read("R1", 820), Clear("R1", 860)));
    }

    [Fact]
    public void Check_CartridgeInReader_TellsItsCard()
    {
        var day = Day(Request("R1"), Request("R2"))
            .MidRun(600, [HasBeenRead("R1"), InSlot("R2", 1, 110, 120)], card: null);
        AssertValid(day, PlanOf(day, Clear("R1", 600), Move("R2", 610), Read("R2", 625), Clear("R2", 665)));
    }

    [Fact]
    public void Check_LostCartridge_IsDiscardedAndKeepsItsSlotUntilThen()
    {
        var day = Day(Request("R1"), Request("R2")).MidRun(700, [InSlot("R1", 1, 60, 70), Mixed("R2", 650, 660)]) with
        { Bench = Bench with { Slots = 1, Hands = 2 } };
        Plan LoadedAt(double at) => PlanOf(day, Discard("R1", 710), Load("R2", 1, at, hands: 2), Move("R2", at + 490),
            Read("R2", at + 505), Clear("R2", at + 545)).WithLost("R1");
        AssertValid(day, LoadedAt(710));
        AssertBreaks(7, day, LoadedAt(709));
        AssertBreaks(0, day, LoadedAt(710).With(day, Discard("R1", 710, 9)));
        AssertBreaks(0, day, LoadedAt(710).With(day, Discard("R1", 699)));
    }

    [Fact]
    public void Check_LostWithoutDiscard_BreaksForm()
    {
        var day = One.MidRun(700, [InSlot("R1", 1, 60, 70)]);
        AssertBreaks(0, day, PlanOf(day).WithLost("R1"));
        AssertBreaksOnly(0, day, PlanOf(day));
        AssertBreaks(0, day, PlanOf(day, Discard("R1", 700)).WithUnplaced("R1").WithLost("R1") with { Unplaced = [] }
            with
        { Lost = [new(new("R1"), new LeftOutReason.InWords(""))] });
    }

    [Fact]
    public void Check_LostWhileBeingMixed_IsDiscardedAfterTheMix()
    {
        var day = Day(Request("R1") with { LoadBy = At(60) }).MidRun(30, [], [Begun(Mix("R1", 20))]);
        AssertValid(day, PlanOf(day, Mix("R1", 20), Discard("R1", 70)).WithLost("R1"));
        var twoHands = day with { Bench = Bench with { Hands = 2 } };
        AssertBreaks(0, twoHands, PlanOf(twoHands, Mix("R1", 20), Discard("R1", 69, hands: 2)).WithLost("R1"));
    }

    [Fact]
    public void Check_LostWhileBeingMoved_KeepsTheReaderUntilTheDiscard()
    {
        var day = Day(Request("R1"), Request("R2"))
            .MidRun(640, [InSlot("R1", 1, 60, 70), InSlot("R2", 2, 150, 160)], [Begun(Move("R1", 630))]) with
        { Bench = Bench with { Hands = 2 } };
        Plan MovedAt(double at) =>
            PlanOf(day, Move("R1", 630), Discard("R1", 655), Move("R2", at, hands: 2), Read("R2", at + 15),
                Clear("R2", at + 55)).WithLost("R1");
        AssertValid(day, MovedAt(655));
        AssertBreaks(7, day, MovedAt(654));
    }

    [Fact]
    public void Check_DiscardInProgress_MustBeNamedLost()
    {
        var day = One.MidRun(705, [InSlot("R1", 1, 60, 70)], [Begun(Discard("R1", 700))]);
        AssertValid(day, PlanOf(day, Discard("R1", 700)).WithLost("R1"));
        AssertBreaks(0, day, PlanOf(day, Discard("R1", 700)));
    }

    [Fact]
    public void Check_LostInsideReader_BreaksForm()
    {
        var day = OneInReader.MidRun(560, [InReader("R1", 60, 70)], card: "B-L1");
        AssertBreaks(0, day, PlanOf(day, Discard("R1", 560)).WithLost("R1"));
    }

    [Fact]
    public void Check_UnplacedInWork_BreaksForm()
    {
        var day = One.MidRun(80, [Mixed("R1", 40, 60)]);
        AssertBreaks(0, day, PlanOf(day).WithUnplaced("R1"));
    }

    [Fact]
    public void Check_AfterLost_WaitsForTheDiscard()
    {
        var day = Day(Request("R1"), Request("R2") with { After = [new("R1")] }).MidRun(700, [InSlot("R1", 1, 60, 70)])
            with
        { Bench = Bench with { Hands = 2 } };
        Plan MixedAt(double at) => PlanOf(day, Discard("R1", 700, hands: 2), Mix("R2", at), Load("R2", 2, at + 50),
            Move("R2", at + 540), Read("R2", at + 555), Clear("R2", at + 595)).WithLost("R1");
        AssertValid(day, MixedAt(710));
        AssertBreaks(7, day, MixedAt(709));
    }

    [Fact]
    public void Check_StayBegunBeforeNow_IsNotHeldToTheCalendar()
    {
        var away = new CalendarEntry(new BenchResource.Slot(new SlotNumber(2)), At(0), At(9000), "out of order");
        var day = One.MidRun(200, [InSlot("R1", 2, 60, 70)]) with { Calendar = [away] };
        AssertValid(day, PlanOf(day, Move("R1", 535), Read("R1", 550), Clear("R1", 590)));
        var reader = day with { Calendar = [away with { Resource = new BenchResource.Reader(new ReaderNumber(1)) }] };
        AssertBreaks(7, reader, PlanOf(day, Move("R1", 535), Read("R1", 550), Clear("R1", 590)));
    }

    [Fact]
    public void Check_StepInProgressOfHandsAway_IsAFact()
    {
        var day = One.MidRun(30, [], [Begun(Mix("R1", 20))]) with
        { Calendar = [new(new BenchResource.Hands(new HandsNumber(1)), At(25), At(80), null)] };
        AssertValid(day,
            PlanOf(day, Mix("R1", 20), Load("R1", 1, 80), Move("R1", 570), Read("R1", 585), Clear("R1", 625)));
    }
}
