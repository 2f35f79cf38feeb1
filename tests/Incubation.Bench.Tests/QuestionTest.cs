using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.RevisingTest;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>What contradicts the bench's beliefs is stored, marked, and settled by one answer.</summary>
public sealed class QuestionTest
{

    [Fact]
    public void Loaded_WithinItsUsualSpread_AsksNothing() => Assert.Empty(Reacting().View(110).Questions);

    [Fact]
    public void Loaded_UncertainByMoreThanHalfTheGuard_AsksWhenUntilAnswered()
    {
        // Begun at 50, at the earliest at its end at 65: 10 s of usual spread + 7.5 s, so a tap after 82.5 s asks.
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        scene.Say(83, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        var asked = Assert.Single(scene.View(83).Questions);
        Assert.Equal((QuestionKind.WhenLoaded, At(83)), (asked.Key.Kind, asked.Since));
        Assert.Equal(Refusal.AnswerIncomplete,
            Refused(scene.Say(90, new BenchCommand.AnswerQuestion(asked.Key, Answer.AtThatTime))));
        Accept(scene.Say(76, new BenchCommand.AnswerQuestion(asked.Key, Answer.AtThatTime, TimeStated: true),
            arrived: 95));
        Assert.Equal(new InstantRange(At(71), At(81)), ((CartridgePhase.Reacting)scene.Find("R1").Phase!).LoadEnd);
        Assert.Empty(scene.View(95).Questions);
        Assert.Equal(Refusal.NoSuchQuestion,
            Refused(scene.Say(96, new BenchCommand.AnswerQuestion(asked.Key, Answer.NotKnown))));
    }

    /// <summary>
    /// Begun at 0, mixed at 35 at the earliest, told at 90: the mixture may have stood for half of its two minutes, or
    /// for none of them.
    /// </summary>
    [Fact]
    public void Mixed_ToldSoLateThatItMayBeTooOldSoon_AsksWhenUntilAnswered()
    {
        var scene = Running(Request("R1"));
        scene.Say(80, new BenchCommand.Mixed(R("R1")));
        Assert.Empty(scene.View(80).Questions);
        scene = Running(Request("R1"));
        scene.Say(90, new BenchCommand.Mixed(R("R1")));
        var asked = Assert.Single(scene.View(90).Questions);
        Assert.Equal((QuestionKind.WhenMixed, At(90)), (asked.Key.Kind, asked.Since));
        Accept(scene.Say(90, new BenchCommand.AnswerQuestion(asked.Key, Answer.AtThatTime, TimeStated: true),
            arrived: 95));
        Assert.Equal(new InstantRange(At(85), At(95)), ((CartridgePhase.Mixed)scene.Find("R1").Phase!).MixEnd);
        Assert.Empty(scene.View(96).Questions);
        Assert.Empty(scene.Find("R1").Deviations);
    }

    [Theory]
    [InlineData(80, 80.5, Answer.Mistake, 1)]
    [InlineData(80.5, 80, Answer.Mistake, 1)]
    [InlineData(80, 80.5, Answer.Stands, 2)]
    [InlineData(80.5, 80, Answer.Stands, 2)]
    public void Loaded_ByTwoTabletsIntoTwoSlots_OneAnswerLeavesOneOfThem(double first, double second, Answer answer,
        int left)
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(first, new BenchCommand.Loaded(R("R1"), Slot(1), true), arrived: 81);
        scene.Say(second, new BenchCommand.Loaded(R("R1"), Slot(2), true), new DeviceId("other"), arrived: 81);
        var asked = Assert.Single(scene.View(82).Questions);
        var inSecond = ((BenchEvent.Loaded)scene.Now.Story.Find(told => told.Id == asked.Report)!.Event).Place == Slot(
            2);
        Accept(scene.Say(90, new BenchCommand.AnswerQuestion(asked.Key, answer)));
        Assert.Equal(Slot(inSecond ? left : 3 - left), ((CartridgePhase.Reacting)scene.Find("R1").Phase!).Place);
        Assert.Empty(scene.View(91).Questions);
    }

    [Fact]
    public void Loaded_JustWithinTheGuard_AsksNothing()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        scene.Say(82.5, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        Assert.Empty(scene.View(83).Questions);
    }

    [Fact]
    public void ReaderThatNobodyKnowsToBeEmpty_IsOfferedForNothingUntilTheAnswer()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(80, new BenchCommand.Loaded(R("R1"), Slot(1), true));
        scene.Say(85, new BenchCommand.Mixed(R("R2")));
        scene.Say(110, new BenchCommand.Loaded(R("R2"), Slot(2), true));
        scene.Say(200, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Say(220, new BenchCommand.ReadStarted(R("R2"), Reader1, false));
        scene.Say(260, new BenchCommand.Cleared(R("R2"), Reader1));
        Assert.IsType<CartridgeStage.Astray>(scene.Find("R1").Stage);
        Assert.True(scene.Now.IsInDoubt(Reader1));
        scene.Plan(261, PlanCause.Report);
        Assert.DoesNotContain(scene.View(262).Offers, offer => offer.Action.NeedsReader == Reader1);

        var asked = scene.View(262).Questions.First(question => question.Other == R("R1"));
        Accept(scene.Say(265, new BenchCommand.AnswerQuestion(asked.Key, Answer.OtherDiscarded)));
        Assert.False(scene.Now.IsInDoubt(Reader1));
    }

    [Theory]
    [InlineData(Answer.OtherDiscarded)]
    [InlineData(Answer.OtherInSlot)]
    [InlineData(Answer.InSlot)]
    [InlineData(Answer.OtherCleared)]
    [InlineData(Answer.OtherMoved)]
    [InlineData(Answer.Mistake)]
    public void SlotBelievedTaken_OneAnswer_SettlesIt(Answer answer)
    {
        var scene = SlotTakenTwice();
        var asked = Assert.Single(scene.View(151).Questions);
        Assert.Equal((QuestionKind.Contradiction, R("R2"), R("R1")),
            (asked.Key.Kind, asked.Request!.Value, asked.Other!.Value));
        Assert.Contains(Deviation.SlotBelievedTaken, scene.Find("R2").Deviations);
        var slot = asked.Answers.Single(option => option.Answer == answer).Slots is { IsEmpty: false } slots
            ? slots[0] : (SlotNumber?)null;
        var takesTime = asked.Answers.Single(option => option.Answer == answer).TakesTime;
        Accept(scene.Say(takesTime ? 140 : 160, new BenchCommand.AnswerQuestion(asked.Key, answer, slot, takesTime),
            arrived: 160));
        Assert.Empty(scene.View(160).Questions);
        Assert.DoesNotContain(scene.Now.Cartridges, cartridge => cartridge.Stage is CartridgeStage.Astray);
        Assert.Empty(scene.Find("R2").Deviations);
        scene.Plan(160, PlanCause.Corrected);
        Assert.NotEmpty(scene.View(160).Offers);
        var (first, second) = (scene.Find("R1"), scene.Find("R2"));
        switch (answer)
        {
            case Answer.OtherDiscarded:
                Assert.Equal(DiscardReason.FoundGone, Assert.IsType<CartridgeStage.Discarded>(first.Stage).Reason);
                break;
            case Answer.OtherCleared:
                Assert.IsType<CartridgeStage.Cleared>(first.Stage);
                Assert.Contains(Deviation.OutOfOrder, first.Deviations);
                break;
            case Answer.OtherMoved:
                Assert.Equal((At(140), Reader1), Assert.IsType<CartridgePhase.Reading>(first.Phase) is var reading
                    ? (reading.Start, reading.Reader) : default);
                Assert.Equal(new SlotNumber(1), SlotOf(second));
                break;
            case Answer.OtherInSlot:
                Assert.Equal((slot, new SlotNumber(1)), (SlotOf(first), SlotOf(second)));
                break;
            case Answer.InSlot:
                Assert.Equal((new SlotNumber(1), slot), (SlotOf(first), SlotOf(second)));
                break;
            default:
                Assert.Equal(new SlotNumber(1), SlotOf(first));
                Assert.IsType<CartridgePhase.Mixed>(second.Phase);
                break;
        }
    }

    [Fact]
    public void SlotBelievedTaken_OtherDiscardedByTheAlarm_EndsTheQuestion()
    {
        var scene = SlotTakenTwice();
        scene.Say(155, new BenchCommand.Discarded(R("R1"), DiscardReason.Dropped, null));
        Assert.Empty(scene.View(156).Questions);
    }

    [Fact]
    public void Loaded_NeverMixed_WasMixedReleasesTheResult()
    {
        var scene = Running(Request("R1"));
        scene.Say(30, new BenchCommand.Loaded(R("R1"), Slot(2), false));
        var asked = Assert.Single(scene.View(31).Questions);
        Accept(scene.Say(40, new BenchCommand.AnswerQuestion(asked.Key, Answer.WasMixed)));
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.IsType<CartridgePhase.Reacting>(scene.Find("R1").Phase);
        Assert.Empty(scene.View(41).Questions);
    }

    [Fact]
    public void Loaded_NeverMixed_TheMixReportedLaterWithItsTimeEndsTheQuestion()
    {
        var scene = Running(Request("R1"));
        scene.Say(60, new BenchCommand.Loaded(R("R1"), Slot(2), false));
        Accept(scene.Say(30, new BenchCommand.Mixed(R("R1"), TimeStated: true), arrived: 90));
        Assert.Empty(scene.View(91).Questions);
        Assert.Empty(scene.Find("R1").Deviations);
    }

    [Fact]
    public void Loaded_InTwoSlotsWithinASecond_IsOneQuestionAndOneTruth()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Say(75.6, new BenchCommand.Loaded(R("R1"), Slot(2), false), new DeviceId("other"));
        var asked = Assert.Single(scene.View(76).Questions);
        Accept(scene.Say(80, new BenchCommand.AnswerQuestion(asked.Key, Answer.Stands)));
        Assert.Equal(new SlotNumber(2), SlotOf(scene.Find("R1")));
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.Empty(scene.View(81).Questions);
    }

    [Fact]
    public void ReadStarted_NeverLoaded_StandsButStaysHeld()
    {
        var scene = Running(Request("R1"));
        scene.Say(10, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Say(100, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        var asked = Assert.Single(scene.View(101).Questions);
        Accept(scene.Say(105, new BenchCommand.AnswerQuestion(asked.Key, Answer.Stands)));
        Assert.Empty(scene.View(106).Questions);
        Assert.Equal([Deviation.OutOfOrder], scene.Find("R1").Deviations);
    }

    [Fact]
    public void ReadStarted_BeforeTheLoad_IsStoredFlaggedHeldAndAsked()
    {
        var scene = Reacting();
        scene.Say(30, new BenchCommand.ReadStarted(R("R1"), Reader1, StatedInTime: true), arrived: 700);
        Assert.False(scene.Find("R1").ReadInWindow);
        Assert.NotEmpty(scene.Find("R1").Deviations);
        var asked = Assert.Single(scene.View(701).Questions);
        Assert.Equal(R("R1"), asked.Request);
    }

    /// <summary>In a window that has closed by then is a word against the clock, as it is without a question.</summary>
    [Theory]
    [InlineData(570, Deviation.StatedInTime)]
    [InlineData(690, Deviation.LateRead)]
    public void Cleared_ReadNeverReported_ItsStatedTimeIsJudgedByTheWindow(int stated, Deviation judged)
    {
        var scene = Reacting();
        scene.Say(700, new BenchCommand.Cleared(R("R1"), Reader1));
        var asked = Assert.Single(scene.View(701).Questions);
        Accept(scene.Say(stated, new BenchCommand.AnswerQuestion(asked.Key, Answer.WasRead, TimeStated: true),
            arrived: 720));
        Assert.False(scene.Find("R1").ReadInWindow);
        Assert.Equal([judged], scene.Find("R1").Deviations);
        Assert.Empty(scene.View(721).Questions);
    }

    [Fact]
    public void ReadStarted_WithAnotherCard_OneTapSaysItWasTheRightOne()
    {
        var scene = Reacting();
        scene.Say(200, new BenchCommand.CardChanged(Reader1, new LotCode("L2")));
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        var asked = Assert.Single(scene.View(561).Questions);
        Accept(scene.Say(565, new BenchCommand.AnswerQuestion(asked.Key, Answer.CardWasRight)));
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.True(scene.Find("R1").ReadInWindow);
        Assert.Equal(new LotCode("L1"), scene.Now.CardIn(Scene.Reader1));
    }

    [Fact]
    public void Cleared_AfterADiscardFromAnotherTablet_IsOneQuestion()
    {
        var scene = Reacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Say(610, new BenchCommand.Discarded(R("R1"), DiscardReason.Dropped, null));
        scene.Say(610.4, new BenchCommand.Cleared(R("R1"), Reader1), new DeviceId("other"));
        var asked = Assert.Single(scene.View(611).Questions);
        Accept(scene.Say(620, new BenchCommand.AnswerQuestion(asked.Key, Answer.Stands)));
        Assert.IsType<CartridgeStage.Cleared>(scene.Find("R1").Stage);
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.Empty(scene.View(621).Questions);
    }

    [Fact]
    public void SlotLoadedWhileItsMoveWasNext_AsksWhenTheMoveIsNextNoMore()
    {
        // R2 went into slot 1 while R1 was about to be moved out of it; the move never came.
        var scene = Reacting();
        scene.Say(541, new BenchCommand.AddRequests([Request("R2")]));
        scene.Say(543, new BenchCommand.Mixed(R("R2"), TimeStated: true));
        scene.Say(549, new BenchCommand.Loaded(R("R2"), Slot(1), false));
        Assert.Empty(scene.View(549).Questions);
        scene.NoteNotKnown(650);
        scene.Plan(650, PlanCause.WindowClosed);
        var asked = Assert.Single(scene.View(651).Questions);
        Assert.Equal(R("R1"), asked.Other);
        Accept(scene.Say(655, new BenchCommand.AnswerQuestion(asked.Key, Answer.OtherDiscarded)));
        Assert.Empty(scene.View(656).Questions);
        Assert.IsType<CartridgeStage.Discarded>(scene.Find("R1").Stage);
    }

    private static SlotNumber? SlotOf(Cartridge cartridge) =>
        ((cartridge.Phase as CartridgePhase.Reacting)?.Place as CartridgePlace.InSlot)?.Slot;

    /// <summary>
    /// What was told to be loaded into a taken slot was in another, and has been thrown away: the slot holds what was
    /// in it all the time, and nothing else is put there.
    /// </summary>
    [Fact]
    public void SlotBelievedTaken_TheOtherIsStillInIt_IsBelievedThereAgain()
    {
        var scene = SlotTakenTwice();
        var free = scene.View(151).Questions.Single().Answers.Single(option => option.Answer == Answer.OtherInSlot);
        Assert.DoesNotContain(new SlotNumber(1), free.Slots);
        Accept(scene.Say(155, new BenchCommand.Discarded(R("R2"), DiscardReason.Dropped, null)));

        var asked = Assert.Single(scene.View(156).Questions);
        Accept(scene.Say(160, new BenchCommand.AnswerQuestion(asked.Key, Answer.OtherInSlot, new SlotNumber(1))));

        Assert.Equal(new SlotNumber(1), SlotOf(scene.Find("R1")));
        Assert.IsType<CartridgeStage.Discarded>(scene.Find("R2").Stage);
        Assert.Empty(scene.View(160).Questions);
        scene.Plan(160, PlanCause.Corrected);
        Assert.DoesNotContain(scene.Now.Adopted!.Remaining, row => row.Step.Start < At(180)
            && row.Step.Action is StepAction.Load { Place: CartridgePlace.InSlot { Slot.Value: 1 } });
    }

    private static Scene SlotTakenTwice()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Say(125, new BenchCommand.Mixed(R("R2")));
        scene.Say(150, new BenchCommand.Loaded(R("R2"), Slot(1), false));
        return scene;
    }
}
