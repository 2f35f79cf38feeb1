using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>For how long hands are believed to be at a step, where that is at stake.</summary>
public sealed class PatienceTest
{
    private static readonly HandsNumber Hands = new(1);

    /// <summary>
    /// Whether a move has emptied the only slot is what nobody would know then, and a mixture that waits for the slot
    /// would be given up for it: whoever begins the move by its latest start, as the screen says, must not lose one.
    /// </summary>
    [Fact]
    public void Move_OutOfTheOnlySlot_IsNotCalledNotKnownEarlyWhereThatCostsTheMixtureThatWaits()
    {
        var scene = Reacting(Open(slots: 1));
        scene.Say(100, new BenchCommand.AddRequests([Request("R2", Assay("A2") with { MixToLoad = Seconds(45) })]));
        scene.Plan(100, PlanCause.RequestsChanged);
        var mix = scene.Now.Adopted!.NextOf(Hands)!;
        Assert.Equal(new StepAction.Mix(R("R2")), mix.Step.Action);
        var mixed = (mix.Step.Start - Start).TotalSeconds + 50;
        scene.Say(mixed, new BenchCommand.Mixed(R("R2")));
        scene.Plan(mixed);
        var move = scene.Now.Adopted.NextOf(Hands)!;
        Assert.Equal(R("R1"), Assert.IsType<StepAction.Move>(move.Step.Action).Request);
        Assert.InRange(move.Spare!.Value, Seconds(1), Seconds(45));

        var view = LiveBench.View(scene.Now, move.Step.Start + Seconds(1));

        Assert.InRange(view.NotKnownAt!.Value, move.Step.Start + move.Spare.Value + Seconds(15), At(3600));
    }
}
