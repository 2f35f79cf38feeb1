using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.RevisingTest;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// Hands are believed only so long: then the step is not known, they count as free, and nothing that may have been done
/// is done again before somebody has said.
/// </summary>
public sealed class StepNotKnownTest
{
    private static readonly HandsNumber Hands = new(1);

    [Fact]
    public void NoteStepNotKnown_WithinTheAllowedTime_IsRefused()
    {
        var scene = Running(Request("R1"));
        Assert.Equal(Refusal.NoSuchThing, Refused(scene.Say(49, Note(new StepAction.Mix(R("R1"))))));
        Assert.Equal(Refusal.NoSuchThing, Refused(scene.Say(90, Note(new StepAction.Mix(R("R2"))))));
        Accept(scene.Say(50, Note(new StepAction.Mix(R("R1")))));
        Assert.Equal(Refusal.NoSuchThing, Refused(scene.Say(90, Note(new StepAction.Mix(R("R1"))))));
    }

    [Fact]
    public void Mix_NotKnown_FreesTheHandsAndIsNotOfferedAnew()
    {
        var scene = MixNotKnown();
        var view = scene.View(111);
        Assert.Equal(new StepAction.Mix(R("R2")), view.Offers.Single().Action);
        Assert.DoesNotContain(scene.Now.Adopted!.Remaining, row => row.Step.Action.Subject == R("R1"));
        Assert.Empty(scene.Now.Adopted.Plan.Lost);
        var step = view.NotKnown.Single();
        Assert.Equal(new UnknownStep(Hands, new StepAction.Mix(R("R1")), Start, At(110)) { Planned = step.Planned },
            step);
        // What was planned for it is kept for a screen that loses its server.
        Assert.Equal([typeof(StepAction.Mix), typeof(StepAction.Load), typeof(StepAction.Move),
            typeof(StepAction.Clear)], step.Planned.Where(row => row.Step.Hands is not null)
            .Select(row => row.Step.Action.GetType()));
        Assert.Equal([Answer.AtThatTime, Answer.NotBegun, Answer.Spoilt],
            view.Questions.Single().Answers.Select(option => option.Answer));
    }

    [Fact]
    public void SilentHands_AreOfferedWhatComesNext_AndLeaveNothingElseNotKnown()
    {
        var scene = MixNotKnown();
        for (var at = 111; at < 1500; at += 10)
        {
            if (scene.View(at).ReplanAt <= At(at))
                scene.Plan(at, PlanCause.StepOverran);
            Assert.Null(scene.View(at).NotKnownAt);
            Assert.IsType<StepAction.Mix>(scene.View(at).Offers.Single().Action);
        }

        Assert.Single(scene.Now.NotKnown);
        // Of what is reported now, nobody knows when it was begun.
        scene.Say(1510, new BenchCommand.Mixed(R("R2")));
        Assert.Equal(new InstantRange(At(110 + 35), At(1510)), ((CartridgePhase.Mixed)scene.Find("R2").Phase!).MixEnd);
        Assert.Null(scene.Now.SilentSince(Hands));
    }

    [Fact]
    public void Silence_IsPlannedAnewTheRarerTheLongerItLasts()
    {
        var scene = MixNotKnown();
        var plans = 0;
        for (var at = 111; at < 1311; at++)
        {
            if (scene.View(at).ReplanAt > At(at))
                continue;
            scene.Plan(at, PlanCause.StepOverran);
            plans++;
        }

        Assert.InRange(plans, 10, 40);
    }

    [Fact]
    public void Mix_AnsweredAsDone_IsMixedAtThatTime()
    {
        var scene = MixNotKnown();
        Accept(scene.Say(60, AnswerOf(scene, 130, Answer.AtThatTime, stated: true), arrived: 130));
        scene.Plan(130);
        Assert.Equal(new InstantRange(At(55), At(65)), ((CartridgePhase.Mixed)scene.Find("R1").Phase!).MixEnd);
        Assert.Empty(scene.Now.NotKnown);
        Assert.Empty(scene.View(131).Questions);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action is StepAction.Load load
            && load.Request == R("R1"));
        Assert.Empty(scene.Find("R1").Deviations);
    }

    /// <summary>
    /// Whoever has just said what became of the last step is not in the middle of the next, however long ago a plan
    /// that did not know it had that begin: the mixture is loaded first.
    /// </summary>
    [Fact]
    public void Mix_AnsweredAsDoneLongAgo_LeavesTheHandsFreeToLoadIt()
    {
        var scene = MixNotKnown();
        Accept(scene.Say(60, AnswerOf(scene, 170, Answer.AtThatTime, stated: true), arrived: 170));
        Assert.Empty(LiveBench.Problem(scene.Now, At(170)).MidRun!.Steps);
        var view = scene.View(170.5);
        Assert.Empty(view.Offers);
        Assert.DoesNotContain(view.Alarms, alarm => alarm.Key.Kind == AlarmKind.CannotBeSaved
            && alarm.StandsAt(At(170.5)));
        scene.Plan(170.5);
        Assert.Equal(R("R1"), Assert.IsType<StepAction.Load>(scene.View(171).Offers.Single().Action).Request);
    }

    /// <summary>A tap at the last instant of the allowed time has not arrived yet.</summary>
    [Fact]
    public void StepNotKnown_IsNotSaidBeforeWhatEndedInTimeCanBeHeard()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        var waits = scene.View(51).NotKnownAt;
        Assert.True(waits >= At(50 + 25 + 1), waits.ToString());
    }

    [Fact]
    public void Mix_AnsweredAsNotBegun_IsOfferedAgain()
    {
        var scene = MixNotKnown();
        Accept(scene.Say(130, AnswerOf(scene, 130, Answer.NotBegun)));
        scene.Plan(130);
        Assert.Empty(scene.View(131).Questions);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action == new StepAction.Mix(R("R1")));
        Assert.Equal(At(130), scene.Now.LastReportOf(Hands));
    }

    [Fact]
    public void Mix_AnsweredAsSpoilt_IsDiscardedAndCanBeRepeated()
    {
        var scene = MixNotKnown();
        Accept(scene.Say(130, AnswerOf(scene, 130, Answer.Spoilt)));
        Assert.IsType<CartridgeStage.Discarded>(scene.Find("R1").Stage);
        Assert.Contains(R("R1"), scene.View(131).Repeats);
        Assert.Empty(scene.View(131).Questions);
    }

    [Fact]
    public void Mix_ToldLate_EndsTheQuestionAndIsLimitedByItsBegin()
    {
        var scene = MixNotKnown();
        scene.Say(125, new BenchCommand.Mixed(R("R1")));
        Assert.Equal(new InstantRange(At(35), At(125)), ((CartridgePhase.Mixed)scene.Find("R1").Phase!).MixEnd);
        Assert.Empty(scene.Now.NotKnown);
        // Whether it was mixed before they were called away, or just now, nobody can tell but they.
        Assert.Equal(QuestionKind.WhenMixed, Assert.Single(scene.View(126).Questions).Key.Kind);
    }

    /// <summary>
    /// The load was done and not tapped; the mixture would be too old by now. It is told, and comes back with its
    /// window; until then its slot is offered to nobody.
    /// </summary>
    [Fact]
    public void Load_DoneAndNotTapped_ComesBackWithItsWindowAndItsSlotWasNeverOffered()
    {
        var scene = Open(slots: 2);
        scene.Say(0, new BenchCommand.AddRequests([Request("R1"), Request("R2"), Request("R3")]));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        var slot = Assert.IsType<StepAction.Load>(scene.View(50).Offers.Single().Action).Place;
        for (var at = 60.0; at < 400; at += 5)
        {
            scene.NoteNotKnown(at);
            if (scene.Now.HasUnplanned || scene.View(at).ReplanAt <= At(at))
                scene.Plan(at, PlanCause.StepOverran);
            Assert.DoesNotContain(scene.View(at).Alarms, alarm => alarm.Key.Kind == AlarmKind.MixtureTooOld
                && alarm.StandsAt(At(at)));
            if (scene.Now.NotKnown.IsEmpty)
                continue;
            Assert.DoesNotContain(scene.Now.Adopted!.Remaining, row => row.Step.Action is StepAction.Load load
                && load.Place == slot);
            Assert.Equal(R("R1"), scene.View(at).Slots.Single(view => slot.Equals(
                new CartridgePlace.InSlot(view.Slot))).NotKnown!.Action.Subject);
        }

        Accept(scene.Say(75, AnswerOf(scene, 405, Answer.AtThatTime, stated: true), arrived: 405));
        scene.Plan(405);
        Assert.Equal(At(80 + 480), scene.Now.WindowOf(scene.Find("R1"))!.Value.Opens);
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action == new StepAction.Move(R("R1"), Reader1));
        Assert.Empty(scene.Now.Adopted.Plan.Lost);
        Assert.Empty(scene.View(406).Questions);
    }

    /// <summary>The window had closed when it was said: said to be in time, or late by its own words.</summary>
    [Theory]
    [InlineData(556, Deviation.StatedInTime)]
    [InlineData(661, Deviation.LateRead)]
    public void Move_IntoTheOnlyReaderNotKnown_IsAskedForFirstAndNothingGoesThere(int begun, Deviation differs)
    {
        var scene = Reacting();
        scene.Say(101, new BenchCommand.AddRequests([Request("R2")]));
        scene.Plan(101, PlanCause.RequestsChanged);
        scene.Say(150, new BenchCommand.Mixed(R("R2")));
        scene.Say(175, new BenchCommand.Loaded(R("R2"), Slot(2), false));
        scene.Plan(175);
        scene.NoteNotKnown(584);
        Assert.Empty(scene.Now.NotKnown);
        // Its window opens at 555; it may have been held until then.
        scene.NoteNotKnown(585);
        scene.Plan(585, PlanCause.MeansChanged);
        Assert.Equal(new StepAction.Move(R("R1"), Reader1), scene.Now.NotKnown.Single().Action);
        Assert.Equal(QuestionKind.StepNotKnown, scene.View(660).Questions[0].Key.Kind);
        Assert.DoesNotContain(scene.View(660).Offers, offer => offer.Action.NeedsReader is not null);
        Accept(scene.Say(begun, AnswerOf(scene, 662, Answer.AtThatTime, stated: true), arrived: 662));
        scene.Plan(662);
        Assert.IsType<CartridgePhase.Reading>(scene.Find("R1").Phase);
        Assert.Equal(new StepAction.Clear(R("R1"), Reader1), scene.View(662).Offers.Single().Action);
        Assert.Equal([differs], scene.Find("R1").Deviations);
    }

    [Fact]
    public void Clear_NotKnown_AnsweredAsNotBegun_IsOfferedAgain()
    {
        var scene = Reacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Plan(560);
        scene.NoteNotKnown(600 + 10 + 60);
        scene.Plan(670, PlanCause.MeansChanged);
        Assert.Empty(scene.View(671).Offers);
        Assert.Equal(R("R1"), scene.View(671).Readers.Single().NotKnown!.Action.Subject);
        Assert.Equal([Answer.AtThatTime, Answer.NotBegun],
            scene.View(671).Questions.Single().Answers.Select(option => option.Answer));
        Accept(scene.Say(680, AnswerOf(scene, 680, Answer.NotBegun)));
        scene.Plan(680);
        Assert.Equal(new StepAction.Clear(R("R1"), Reader1), scene.View(681).Offers.Single().Action);
    }

    [Fact]
    public void CardChange_NotKnown_LeavesTheCardInDoubt()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Plan(75);
        Assert.IsType<StepAction.CardChange>(scene.View(76).Offers.Single().Action);
        scene.NoteNotKnown(75 + 25 + 30);
        scene.Plan(130, PlanCause.MeansChanged);
        Assert.Equal(new CardDoubt(null, CardDoubtCause.StepNotKnown), scene.Now.DoubtOf(Reader1));
        Assert.Equal(QuestionKind.CardInDoubt, scene.View(131).Questions.Single().Key.Kind);
        Assert.IsType<StepAction.CardChange>(scene.View(131).Offers.Single().Action);
        Assert.Null(scene.View(131).NotKnownAt);
        scene.Say(140, new BenchCommand.CardSeen(Reader1, new LotCode("L1")));
        scene.Plan(140);
        Assert.IsType<StepAction.Move>(scene.View(141).Offers.Single().Action);
    }

    /// <summary>Another report of the cartridge, corrected meanwhile, does not end the question.</summary>
    [Fact]
    public void Load_NotKnown_StaysSoWhenAnEarlierReportIsCorrected()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")), id: "mixed");
        scene.Plan(50);
        scene.NoteNotKnown(120);
        scene.Plan(120, PlanCause.MeansChanged);
        Accept(scene.Say(125,
            new BenchCommand.CorrectReport(new ReportId("mixed"), At(48), null, null, "two earlier")));
        scene.Plan(125, PlanCause.Corrected);
        Assert.Equal(R("R1"), scene.Now.NotKnown.Single().Action.Subject);
        // A mix now would cost R1, should it not be loaded: what is asked comes first.
        Assert.Empty(scene.View(126).Offers);
        scene.Say(127, new BenchCommand.AnswerQuestion(scene.View(126).Questions.Single(question =>
            question.Key.Kind == QuestionKind.StepNotKnown).Key, Answer.NotBegun));
        scene.Plan(127);
        Assert.IsType<StepAction.Load>(scene.View(128).Offers.Single().Action);
    }

    /// <summary>
    /// What is told anew for a correction was told before the step came to be not known: it says nothing of that step,
    /// nor that its hands have been heard of.
    /// </summary>
    [Fact]
    public void Move_NotKnown_StaysSoWhenItsLoadIsCorrected()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false), id: "loaded");
        scene.Plan(75);
        scene.Say(100, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Plan(100);
        scene.NoteNotKnown(585);
        scene.Plan(585, PlanCause.MeansChanged);
        Assert.Equal(new StepAction.Move(R("R1"), Reader1), scene.Now.NotKnown.Single().Action);
        Accept(scene.Say(590,
            new BenchCommand.CorrectReport(new ReportId("loaded"), At(73), null, null, "two earlier")));
        Assert.Equal(new StepAction.Move(R("R1"), Reader1), scene.Now.NotKnown.Single().Action);
        Assert.Equal(At(585), scene.Now.SilentSince(Hands));
    }

    /// <summary>
    /// Until the tap the screen said that the hands were at what they told: whatever comes next they begin after it.
    /// </summary>
    [Fact]
    public void Mix_ToldLateWithItsTime_NextIsNotBegunBeforeTheTap()
    {
        var scene = Running(Request("R1"), Request("R2"));
        Accept(scene.Say(50, new BenchCommand.Mixed(R("R1"), TimeStated: true), arrived: 90));
        Assert.DoesNotContain(LiveBench.Problem(scene.Now, At(90)).MidRun!.Steps, step => step.Start < At(90));
        scene.Plan(90);
        Assert.All(scene.View(91).Offers, offer => Assert.True(offer.MayBegin >= At(90), offer.MayBegin.ToString()));
    }

    [Fact]
    public void NotKnown_EndsWithItsBatchsRequest_WhenThatIsWithdrawn()
    {
        var scene = MixNotKnown();
        Accept(scene.Say(130, new BenchCommand.WithdrawRequest(R("R1"))));
        Assert.Empty(scene.Now.NotKnown);
        Assert.Empty(scene.View(131).Questions);
    }

    private static Scene MixNotKnown()
    {
        var scene = Running(Request("R1"), Request("R2"));
        Assert.Equal(new StepAction.Mix(R("R1")), scene.View(0).Offers.Single().Action);
        Assert.Equal(At(110), scene.View(0).NotKnownAt);
        scene.NoteNotKnown(110);
        scene.Plan(110, PlanCause.MeansChanged);
        return scene;
    }

    private static BenchCommand.NoteStepNotKnown Note(StepAction action) => new(Hands, action);

    private static BenchCommand.AnswerQuestion AnswerOf(Scene scene, double seconds, Answer answer,
        bool stated = false) =>
        new(scene.View(seconds).Questions[0].Key, answer, TimeStated: stated);
}
