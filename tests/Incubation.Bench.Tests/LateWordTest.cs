using Incubation.Model;
using NodaTime;
using Xunit;

namespace Incubation.Bench.Tests;

/// <summary>
/// Reports that come after the plan has given up on them, and windows about to close with nothing heard: found by the
/// fault days.
/// </summary>
public sealed class LateWordTest
{
    [Fact]
    public void ReadStarted_HeardAfterTheCartridgeWasGivenUp_IsNotThrownAway()
    {
        var scene = Scene.Reacting();
        scene.Plan(700, PlanCause.WindowClosed);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action == new StepAction.Discard(Scene.R("R1")));

        scene.Say(560, new BenchCommand.ReadStarted(Scene.R("R1"), new ReaderNumber(1), false), arrived: 705);
        scene.Plan(705);

        Assert.DoesNotContain(scene.Now.Adopted!.Remaining, row => row.Step.Action is StepAction.Discard);
        Assert.Empty(scene.Now.Adopted.Plan.Lost);
        Assert.Contains(scene.View(705).Offers, offer => offer.Action is StepAction.Clear);
    }

    [Fact]
    public void Loaded_HeardAfterTheMixtureWasGivenUp_IsNotThrownAway()
    {
        var scene = Scene.Running(Scene.Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(Scene.R("R1")));
        scene.Say(51, new BenchCommand.PutOutOfUse(new BenchResource.Hands(new HandsNumber(1)),
            Duration.FromSeconds(300), null, Anyway: true));
        scene.Plan(51, PlanCause.MeansChanged);
        scene.Plan(400, PlanCause.StepOverran);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action is StepAction.Discard);

        scene.Say(75, new BenchCommand.Loaded(Scene.R("R1"), Scene.Slot(1), false), arrived: 405);
        scene.Plan(405);

        Assert.DoesNotContain(scene.Now.Adopted!.Remaining, row => row.Step.Action is StepAction.Discard);
        Assert.Contains(scene.Now.Adopted.Remaining, row => row.Step.Action is StepAction.Move);
    }

    [Fact]
    public void WindowInDanger_NoGuardAndTheMoveCountsAsBegun_IsSaidBeforeTheWindowCloses()
    {
        var scene = Scene.Open(guard: 0);
        scene.Say(0, new BenchCommand.AddRequests([Scene.Request("R1")]));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        scene.Say(50, new BenchCommand.Mixed(Scene.R("R1")));
        scene.Plan(50);
        scene.Say(75, new BenchCommand.Loaded(Scene.R("R1"), Scene.Slot(1), false));
        scene.Plan(75);
        scene.Say(100, new BenchCommand.CardChanged(new ReaderNumber(1), new LotCode("L1")));
        scene.Plan(100);
        var closes = scene.Now.WindowOf(scene.Find("R1"))!.Value.Closes;

        var danger = Assert.Single(scene.View(600).Alarms, alarm => alarm.Key.Kind == AlarmKind.WindowInDanger);

        // The move takes 15 s, and is said one prompt (20 s) ahead.
        Assert.Equal(closes - Duration.FromSeconds(35), danger.From);
    }

    [Fact]
    public void Problem_TwoToldInOneSlotAfterAnUnheardMove_LeavesTheEarlierOneToItsAlarm()
    {
        var scene = Scene.Reacting();
        var second = Scene.Request("R2");
        scene.Say(110, new BenchCommand.AddRequests([second]));
        scene.Plan(110, PlanCause.RequestsChanged);
        scene.Say(400, new BenchCommand.Mixed(Scene.R("R2")));
        scene.Say(560, new BenchCommand.Loaded(Scene.R("R2"), Scene.Slot(1), false));

        // Long after the window of what was there before has closed.
        var problem = LiveBench.Problem(scene.Now, Scene.At(900));
        Assert.True(
            problem.MidRun!.Cartridges.Count(c =>
                c.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot }) <= 1);
        scene.Plan(900);
        Assert.NotNull(scene.Now.Adopted);
        Assert.Contains(scene.View(900).Alarms, alarm => alarm.Key.Request == Scene.R("R1"));
    }

    [Fact]
    public void HasUnplanned_FromAReportToThePlanAfterIt()
    {
        var scene = Scene.Running(Scene.Request("R1"));
        Assert.False(scene.Now.HasUnplanned);
        scene.Say(40, new BenchCommand.Mixed(Scene.R("R1")));
        Assert.True(scene.Now.HasUnplanned);
        scene.Plan(40);
        Assert.False(scene.Now.HasUnplanned);
    }
}
