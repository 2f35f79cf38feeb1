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
        // The move must begin by 605; one prompt ahead of that it should long have ended.
        Assert.Equal((At(585), At(635)), (alarm.From, alarm.Deadline!.Value));
        Assert.Equal(At(585) + (Seconds(50) / 3), alarm.EscalatesAt);
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

    [Fact]
    public void WindowInDanger_AnOldStepUntapped_IsSaidWhileCardChangeAndMoveStillFitAndNamesTheCard()
    {
        var scene = CardToChange();
        // The mix of R2 stands untapped. Card change 25 s and move 15 s must begin by 580 to start the read before the
        // guard: that is when it must have been said, and what to do.
        var alarm = scene.View(540).Alarms.Single(a => a.Key == new AlarmKey(AlarmKind.WindowInDanger, R("R1")));
        Assert.Equal(At(580), alarm.BeginBy);
        Assert.InRange(alarm.From, At(560), At(580));
        Assert.Equal([new StepAction.CardChange(new ReaderNumber(1), new LotCode("L2")),
            new StepAction.Move(R("R1"), new ReaderNumber(1))], alarm.Acts.Select(act => act.Action));
        Assert.Equal(alarm.From, scene.View(581).Alarms.Single(a => a.Key == alarm.Key).From);
        Assert.DoesNotContain(scene.View(600).Alarms, a => a.Key.Kind == AlarmKind.CannotBeSaved);
    }

    [Fact]
    public void CannotBeSaved_GivenUpByAllowedLengthsOnly_IsNotSaid()
    {
        var scene = CardToChange();
        scene.Say(600, new BenchCommand.Mixed(R("R2"), true));
        scene.Plan(600);
        Assert.Contains(scene.Now.Adopted!.Plan.Lost, lost => lost.Request == R("R1"));
        var alarm = scene.View(600).Alarms.First(a => a.Key.Request == R("R1"));
        Assert.Equal((AlarmKind.WindowInDanger, true, At(635)),
            (alarm.Key.Kind, alarm.OnlyIfQuick, alarm.Deadline!.Value));
        Assert.DoesNotContain(scene.View(634).Alarms, a => a.Key.Kind == AlarmKind.CannotBeSaved);
    }

    [Fact]
    public void Offers_ThreeOpenWindowsAndAMix_TheFirstToFallComesFirst()
    {
        var assay = Assay() with { ReadWindow = Seconds(240) };
        var scene = Running([.. new[] { "R1", "R2", "R3" }.Select(id => Request(id, assay))]);
        scene.Say(1, new BenchCommand.CardChanged(new ReaderNumber(1), new LotCode("L1")));
        foreach (var (request, slot, at) in new[] { ("R2", 1, 70), ("R1", 2, 130), ("R3", 3, 160) })
        {
            scene.Say(at - 20, new BenchCommand.Mixed(R(request), true));
            scene.Say(at, new BenchCommand.Loaded(R(request), Slot(slot), true));
        }

        var moments = scene.View(300).LastMoments;
        Assert.Equal(3, moments.Cartridges.Count(one => one.IsSaved));
        Assert.True(moments.BeginBy < moments.TooLate);
        scene.Say(480, new BenchCommand.AddRequests([Request("R4", assay)]));
        scene.Plan(480, PlanCause.RequestsChanged);
        Assert.Equal(new StepAction.Mix(R("R4")), Assert.Single(scene.View(481).Offers).Action);

        // Whoever comes back at the last moment at which all three can be saved is offered what falls first, not R4.
        var last = (moments.BeginBy!.Value - Start).TotalSeconds;
        scene.Say(last, new BenchCommand.NotBegun(new HandsNumber(1)));
        scene.Plan(last, PlanCause.RequestsChanged);

        Assert.Equal(new StepAction.Move(moments.First!.Value, new ReaderNumber(1)), scene.View(last).Offers[0].Action);
        Assert.Empty(scene.Now.Adopted!.Plan.Lost);
        Assert.Empty(scene.Now.Adopted.Plan.GuardUsed);
    }

    [Fact]
    public void Offers_AMixThatWouldCostAWindow_IsKeptBack()
    {
        var scene = Reacting();
        scene.Say(500, new BenchCommand.AddRequests([Request("R2") with
        {
            Request = Request("R2").Request with { Ready = At(520) },
        }]));
        scene.Plan(500, PlanCause.RequestsChanged);
        Assert.IsType<StepAction.Mix>(scene.View(505).Offers.Single().Action);
        // R1 was loaded 45 s before it was told: its move must begin by 560, and the mix lasts until 570.
        var load = scene.Now.Story.Single(told => told.Event is BenchEvent.Loaded).Id;
        scene.Say(506, new BenchCommand.CorrectReport(load, At(30), null, null, "It was earlier"));
        Assert.Empty(scene.View(507).Offers);
    }

    /// <summary>
    /// R1, of lot L2, reacts in slot 1, its window open from 555 to 635; the card of L1 is in the reader; the mix of R2
    /// has been in hand since 480.
    /// </summary>
    private static Scene CardToChange()
    {
        var other = Request("R1");
        var scene = Running(other with { Request = other.Request with { Lot = new LotCode("L2") } });
        scene.Say(0, new BenchCommand.CardChanged(new ReaderNumber(1), new LotCode("L1")));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Plan(75);
        // The card of R1 was put in, and then that of L1 again: the hands have come as far as the mix of R2.
        scene.Say(100, new BenchCommand.CardChanged(new ReaderNumber(1), new LotCode("L2")));
        scene.Say(480, new BenchCommand.AddRequests([Request("R2")]));
        scene.Plan(480, PlanCause.RequestsChanged);
        scene.Say(481, new BenchCommand.CardChanged(new ReaderNumber(1), new LotCode("L1")));
        Assert.IsType<StepAction.Mix>(Assert.Single(scene.View(481).Offers).Action);
        return scene;
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
