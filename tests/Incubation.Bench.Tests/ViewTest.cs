using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

public sealed class ViewTest
{
    [Fact]
    public void Offers_BeforeTheBatchStarts_AreNone()
    {
        var scene = Open();
        scene.Say(0, new BenchCommand.AddRequests([Request("R1")]));
        scene.Plan(0);
        Assert.Empty(scene.View(0).Offers);
        Assert.NotEmpty(scene.View(0).Upcoming);
    }

    /// <summary>
    /// A program's report "mixed" was taken on a batch that had not started: the row said "mixed", the tablet "Ready to
    /// start". Who works on a batch has begun it.
    /// </summary>
    [Fact]
    public void Mixed_OnABatchThatNobodyHasStarted_BeginsIt()
    {
        var scene = Open();
        scene.Say(0, new BenchCommand.AddRequests([Request("R1")]));
        scene.Plan(0);
        Assert.Equal(BatchPhase.Preparing, scene.Now.Phase);
        Assert.IsType<Decision.Accepted>(scene.Say(60, new BenchCommand.Mixed(R("R1"))));
        Assert.Equal(BatchPhase.Running, scene.Now.Phase);
        Assert.IsType<CartridgePhase.Mixed>(scene.Find("R1").Phase);
    }

    [Fact]
    public void Offer_OfTheFirstMix_IsPromptedAheadAndMayBeginAtTheStart()
    {
        var offer = Running(Request("R1")).View(0).Offers.Single();
        Assert.Equal(new StepAction.Mix(R("R1")), offer.Action);
        Assert.Equal((At(-20), At(0), At(50)), (offer.PromptAt, offer.MayBegin, offer.PlannedEnd));
    }

    [Fact]
    public void Offer_OfABatchStartedLongAfterItWasPlanned_BeginsAtTheStart()
    {
        var scene = Open();
        scene.Say(0, new BenchCommand.AddRequests([Request("R1")]));
        scene.Plan(0, PlanCause.RequestsChanged);
        scene.Say(9000, new BenchCommand.StartBatch());
        Assert.Equal(At(9000), scene.View(9000).Offers.Single().MayBegin);
        scene.Plan(9000, PlanCause.BatchStarted);
        Assert.Equal(At(9000), scene.View(9001).Offers.Single().MayBegin);

        scene.Say(9045, new BenchCommand.Mixed(R("R1")));
        scene.Plan(9045);
        Assert.Equal(new CartridgePhase.Mixed(new InstantRange(At(9035), At(9045))), scene.Find("R1").Phase);
        Assert.DoesNotContain(scene.View(9046).Alarms, a => a.StandsAt(At(9046)));
    }

    [Fact]
    public void Offer_AfterAQuickReport_IsPulledEarlier()
    {
        var scene = Running(Request("R1"));
        scene.Say(40, new BenchCommand.Mixed(R("R1")));
        scene.Plan(40);
        var offer = scene.View(40).Offers.Single();
        Assert.IsType<StepAction.Load>(offer.Action);
        Assert.Equal(At(40), offer.MayBegin);
        Assert.Equal(At(40 + 25 + 7.5), offer.AskWhenAfter);
    }

    /// <summary>
    /// The first pair of hands is still loading when the plan has the second load into the same slot: only one of the
    /// two can have begun.
    /// </summary>
    [Fact]
    public void CanBegin_ALoadIntoASlotThatOtherHandsAreFilling_WaitsForTheirs()
    {
        var scene = Open(hands: 2);
        scene.Say(0, new BenchCommand.AddRequests([Request("R1"), Request("R2")]));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(50, new BenchCommand.Mixed(R("R2")));
        var (first, second) = (new StepAction.Load(R("R1"), Slot(1)), new StepAction.Load(R("R2"), Slot(1)));
        RemainingStep Row(StepAction action, int hands, double from) =>
            new(new PlannedStep(action, new HandsNumber(hands), At(from), At(from + 25)), null);
        var state = Following(scene, Row(first, 1, 60), Row(second, 2, 90));

        Assert.True(LiveBench.CanBegin(state, first, At(95)));
        Assert.False(LiveBench.CanBegin(state, second, At(95)));
        Assert.Equal([first], LiveBench.Problem(state, At(95)).MidRun!.Steps.Select(step => step.Action));

        // Thrown away instead: the slot is the second pair's.
        scene.Say(96, new BenchCommand.Discarded(R("R1"), DiscardReason.Dropped, null));
        Assert.True(LiveBench.CanBegin(Following(scene, Row(second, 2, 90)), second, At(97)));
    }

    private static BenchState Following(Scene scene, params RemainingStep[] rows) =>
        scene.Now with { Run = scene.Now.Run with { Adopted = scene.Now.Adopted! with { Remaining = [.. rows] } } };

    [Fact]
    public void Offer_OfALoad_IsNeverIntoASlotThatAReportHasTaken()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        var planned = Assert.IsType<StepAction.Load>(scene.View(50).Offers.Single().Action);
        scene.Say(60, new BenchCommand.Mixed(R("R2"), TimeStated: true));
        scene.Say(75, new BenchCommand.Loaded(R("R2"), planned.Place, false));
        Assert.DoesNotContain(scene.View(75).Offers, offer => offer.Action == planned);
        scene.Plan(75);
        Assert.NotEqual(planned.Place, Assert.IsType<StepAction.Load>(scene.View(75).Offers.Single().Action).Place);
    }

    [Fact]
    public void Offer_OfAMove_CanBeReportedFromTheWindowsOpening()
    {
        var offer = Reacting().View(540).Offers.Single();
        Assert.IsType<StepAction.Move>(offer.Action);
        Assert.Equal(At(540), offer.MayBegin);
        Assert.Equal(At(555), offer.ReportFrom);
        Assert.Equal(At(635), offer.Window!.Value.Closes);
        Assert.Equal(At(620 - 15), offer.LatestStart);
    }

    [Fact]
    public void Alarms_OfAReactingCartridge_AreAnnouncedBeforeTheyStand()
    {
        var alarms = Reacting().View(100).Alarms;
        Assert.Equal([AlarmKind.WindowInDanger, AlarmKind.WindowClosed], alarms.Select(a => a.Key.Kind));
        Assert.Equal((At(585), At(635)), (alarms[0].From, alarms[0].Until));
        Assert.Equal(At(635), alarms[1].From);
        Assert.DoesNotContain(alarms, a => a.StandsAt(At(100)));
    }

    [Fact]
    public void Alarms_WhenTheHandsAreStillElsewhere_StandFromAPromptBeforeTheLatestStartOfTheMove()
    {
        var scene = Reacting();
        scene.Say(500, new BenchCommand.AddRequests([Request("R2")]));
        scene.Plan(500, PlanCause.RequestsChanged);
        var mixing = Assert.IsType<StepAction.Mix>(scene.View(500).Offers.Single().Action);
        Assert.Equal(R("R2"), mixing.Request);
        // The mix drags on: the move of R1 is not begun, and must begin at 605 to start its read before the guard;
        // it is said one prompt ahead.
        Assert.Equal(At(585), scene.View(584).Alarms.First(a => a.Key.Kind == AlarmKind.WindowInDanger).From);
        Assert.True(scene.View(605).Alarms.First(a => a.Key.Kind == AlarmKind.WindowInDanger).StandsAt(At(605)));
    }

    [Fact]
    public void Alarms_AfterTheWindowClosed_OnlyTheHighOneStands()
    {
        var scene = Reacting();
        scene.NoteNotKnown(600);
        scene.Plan(600, PlanCause.MeansChanged);
        scene.Plan(636, PlanCause.WindowClosed);
        var standing = scene.View(636).Alarms.Where(a => a.StandsAt(At(636))).ToList();
        Assert.Equal((AlarmKind.WindowClosed, AlarmPriority.High),
            (standing.Single().Key.Kind, standing.Single().Priority));
        // Its move may have been done: it is asked for, and nobody is sent to throw it away.
        Assert.Empty(scene.View(636).Offers);
        Assert.Equal(QuestionKind.StepNotKnown, scene.View(636).Questions.Single().Key.Kind);
    }

    [Fact]
    public void Offer_OfALoadWhoseMixtureHasBecomeTooOld_GivesWayToItsDiscard()
    {
        // Mixed between 35 and 50, to be loaded by 155, and no hands until 200.
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(51, new BenchCommand.PutOutOfUse(new BenchResource.Hands(new HandsNumber(1)), Seconds(60), null));
        scene.Plan(51, PlanCause.MeansChanged);
        Assert.IsType<StepAction.Load>(scene.View(110).Offers.Single().Action);
        scene.Say(110, new BenchCommand.PutOutOfUse(new BenchResource.Hands(new HandsNumber(1)), Seconds(90), null,
            Anyway: true));
        Assert.True(scene.View(140).ReplanAt <= At(155.001));
        scene.Plan(110, PlanCause.MeansChanged);
        Assert.Contains(scene.View(154).Alarms, a => a.Key.Kind == AlarmKind.CannotBeSaved && a.StandsAt(At(154)));
        scene.Plan(155.001, PlanCause.WindowClosed);
        var offer = scene.View(156).Offers.Single();
        Assert.IsType<StepAction.Discard>(offer.Action);
        Assert.Equal(DiscardReason.MixtureTooOld, offer.Reason);
        Assert.Contains(scene.View(156).Alarms, a => a.Key.Kind == AlarmKind.MixtureTooOld && a.StandsAt(At(156)));
    }

    [Fact]
    public void Offer_OfALoadThatNobodyReports_GivesWayToAQuestion()
    {
        // Its load counts as begun at 50, may take 25 and is believed for 45 more.
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        Assert.Equal(At(120), scene.View(60).NotKnownAt);
        Assert.IsType<StepAction.Load>(scene.View(119).Offers.Single().Action);
        scene.NoteNotKnown(119);
        Assert.Empty(scene.Now.NotKnown);
        scene.NoteNotKnown(120);
        scene.Plan(120, PlanCause.MeansChanged);
        Assert.Empty(scene.View(121).Offers);
        var question = scene.View(121).Questions.Single();
        Assert.Equal((QuestionKind.StepNotKnown, R("R1"), Slot(1)),
            (question.Key.Kind, question.Request!.Value, question.Place));
        Assert.Contains(scene.View(141).Alarms, a => a.Key.Kind == AlarmKind.MixtureInDanger && a.StandsAt(At(141)));
        Assert.DoesNotContain(scene.View(300).Alarms, a => a.StandsAt(At(300)));
    }

    [Fact]
    public void Acknowledged_Alarm_StillStandsSilently()
    {
        var scene = Reacting();
        var key = new AlarmKey(AlarmKind.WindowClosed, R("R1"));
        scene.Say(640, new BenchCommand.AcknowledgeAlarm(key));
        Assert.True(scene.View(641).Alarms.Single(a => a.Key == key).Acknowledged);
        Assert.True(scene.View(641).Alarms.Single(a => a.Key == key).StandsAt(At(641)));
    }

    [Fact]
    public void ReplanAt_AStepWithinItsAllowedTime_IsJustAfterItsEnd() =>
        Assert.Equal(At(51), Running(Request("R1")).View(10).ReplanAt);

    [Fact]
    public void ReplanAt_ALongOverrun_GetsRarer()
    {
        var scene = Running(Request("R1"));
        scene.Plan(51, PlanCause.StepOverran);
        Assert.Equal(At(56), scene.View(51).ReplanAt);
        scene.Plan(90, PlanCause.StepOverran);
        Assert.Equal(At(90 + ((90 - 51) / 2.0)), scene.View(91).ReplanAt);
    }

    [Fact]
    public void ReplanAt_AClosingWindow_IsJustAfterIt()
    {
        var scene = Reacting();
        scene.Plan(620, PlanCause.StepOverran);
        Assert.Equal(At(635.001), scene.View(621).ReplanAt);
    }

    /// <summary>An urgent request is wanted at once; late is what was promised for a time that has passed.</summary>
    [Fact]
    public void Totals_Late_IsWhatWasPromisedForATimeThatHasPassed()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(10, new BenchCommand.AddRequests([Request("U1", priority: Priority.Urgent)]));
        Assert.Equal((1, 0), (scene.View(600).Totals.UrgentWaiting, scene.View(600).Totals.LateNow));
        scene.Say(11, new BenchCommand.ChangeDue(R("U1"), At(300)));
        scene.Say(12, new BenchCommand.ChangeDue(R("R2"), At(400)));
        Assert.Equal([0, 1, 2], new[] { 299, 301, 401 }.Select(at => scene.View(at).Totals.LateNow));
        // A screen is told anew when that changes.
        Assert.True(scene.View(299).ChangesAt <= At(300));
    }

    [Fact]
    public void Totals_OfABatchInWork_CountEachCartridgeOnce()
    {
        var scene = Reacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), new ReaderNumber(1), false));
        scene.Say(610, new BenchCommand.Cleared(R("R1"), new ReaderNumber(1)));
        var totals = scene.View(610).Totals;
        Assert.Equal((1, 1, 0, 0, 1, 0, 1),
            (totals.Total, totals.Done, totals.Reacting, totals.Waiting, totals.ReadInWindow, totals.ReadOutside,
                totals.ResultsMissing));
        Assert.Equal(3600.0 / 610, totals.PerHour!.Value, 6);
        Assert.Equal(At(610), totals.Finish);
    }

    [Fact]
    public void Look_TwiceAtOneInstant_IsTheSame()
    {
        var scene = Reacting();
        Assert.Equal(Dump.Of(scene.View(321)), Dump.Of(scene.View(321)));
    }

    /// <summary>
    /// A mix whose latest start was 8:50 has not been told: begun at 9:20 it still costs nothing, begun at 9:35 it
    /// would end too late to move R1, whose window closes at 10:35. Who says that it was not begun is offered the move.
    /// </summary>
    [Fact]
    public void Offer_PastItsLatestStart_SaysWhatComesFirstIfItWasNotBegun()
    {
        var scene = Reacting();
        scene.Say(500, new BenchCommand.AddRequests([Request("R2")]));
        scene.Plan(500);
        var move = new StepAction.Move(R("R1"), new ReaderNumber(1));
        var offer = scene.View(560).Offers.Single();
        Assert.Equal((new StepAction.Mix(R("R2")), At(530)), (offer.Action, offer.LatestStart!.Value));
        Assert.Null(offer.IfNotBegun);
        Assert.Equal(move, scene.View(575).Offers.Single().IfNotBegun);

        scene.Say(575, new BenchCommand.NotBegun(new HandsNumber(1)));
        scene.Plan(575);
        offer = scene.View(575).Offers.Single();
        Assert.Equal((move, null), (offer.Action, offer.IfNotBegun));
    }

    /// <summary>What one pair of hands was to do after a mix that nobody has told was done by the other.</summary>
    [Theory]
    [InlineData(true, 2)]
    [InlineData(false, 1)]
    public void Report_OfAStepOfHandsThatAreAtAnother_IsThatOfTheOthers(bool isAtAMix, int hands)
    {
        var scene = Open(hands: 2);
        scene.Say(0, new BenchCommand.AddRequests([Request("R1"), Request("R2")]));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        RemainingStep Row(StepAction action, double from, double to) =>
            new(new PlannedStep(action, new HandsNumber(1), At(from), At(to)), null);
        var load = Row(new StepAction.Load(R("R1"), Slot(1)), isAtAMix ? 110 : 60, isAtAMix ? 135 : 85);
        var state = isAtAMix ? Following(scene, Row(new StepAction.Mix(R("R2")), 60, 110), load)
            : Following(scene, load);

        var decided = Assert.IsType<Decision.Accepted>(LiveBench.Decide(state,
            new BenchCommand.Loaded(R("R1"), Slot(1), false),
            new Provenance(new ReportId("X1"), At(85), At(85), new PersonId("aide"), new DeviceId("tablet"))));

        Assert.Equal(new HandsNumber(hands),
            Assert.Single(decided.Events.OfType<BenchEvent.Loaded>()).Hands);
    }
}
