using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// What a plan gives up by allowed lengths is not thrown away while quicker hands may still save it and nobody needs
/// its slot.
/// </summary>
public sealed class WaitingDiscardsTest
{
    private static readonly StepAction Discard = new StepAction.Discard(R("R1"));

    [Fact]
    public void Discard_WhileTheWindowIsOpen_WaitsForItsClose()
    {
        var scene = LostByAllowedLengths(slots: 4);
        Assert.Equal([R("R1")], scene.Now.Adopted!.Plan.Lost.Select(lost => lost.Request));
        Assert.True(scene.Now.Adopted.RowOf(Discard)!.Step.Start >= scene.Now.WindowOf(scene.Find("R1"))!.Value.Closes);
        Assert.DoesNotContain(scene.View(628).Offers, offer => offer.Action == Discard && offer.MayBegin <= At(628));
    }

    [Fact]
    public void Discard_OfTheOnlySlotForAnother_DoesNotWait()
    {
        var scene = LostByAllowedLengths(slots: 1);
        Assert.True(scene.Now.Adopted!.RowOf(Discard)!.Step.Start < scene.Now.WindowOf(scene.Find("R1"))!.Value.Closes);
    }

    /// <summary>The hands are back when a move by its allowed length comes too late.</summary>
    private static Scene LostByAllowedLengths(int slots)
    {
        var hands = new BenchResource.Hands(new HandsNumber(1));
        var scene = Reacting(Open(slots: slots));
        scene.Say(120, new BenchCommand.AddRequests([Request("R2")]));
        scene.Say(130, new BenchCommand.PutOutOfUse(hands, null, null));
        scene.Plan(130, PlanCause.MeansChanged);
        scene.Say(626, new BenchCommand.PutBackInUse(hands));
        scene.Plan(626, PlanCause.MeansChanged);
        return scene;
    }
}
