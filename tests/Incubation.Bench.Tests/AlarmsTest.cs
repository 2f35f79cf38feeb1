using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>From when alarms stand, how old they are, and when they go on to others.</summary>
public sealed class AlarmsTest
{
    [Theory]
    [InlineData(null, 30)]
    [InlineData(300, 30)]
    [InlineData(90, 30)]
    [InlineData(60, 20)]
    [InlineData(15, 5)]
    [InlineData(0, 0)]
    [InlineData(-5, 0)]
    public void EscalatesAt_TimeLeft_IsAThirdOfItButAtMostThirtySeconds(int? left, int after) =>
        Assert.Equal(At(after), Escalation.At(At(0), left is { } seconds ? At(seconds) : null));

    [Fact]
    public void EscalatesAt_OfAWindowInDanger_IsAThirdOfTheTimeToItsClose()
    {
        var alarm = Reacting().View(100).Alarms.Single(a => a.Key.Kind == AlarmKind.WindowInDanger);
        Assert.Equal((At(620), At(635)), (alarm.From, alarm.Deadline!.Value));
        Assert.Equal(At(625), alarm.EscalatesAt);
    }

    [Fact]
    public void EscalatesAt_WhereNobodyCanBeWaitedFor_IsAtOnce() =>
        Assert.Equal(At(10),
            new Alarm(new AlarmKey(AlarmKind.NoScreen, R("since")), At(10), null, null, false).EscalatesAt);

    [Fact]
    public void CannotBeSaved_GivenUpByOnePlanAfterAnother_IsAsOldAsTheFirst()
    {
        var scene = TwoWindowsAtOnce();
        scene.Plan(690, PlanCause.StepOverran);
        var lost = Assert.Single(scene.Now.Adopted!.Plan.Lost).Request;
        Assert.Equal(At(690), Alarm(scene, 690, lost).From);

        scene.Say(691, new BenchCommand.AddRequests([Request("R9")]));
        scene.Plan(692, PlanCause.RequestsChanged);
        Assert.Equal(At(692), scene.Now.Adopted!.At);
        Assert.Contains(scene.Now.Adopted.Plan.Lost, l => l.Request == lost);
        Assert.Equal(At(690), Alarm(scene, 692, lost).From);
    }

    [Fact]
    public void CannotBeSaved_AfterTheBatch_IsForgotten()
    {
        var scene = TwoWindowsAtOnce();
        scene.Plan(690, PlanCause.StepOverran);
        foreach (var cartridge in scene.Now.Cartridges)
        {
            scene.Say(720, new BenchCommand.Discarded(cartridge.Id, DiscardReason.WindowClosed, null));
            scene.Say(725, new BenchCommand.CarryOver(cartridge.Id));
        }

        scene.Say(730, new BenchCommand.CloseBatch());
        Assert.Empty(scene.Now.Run.GivenUp);
    }

    [Fact]
    public void Astray_LookedAtLater_StandsSinceTheReportThatSaidSo()
    {
        var scene = Reacting();
        scene.Say(150, new BenchCommand.AddRequests([Request("R2")]));
        scene.Say(200, new BenchCommand.Mixed(R("R2"), true));
        scene.Say(230, new BenchCommand.Loaded(R("R2"), Slot(1), true));
        Assert.IsType<CartridgeStage.Astray>(scene.Find("R1").Stage);
        Assert.Equal(scene.View(300).Alarms.Single(a => a.Key.Kind == AlarmKind.CartridgeAstray).From,
            scene.View(400).Alarms.Single(a => a.Key.Kind == AlarmKind.CartridgeAstray).From);
        Assert.InRange(scene.View(400).Alarms.Single(a => a.Key.Kind == AlarmKind.CartridgeAstray).From, At(225),
            At(235));
    }

    private static Alarm Alarm(Scene scene, double seconds, RequestId request) =>
        scene.View(seconds).Alarms.Single(a => a.Key == new AlarmKey(AlarmKind.CannotBeSaved, request));

    /// <summary>
    /// Two cartridges whose windows are open at the same time and close before both can be read in the one reader.
    /// </summary>
    private static Scene TwoWindowsAtOnce()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(1, new BenchCommand.CardChanged(new ReaderNumber(1), scene.Find("R1").Wanted.Request.Lot));
        foreach (var (request, slot) in new[] { ("R1", 1), ("R2", 2) })
        {
            scene.Say(120, new BenchCommand.Mixed(R(request), true));
            scene.Say(150, new BenchCommand.Loaded(R(request), Slot(slot), true));
        }

        return scene;
    }
}
