using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

public sealed class ReportTest
{

    [Fact]
    public void Mixed_OnePromptTap_EndsBetweenShortestAndTheTap()
    {
        var scene = Running(Request("R1"));
        scene.Say(45, new BenchCommand.Mixed(R("R1")));
        Assert.Equal(new CartridgePhase.Mixed(new InstantRange(At(35), At(45))), scene.Find("R1").Phase);
    }

    /// <summary>A fact is not refused, and the screen says nothing else than it: who has mixed has begun.</summary>
    [Fact]
    public void Mixed_BeforeAnybodyHasStartedTheBatch_StartsIt()
    {
        var scene = Open();
        scene.Say(0, new BenchCommand.AddRequests([Request("R1"), Request("R2")]));
        scene.Say(45, new BenchCommand.Mixed(R("R1")));
        Assert.Equal((BatchPhase.Running, At(45)), (scene.Now.Phase, scene.Now.StartedAt!.Value));
        Assert.IsType<CartridgePhase.Mixed>(scene.Find("R1").Phase);
        Assert.IsType<Decision.Refused>(scene.Say(50, new BenchCommand.StartBatch()));
    }

    [Fact]
    public void Mixed_LongAfterItsBegin_IsAskedForItsTimeAndStandsAsStated()
    {
        var scene = Running(Request("R1"));
        Assert.Equal(At(50 + 7.5), scene.View(0).Offers.Single().AskWhenAfter);
        scene.Say(3000, new BenchCommand.Mixed(R("R1"), TimeStated: true), arrived: 3010);
        Assert.Equal(new CartridgePhase.Mixed(new InstantRange(At(2995), At(3005))), scene.Find("R1").Phase);
    }

    [Fact]
    public void Loaded_QuickerThanTheShortest_EndsAtTheTap()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        scene.Say(60, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        Assert.Equal(new CartridgePhase.Reacting(new InstantRange(At(60), At(60)), Slot(1)), scene.Find("R1").Phase);
    }

    [Fact]
    public void Loaded_WithAStatedTime_IsTrustedToFiveSeconds()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        scene.Say(80, new BenchCommand.Loaded(R("R1"), Slot(1), true), arrived: 200);
        Assert.Equal(new CartridgePhase.Reacting(new InstantRange(At(75), At(85)), Slot(1)), scene.Find("R1").Phase);
    }

    [Fact]
    public void Window_OpensByTheLateEndAndClosesByTheEarlyOne()
    {
        // Mix planned 0-50, load begun 50: its end lies between 65 (shortest 15) and the tap at 75.
        var window = Reacting().View(100).Slots[0].Window!.Value;
        Assert.Equal(new ReadWindow(At(75 + 480), At(65 + 480 + 90 - 15), At(65 + 480 + 90)), window);
    }

    [Theory]
    [InlineData(554.999, Deviation.EarlyRead)]
    [InlineData(635.001, Deviation.LateRead)]
    public void ReadStarted_OutsideTheWindow_IsRecordedWithItsDeviationAndHeld(double at, Deviation deviation)
    {
        var scene = Reacting();
        Assert.IsType<Decision.Accepted>(scene.Say(at, new BenchCommand.ReadStarted(R("R1"), Reader1, false)));
        Assert.Equal([deviation], scene.Find("R1").Deviations);
        Assert.False(scene.Find("R1").ReadInWindow);
    }

    [Theory]
    [InlineData(555)]
    [InlineData(635)]
    public void ReadStarted_AtTheEdgeOfTheWindow_IsInside(double at)
    {
        var scene = Reacting();
        scene.Say(at, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.True(scene.Find("R1").ReadInWindow);
    }

    [Fact]
    public void ReadStarted_StatedInTimeAfterTheWindowClosed_IsFlagged()
    {
        var scene = Reacting();
        scene.Say(600, new BenchCommand.ReadStarted(R("R1"), Reader1, true), arrived: 700);
        Assert.Equal([Deviation.StatedInTime], scene.Find("R1").Deviations);
        scene.Say(710, new BenchCommand.Cleared(R("R1"), Reader1));
        scene.Say(720, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Assert.True(Assert.IsType<BenchEvent.ResultEntered>(scene.Entries[^1].Event).Held);
    }

    [Fact]
    public void Loaded_IntoASlotBelievedTaken_IsRecordedAndTheOtherIsAstray()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Say(125, new BenchCommand.Mixed(R("R2")));
        scene.Say(150, new BenchCommand.Loaded(R("R2"), Slot(1), false));
        Assert.Contains(Deviation.SlotBelievedTaken, scene.Find("R2").Deviations);
        Assert.IsType<CartridgeStage.Astray>(scene.Find("R1").Stage);
        scene.Plan(150);
        Assert.Contains(scene.View(151).Alarms, a => a.Key == new AlarmKey(AlarmKind.CartridgeAstray, R("R1")));
    }

    [Fact]
    public void Loaded_IntoASlotWhoseMoveHasBegun_IsNoContradiction()
    {
        // The move of R1 has begun at 540; it is reported only when the read is started.
        var scene = Reacting();
        scene.Say(541, new BenchCommand.AddRequests([Request("R2")]));
        scene.Say(549, new BenchCommand.Loaded(R("R2"), Slot(1), false));
        Assert.DoesNotContain(Deviation.SlotBelievedTaken, scene.Find("R2").Deviations);
        Assert.IsType<CartridgePhase.Reacting>(scene.Find("R1").Phase);
    }

    [Fact]
    public void Loaded_NeverMixed_IsRecordedOutOfOrder()
    {
        var scene = Running(Request("R1"));
        scene.Say(30, new BenchCommand.Loaded(R("R1"), Slot(2), false));
        Assert.Contains(Deviation.OutOfOrder, scene.Find("R1").Deviations);
        Assert.IsType<CartridgePhase.Reacting>(scene.Find("R1").Phase);
    }

    [Theory]
    [InlineData(50, 75, false)]
    [InlineData(400, 420, true)]
    public void Loaded_WithAMixtureThatMayBeTooOld_IsALateLoad(double begun, double loaded, bool late)
    {
        // Mixed between 35 and 50: it must be loaded from 155 at the latest.
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(begun, new BenchCommand.NotBegun(new HandsNumber(1)));
        scene.Say(loaded, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        Assert.Equal(late, scene.Find("R1").Deviations.Contains(Deviation.LateLoad));
    }

    [Fact]
    public void ReadStarted_WithTheCardOfAnotherLot_IsRecordedWithItsDeviation()
    {
        var scene = Reacting();
        scene.Say(200, new BenchCommand.CardChanged(Reader1, new LotCode("L2")));
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        Assert.Contains(Deviation.OtherCard, scene.Find("R1").Deviations);
    }

    [Fact]
    public void Report_OfACartridgeThatDoesNotExist_IsUnreadable() =>
        Assert.Equal(new Decision.Refused(Refusal.UnknownRequest, "R9"), Running(Request("R1"))
            .Say(5, new BenchCommand.Mixed(R("R9"))));

    [Fact]
    public void NotBegun_TakesTheBeginBack()
    {
        var scene = Running(Request("R1"));
        Assert.Equal(At(0), scene.View(10).Offers[0].MayBegin);
        scene.Say(30, new BenchCommand.NotBegun(new HandsNumber(1)));
        Assert.Equal(At(30), scene.View(31).Offers[0].MayBegin);
    }

    [Fact]
    public void Undo_OfOnesOwnLastReport_MeansItWasNeverSo()
    {
        var scene = Running(Request("R1"));
        var before = Told(scene.Now with { HasUnplanned = false });
        scene.Say(40, new BenchCommand.Mixed(R("R1")), id: "tap");
        scene.Plan(40);
        Assert.IsType<Decision.Accepted>(scene.Say(44, new BenchCommand.Undo(new ReportId("tap"))));
        Assert.Equal(before, Told(scene.Now with { HasUnplanned = false }));
        Assert.Contains(new ReportId("tap"), scene.Now.Recorded);
    }

    [Fact]
    public void Undo_FromAnotherDeviceOrAfterAnotherReport_IsRefused()
    {
        var scene = Running(Request("R1"));
        scene.Say(40, new BenchCommand.Mixed(R("R1")), id: "tap");
        Assert.Equal(new Decision.Refused(Refusal.NothingToUndo),
            scene.Say(41, new BenchCommand.Undo(new ReportId("tap")), new DeviceId("other")));
        scene.Say(60, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        Assert.Equal(new Decision.Refused(Refusal.NothingToUndo),
            scene.Say(61, new BenchCommand.Undo(new ReportId("tap"))));
    }

    [Fact]
    public void Instruction_FromTheFuture_IsRefused() =>
        Assert.Equal(new Decision.Refused(Refusal.UnreadableTime), Running(Request("R1"))
            .Say(50, new BenchCommand.WithdrawRequest(R("R1")), arrived: 44));
}
