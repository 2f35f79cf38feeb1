using Incubation.Model;
using Incubation.Planning;
using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>What the fault days of seed 2 found.</summary>
public sealed class FaultDayTest
{
    private static readonly ReaderNumber Reader2 = new(2);

    [Fact]
    public void ReadStartedInAnotherReaderThanPlanned_PlannedWhenItIsOver_IsClearedOutOfThatOne()
    {
        var scene = Open(readers: 2);
        scene.Say(0, new BenchCommand.AddRequests([Request("R1")]));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Say(100, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Plan(100);
        var planned = scene.Now.Adopted!.MoveOf(R("R1"))!.Step.Action.NeedsReader!.Value;
        var other = planned == Reader1 ? Reader2 : Reader1;

        // No plan until its read is over, as while the host's time is in doubt.
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), other, false));
        scene.Plan(700);

        var clear = Assert.Single(scene.Now.Adopted!.Remaining, row => row.Step.Action is StepAction.Clear);
        Assert.Equal(new StepAction.Clear(R("R1"), other), clear.Step.Action);
    }

    [Fact]
    public void WindowInDanger_OfAWindowThatOpensAtItsGuard_WaitsUntilTheReadCanHaveBeenTold()
    {
        var scene = Reacting(Open(guard: 80));
        var window = scene.Now.WindowOf(scene.Find("R1"))!.Value;
        Assert.Equal(window.Opens, window.GuardFrom);

        var danger = Assert.Single(scene.View(550).Alarms, alarm => alarm.Key.Kind == AlarmKind.WindowInDanger);

        Assert.Equal(window.Opens + Seconds(1), danger.From);
    }

    [Fact]
    public void LoadIntoAnotherSlotThanPlanned_IsOfTheHandsThatWereToDoIt()
    {
        var scene = Open(hands: 2);
        scene.Say(0, new BenchCommand.AddRequests([Request("R1"), Request("R2")]));
        scene.Say(0, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(50, new BenchCommand.Mixed(R("R2")));
        scene.Plan(50);
        var second = new HandsNumber(2);
        var load = Assert.IsType<StepAction.Load>(scene.Now.Adopted!.NextOf(second)!.Step.Action);

        scene.Say(75, new BenchCommand.Loaded(load.Request, Slot(4), false));

        Assert.Equal(second, Assert.IsType<BenchEvent.Loaded>(scene.Entries[^1].Event).Hands);
    }

    [Theory]
    [InlineData(210)]
    [InlineData(1100)]
    public void ATimeStatedAfterTheClockWentBack_OfARequestThatCameBefore_IsTaken(double arrived)
    {
        var scene = Running(Request("R1"));
        scene.Say(1000, new BenchCommand.AddRequests([Request("R2")]));
        scene.Say(Instant.FromUnixTimeTicks(0), At(200), new BenchCommand.Mixed(R("R2")));
        var question = scene.View(201).Questions.Single(asked => asked.Key.Kind == QuestionKind.WhenDone);

        RevisingTest.Accept(scene.Say(150,
            new BenchCommand.AnswerQuestion(question.Key, Answer.AtThatTime, TimeStated: true), arrived: arrived));

        Assert.Equal(At(150), scene.Now.Story[^1].At);
        Assert.Equal(Told(scene.Now), Told(scene.Entries.Aggregate((BenchState?)null, LiveBench.Apply)!));
    }

    [Fact]
    public void TheClockWentBack_WhatHandsReportedBefore_HoldsThemUpNoLonger()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(1000, new BenchCommand.Mixed(R("R1")));
        scene.Say(100, new BenchCommand.CardSeen(Reader1, new LotCode("L1")));

        Assert.Equal(At(100), scene.Now.LastReportOf(new HandsNumber(1)));
    }

    [Fact]
    public void TheClockWentBack_WhatWasToldBefore_StandsBeforeWhatIsToldSince()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(1000, new BenchCommand.Mixed(R("R1")));
        scene.Say(100, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Say(200, new BenchCommand.Discarded(R("R1"), DiscardReason.Dropped, null));
        scene.Say(250, new BenchCommand.Mixed(R("R2")));
        scene.Say(300, new BenchCommand.Loaded(R("R2"), Slot(1), false));

        scene.Say(310, new BenchCommand.CardSeen(Reader1, new LotCode("L1")));

        Assert.Equal(R("R2"), scene.Now.InSlot(new SlotNumber(1))?.Id);
        Assert.DoesNotContain(scene.Now.Cartridges, cartridge => cartridge.Stage is CartridgeStage.Astray);
        Assert.Equal(Told(scene.Now), Told(scene.Entries.Aggregate((BenchState?)null, LiveBench.Apply)!));
    }

    [Fact]
    public void TheClockWentBack_WhatWasGivenUpBefore_IsSaidNow()
    {
        var scene = Reacting();
        scene.Plan(2000, PlanCause.WindowClosed);
        Assert.Equal(At(2000), scene.Now.GivenUpSince(R("R1")));

        scene.Say(600, new BenchCommand.CardSeen(Reader1, new LotCode("L1")));

        var alarm = Assert.Single(scene.View(610).Alarms, alarm => alarm.Key.Kind == AlarmKind.CannotBeSaved);
        Assert.Equal((At(600), true), (alarm.From, alarm.StandsAt(At(610))));
    }

    [Fact]
    public void WindowInDanger_OfAMoveThatEndsJustBeforeTheClose_LeavesTimeToTellIt()
    {
        var scene = Open(guard: 0);
        scene.Say(0, new BenchCommand.AddRequests([Request("R1", Assay() with { ReadWindow = Seconds(11) })]));
        scene.Say(0, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Plan(75);
        Assert.Equal(At(556), scene.Now.WindowOf(scene.Find("R1"))!.Value.Closes);

        var danger = Assert.Single(scene.View(545).Alarms, alarm => alarm.Key.Kind == AlarmKind.WindowInDanger);

        Assert.Equal(At(555.5), danger.From);
    }

    [Fact]
    public void ARequestReadyTooLate_BesideOneDueLongAgo_IsAllThatIsSetAside()
    {
        var scene = Running();
        var due = Request("R1", priority: Priority.Urgent);
        var far = Request("R2");
        scene.Say(0, new BenchCommand.AddRequests([
            due with { Request = due.Request with { Due = Instant.FromUnixTimeTicks(0) } },
            far with { Request = far.Request with { Ready = Start + Duration.FromDays(15) } },
        ]));

        var found = PlanObstacles.Find(scene.Now, At(1), PlanCause.RequestsChanged, 1, new IterationBudget(64));

        Assert.Equal((true, R("R2")), (found.Note.Works, Assert.Single(found.Note.SetAside)));
        Assert.Contains(found.Plan!.Plan.Steps, step => step.Action == new StepAction.Mix(R("R1")));
    }

    [Fact]
    public void ALoadDueAtTheEndOfTheMoveBeforeIt_CountsAsBegunUntilThatEndCanHaveBeenTold()
    {
        var scene = LoadDueAtTheEndOfAMove();

        Assert.DoesNotContain(scene.View(555.03).Alarms, alarm => alarm.StandsAt(At(555.03)));
        Assert.True(scene.View(555.03).ReplanAt is not { } at || at >= At(556));
        scene.Say(555, new BenchCommand.ReadStarted(R("R1"), Reader1, false), arrived: 555.04);
        scene.Plan(555.04);

        Assert.Empty(scene.Now.Adopted!.Plan.Lost);
        Assert.Equal(R("R2"), Assert.IsType<StepAction.Load>(Assert.Single(scene.View(555.05).Offers).Action).Request);
        Assert.DoesNotContain(scene.View(555.05).Alarms, alarm => alarm.StandsAt(At(555.05)));
    }

    [Fact]
    public void ALoadDueAtTheEndOfTheMoveBeforeIt_NothingToldASecondLater_IsTooOld()
    {
        var view = LoadDueAtTheEndOfAMove().View(556.001);

        Assert.Equal(AlarmKind.MixtureTooOld, Assert.Single(view.Alarms, alarm => alarm.Key.Request == R("R2")
            && alarm.StandsAt(At(556.001))).Key.Kind);
        Assert.Equal(At(556.001), view.ReplanAt);
    }

    /// <summary>
    /// The load of R2 from 545 on ends at 570, after 565, the last moment of R1, whose load was 45 s earlier than told:
    /// it is kept back. From 570 on that alone would lose R2.
    /// </summary>
    [Fact]
    public void ALoadKeptBackUntilAPlanKnowsTheReport_CountsAsBegunOnceWaitingWouldLoseIt()
    {
        var scene = Reacting();
        scene.Say(480, new BenchCommand.AddRequests([Request("R2", Assay("A2") with { MixToLoad = Seconds(55) })]));
        scene.Plan(480, PlanCause.RequestsChanged);
        var load = scene.Now.Story.Single(told => told.Event is BenchEvent.Loaded).Id;
        scene.Say(544, new BenchCommand.CorrectReport(load, At(30), null, null, "It was earlier"));
        scene.Say(545, new BenchCommand.Mixed(R("R2")));
        Assert.Empty(scene.View(550).Offers);

        Assert.IsType<StepAction.Load>(Assert.Single(scene.View(571).Offers).Action);
        scene.Plan(571);

        Assert.Empty(scene.Now.Adopted!.Plan.Lost);
    }

    /// <summary>
    /// One slot: R1 in it is moved from 540 to 555, and R2 is to be loaded into it by then, at its last instant.
    /// </summary>
    private static Scene LoadDueAtTheEndOfAMove()
    {
        var scene = Reacting(Open(slots: 1));
        scene.Say(400, new BenchCommand.AddRequests([Request("R2")]));
        scene.Plan(400, PlanCause.RequestsChanged);
        scene.Say(435, new BenchCommand.Mixed(R("R2")));
        scene.Plan(435);
        var load = Assert.Single(scene.Now.Adopted!.Remaining, row => row.Step.Action is StepAction.Load);
        Assert.Equal(At(555), load.Step.Start);
        Assert.Equal(At(555 - 120), Assert.IsType<CartridgePhase.Mixed>(scene.Find("R2").Phase).MixEnd.Earliest);
        return scene;
    }
}
