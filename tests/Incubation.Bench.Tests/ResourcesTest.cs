using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.RevisingTest;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>Requests, hands, slots, readers and the incubator come and go in the middle of a batch.</summary>
public sealed class ResourcesTest
{

    [Fact]
    public void Urgent_AddedMidBatch_GoesBeforeWhatWaits()
    {
        var scene = Running(Request("R1"), Request("R2"), Request("R3"));
        scene.Say(50, new BenchCommand.Mixed(scene.View(0).Offers[0].Action.Subject!.Value));
        Accept(scene.Say(55, new BenchCommand.AddRequests([Request("U1", priority: Priority.Urgent)])));
        scene.Plan(55, PlanCause.RequestsChanged);
        var mixes = scene.Now.Adopted!.Remaining.Select(row => row.Step.Action).OfType<StepAction.Mix>().ToList();
        Assert.Equal(R("U1"), mixes[0].Request);
    }

    [Fact]
    public void Withdraw_AReactingCartridge_AsksForItsDiscardAsAStep()
    {
        var scene = Reacting();
        Accept(scene.Say(200, new BenchCommand.WithdrawRequest(R("R1"))));
        scene.Plan(200, PlanCause.RequestsChanged);
        var offer = scene.View(200).Offers.Single();
        Assert.Equal((new StepAction.Discard(R("R1")), DiscardReason.Withdrawn), (offer.Action, offer.Reason));
        Assert.Equal(LossCause.Withdrawn, scene.View(200).Losses.Single().Cause);
        Assert.DoesNotContain(scene.View(700).Alarms, alarm => alarm.StandsAt(At(700)));
        scene.Say(210, new BenchCommand.Discarded(R("R1"), DiscardReason.Withdrawn, null));
        Assert.Empty(scene.View(211).Repeats);
        Assert.Empty(scene.View(211).Losses);
    }

    [Fact]
    public void Withdraw_AMixture_IsDiscardedNotLoaded()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        Accept(scene.Say(51, new BenchCommand.WithdrawRequest(R("R1"))));
        scene.Plan(51, PlanCause.RequestsChanged);
        Assert.IsType<StepAction.Discard>(scene.View(51).Offers.Single().Action);
    }

    [Fact]
    public void ChangeReady_WithoutATime_LeavesItOutWithWhatComesAfterUntilItHasOne()
    {
        var scene = Running(Request("R1"), Request("R2"));
        Accept(scene.Say(1, new BenchCommand.ChangeReady(R("R2"), null)));
        scene.Plan(1, PlanCause.RequestsChanged);
        Assert.DoesNotContain(scene.Now.Adopted!.Remaining, row => row.Step.Action.Subject == R("R2"));
        Assert.Equal([new NotPlanned(R("R2"), NotPlannedCause.HeldBack)], scene.View(2).NotPlanned);
        Accept(scene.Say(10, new BenchCommand.ChangeReady(R("R2"), At(300))));
        scene.Plan(10, PlanCause.RequestsChanged);
        Assert.True(scene.Now.Adopted!.Remaining.Single(row =>
            row.Step.Action == new StepAction.Mix(R("R2"))).Step.Start >= At(300));
        Assert.Empty(scene.View(11).NotPlanned);
    }

    /// <summary>
    /// Where the rest of the plan stays as it is, the rows of what is held back must go all the same.
    /// </summary>
    [Fact]
    public void ChangeReady_OfTheLastOne_LeavesNoRowOfIt()
    {
        var scene = Running(Request("R1"));
        Accept(scene.Say(1, new BenchCommand.ChangeReady(R("R1"), null)));
        scene.Plan(1, PlanCause.RequestsChanged);
        Assert.Empty(scene.Now.Adopted!.Remaining);
        Assert.Empty(scene.View(2).Offers);
    }

    [Fact]
    public void ChangeReady_OfAMixedRequest_IsRefused() =>
        Assert.Equal(Refusal.AlreadyMixed, Refused(Reacting().Say(100, new BenchCommand.ChangeReady(R("R1"), null))));

    [Fact]
    public void Hands_Joining_WorkBesideTheFirst()
    {
        var scene = Running([.. Enumerable.Range(1, 6).Select(i => Request($"R{i}"))]);
        Accept(scene.Say(5, new BenchCommand.ChangeHands(2)));
        scene.Plan(5, PlanCause.MeansChanged);
        Assert.Equal(2, scene.View(5).Offers.Select(offer => offer.Hands).Distinct().Count());
        Accept(scene.Say(20, new BenchCommand.ChangeHands(1)));
        scene.Plan(20, PlanCause.MeansChanged);
        Assert.Equal([new HandsNumber(1)], scene.View(20).Offers.Select(offer => offer.Hands).Distinct());
    }

    [Theory]
    [InlineData(0)]
    [InlineData(9)]
    public void Hands_OutOfRange_AreRefused(int hands) =>
        Assert.Equal(Refusal.TooManyHands, Refused(Running(Request("R1")).Say(1, new BenchCommand.ChangeHands(hands))));

    [Fact]
    public void HandsAway_WhileNothingIsAtStake_ThePlanWaitsForThem()
    {
        var scene = Running(Request("R1"));
        Accept(
            scene.Say(0.5,
                new BenchCommand.PutOutOfUse(new BenchResource.Hands(new HandsNumber(1)), Seconds(600), "break")));
        scene.Plan(0.5, PlanCause.MeansChanged);
        Assert.True(scene.View(1).Offers.Single().MayBegin >= At(600));
        Accept(scene.Say(100, new BenchCommand.PutBackInUse(new BenchResource.Hands(new HandsNumber(1)))));
        scene.Plan(100, PlanCause.MeansChanged);
        Assert.Equal(At(100), scene.View(100).Offers.Single().MayBegin);
    }

    [Fact]
    public void HandsAway_OverAReadWindow_SaysWhatWouldBeLostBeforeItIsAccepted()
    {
        var scene = Reacting();
        var away = new BenchCommand.PutOutOfUse(new BenchResource.Hands(new HandsNumber(1)), Seconds(900), null);
        Assert.Equal(new Decision.Refused(Refusal.WouldBeLost, "SP-R1"), scene.Say(110, away));
        Accept(scene.Say(111, away with { Anyway = true }));
        scene.Plan(111, PlanCause.MeansChanged);
        var loss = scene.View(112).Losses.Single();
        Assert.Equal((R("R1"), LossCause.HandsAway, true), (loss.Request, loss.Cause, loss.RepeatLeft));
        Assert.Contains(scene.View(112).Alarms, alarm => alarm.Key.Kind == AlarmKind.CannotBeSaved
            && alarm.StandsAt(At(112)));
    }

    [Fact]
    public void HandsAway_BackBeforeTheWindow_IsAccepted() =>
        Accept(Reacting()
            .Say(110, new BenchCommand.PutOutOfUse(new BenchResource.Hands(new HandsNumber(1)), Seconds(300), null)));

    [Fact]
    public void Intake_Paused_TurnsRequestsAwayUntilResumed()
    {
        var scene = Running(Request("R1"));
        scene.Say(1, new BenchCommand.PauseIntake(true));
        Assert.Equal(Refusal.IntakeIsPaused, Refused(scene.Say(2, new BenchCommand.AddRequests([Request("R2")]))));
        scene.Say(3, new BenchCommand.PauseIntake(false));
        Accept(scene.Say(4, new BenchCommand.AddRequests([Request("R2")])));
    }

    [Fact]
    public void Slot_OutOfUse_IsNotOffered()
    {
        var scene = Running(Request("R1"));
        foreach (var slot in new[] { 1, 2, 4 })
            Accept(
                scene.Say(1,
                    new BenchCommand.PutOutOfUse(new BenchResource.Slot(new SlotNumber(slot)), null, "cracked")));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50, PlanCause.MeansChanged);
        Assert.Equal(Slot(3), Assert.IsType<StepAction.Load>(scene.View(50).Offers.Single().Action).Place);
        Assert.Equal("cracked", scene.View(50).Slots[0].OutOfUse!.Why);
    }

    [Fact]
    public void Incubator_OutOfUse_KeepsWhatIsInsideAndPlansNothingNew()
    {
        var scene = Reacting();
        scene.Say(105, new BenchCommand.AddRequests([Request("R2")]));
        Accept(scene.Say(110, new BenchCommand.PutOutOfUse(new BenchResource.Incubator(), null, null)));
        scene.Plan(110, PlanCause.MeansChanged);
        Assert.Equal([new NotPlanned(R("R2"), NotPlannedCause.NoSlot)], scene.View(111).NotPlanned);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action is StepAction.Move);
        Accept(scene.Say(120, new BenchCommand.PutBackInUse(new BenchResource.Incubator())));
        scene.Plan(120, PlanCause.MeansChanged);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action == new StepAction.Mix(R("R2")));
    }

    [Theory]
    [InlineData(ResourceKind.Slot, 9)]
    [InlineData(ResourceKind.Reader, 2)]
    [InlineData(ResourceKind.Hands, 2)]
    public void OutOfUse_OfWhatIsNotThere_IsRefused(ResourceKind kind, int number) =>
        Assert.Equal(Refusal.NoSuchThing,
            Refused(Running(Request("R1"))
                .Say(1, new BenchCommand.PutOutOfUse(BenchResource.Of(kind, number)!, null, null))));

    [Theory]
    [InlineData(ResourceKind.Hands, null)]
    [InlineData(ResourceKind.Slot, 0)]
    [InlineData(ResourceKind.Incubator, 1)]
    public void Resource_OfWhatCannotBeNamed_IsNone(ResourceKind kind, int? number) =>
        Assert.Null(BenchResource.Of(kind, number));

    [Fact]
    public void Reader_OutOfUse_LossIsKnownAtOnceAndTakenBackWhenItIsInUseInTime()
    {
        var scene = Reacting();
        Accept(
            scene.Say(110, new BenchCommand.PutOutOfUse(new BenchResource.Reader(new ReaderNumber(1)), null, "lamp")));
        scene.Plan(110, PlanCause.MeansChanged);
        Assert.Equal(LossCause.ReaderOutOfUse, scene.View(111).Losses.Single().Cause);
        Accept(scene.Say(300, new BenchCommand.PutBackInUse(new BenchResource.Reader(new ReaderNumber(1)))));
        scene.Plan(300, PlanCause.MeansChanged);
        Assert.Empty(scene.View(301).Losses);
    }

    [Fact]
    public void Reader_OutOfUse_NothingIsThrownAwayWhileItCouldStillBeRead()
    {
        // The window closes at 635 + the guard.
        var scene = Reacting();
        Accept(
            scene.Say(110, new BenchCommand.PutOutOfUse(new BenchResource.Reader(new ReaderNumber(1)), null, "lamp")));
        scene.Plan(110, PlanCause.MeansChanged);
        var discard = scene.Now.Adopted!.Remaining.Single(row => row.Step.Action is StepAction.Discard);
        Assert.True(discard.Step.Start >= scene.View(111).Slots.Single(slot =>
            slot.Cartridge is not null).Window!.Value.Closes);
        Assert.DoesNotContain(scene.View(400).Offers, offer => offer.Action is StepAction.Discard
            && offer.MayBegin <= At(400));
    }

    [Theory]
    [InlineData(Answer.ReadToTheEnd)]
    [InlineData(Answer.BackInSlot)]
    [InlineData(Answer.ThrownAway)]
    public void Reader_StopsWithACartridgeInside_OneAnswerSettlesIt(Answer answer)
    {
        var scene = Reacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Plan(560);
        Accept(
            scene.Say(570,
                new BenchCommand.PutOutOfUse(new BenchResource.Reader(new ReaderNumber(1)), null, "stopped")));
        scene.Plan(570, PlanCause.MeansChanged);
        var asked = Assert.Single(scene.View(571).Questions);
        Assert.Equal((QuestionKind.ReaderStopped, R("R1")), (asked.Key.Kind, asked.Request!.Value));
        Accept(scene.Say(580, new BenchCommand.AnswerQuestion(asked.Key, answer, answer == Answer.BackInSlot
            ? new SlotNumber(2) : null)));
        Assert.Empty(scene.View(581).Questions);
        switch (answer)
        {
            case Answer.ReadToTheEnd:
                Assert.IsType<CartridgePhase.Reading>(scene.Find("R1").Phase);
                break;
            case Answer.BackInSlot:
                Assert.Equal(R("R1"), scene.Now.InSlot(new SlotNumber(2))!.Id);
                break;
            default:
                Assert.Equal(DiscardReason.ReaderFault,
                    Assert.IsType<CartridgeStage.Discarded>(scene.Find("R1").Stage).Reason);
                Assert.Equal([R("R1")], scene.View(581).Repeats);
                break;
        }

        scene.Plan(581, PlanCause.Corrected);
    }

    [Fact]
    public void Temperature_OutsideWithoutARule_MarksAndHolds()
    {
        var scene = Reacting();
        scene.Say(101, new BenchCommand.SetIncubator(new IncubatorRule(new Celsius(25), new Celsius(1), [])));
        Accept(scene.Say(200, new BenchCommand.TemperatureMeasured(new Celsius(26))));
        Assert.Empty(scene.Find("R1").Deviations);
        Accept(scene.Say(210, new BenchCommand.TemperatureMeasured(new Celsius(26.1))));
        Assert.Equal([Deviation.TemperatureOutside], scene.Find("R1").Deviations);
        Assert.Contains(scene.View(211).Alarms, alarm =>
            alarm is { Key.Kind: AlarmKind.IncubatorOutside, Priority: AlarmPriority.Medium }
            && alarm.StandsAt(At(211)));
        Accept(scene.Say(220, new BenchCommand.TemperatureMeasured(new Celsius(25))));
        Assert.DoesNotContain(scene.View(221).Alarms, alarm => alarm.Key.Kind == AlarmKind.IncubatorOutside);
        Assert.Equal([Deviation.TemperatureOutside], scene.Find("R1").Deviations);
    }

    [Fact]
    public void Temperature_OutsideForLongerThanTheAssayAllows_IsDiscarded()
    {
        var scene = Reacting();
        scene.Say(101,
            new BenchCommand.SetIncubator(new IncubatorRule(new Celsius(25), new Celsius(1),
                [new TemperatureRule(new AssayCode("A1"), Seconds(120))])));
        scene.Say(200, new BenchCommand.TemperatureMeasured(new Celsius(20)));
        scene.Say(270, new BenchCommand.TemperatureMeasured(new Celsius(25)));
        scene.Say(300, new BenchCommand.TemperatureMeasured(new Celsius(20)));
        // 70 s are used up: 50 s are left.
        Assert.Equal(At(350.001),
            scene.View(301).Alarms.Single(alarm => alarm.Key.Kind == AlarmKind.IncubatorSpoils).Deadline);
        scene.Plan(301);
        Assert.IsType<StepAction.Move>(scene.View(301).Offers.Single().Action);
        Assert.Equal(At(350.001), scene.View(301).ReplanAt);
        scene.Plan(350.001, PlanCause.StepOverran);
        var offer = scene.View(351).Offers.Single();
        Assert.Equal((new StepAction.Discard(R("R1")), DiscardReason.Temperature), (offer.Action, offer.Reason));
        Assert.Equal(LossCause.Temperature, scene.View(351).Losses.Single().Cause);
    }

    [Fact]
    public void Temperature_MarkSurvivesARevision()
    {
        var scene = Reacting();
        scene.Say(101, new BenchCommand.SetIncubator(new IncubatorRule(new Celsius(25), new Celsius(1), [])));
        scene.Say(110, new BenchCommand.TemperatureMeasured(new Celsius(30)));
        Accept(
            scene.Say(115, new BenchCommand.CorrectReport(IdOf<BenchEvent.Loaded>(scene), At(70), null, null, null)));
        Assert.Equal([Deviation.TemperatureOutside], scene.Find("R1").Deviations);
    }

    [Fact]
    public void Move_BegunLate_IsNotGivenUpWhileTheWindowIsOpen()
    {
        // R2's mix has held the hands until 625: the move that counts as begun then would end after the close at 635.
        var scene = Reacting();
        scene.Say(500, new BenchCommand.NotBegun(new HandsNumber(1)));
        scene.Say(625, new BenchCommand.NotBegun(new HandsNumber(1)));
        scene.Plan(626, PlanCause.StepOverran);
        Assert.IsType<StepAction.Move>(scene.View(634).Offers.Single().Action);
        Assert.Empty(scene.View(634).Losses);
    }
}
