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

    /// <summary>
    /// The others come to the mix of R3 while R1 was perhaps mixed and R2 waits to be loaded: alone they would come too
    /// late for one of these after it.
    /// </summary>
    [Fact]
    public void Mix_OverItsAllowedTime_IsNotKnownBeforeOthersMixWhatCostsItOrAnother()
    {
        var scene = Open(hands: 2);
        var quick = Assay("A2") with { MixToLoad = Seconds(80), ReadWindow = Seconds(400) };
        scene.Say(0, new BenchCommand.AddRequests([Request("R1", quick), Request("R2", quick), Request("R3", quick)]));
        scene.Say(0, new BenchCommand.StartBatch());
        (StepAction, int, double)[] rest =
        [
            (new StepAction.Mix(R("R1")), 1, 0), (new StepAction.Load(R("R1"), Slot(1)), 1, 50),
            (new StepAction.Load(R("R2"), Slot(2)), 1, 75), (new StepAction.Mix(R("R3")), 2, 50),
            (new StepAction.Load(R("R3"), Slot(3)), 2, 100),
            (new StepAction.CardChange(Reader1, new LotCode("L1")), 2, 125),
            (new StepAction.Move(R("R1"), Reader1), 1, 600), (new StepAction.Clear(R("R1"), Reader1), 1, 655),
            (new StepAction.Move(R("R2"), Reader1), 1, 665), (new StepAction.Clear(R("R2"), Reader1), 1, 720),
            (new StepAction.Move(R("R3"), Reader1), 1, 730), (new StepAction.Clear(R("R3"), Reader1), 1, 785),
        ];
        scene.Follow(0, [(new StepAction.Mix(R("R2")), 2, 0), .. rest]);
        Assert.IsType<Decision.Accepted>(scene.Say(50, new BenchCommand.Mixed(R("R2"))));
        scene.Follow(50, rest);
        Assert.Equal(new StepAction.Mix(R("R3")), scene.Now.Adopted!.NextOf(new HandsNumber(2))!.Step.Action);

        // R1 and R2 can be loaded until 1:55, each load takes 25 s, and a mix 50 s.
        Assert.InRange(scene.View(50).NotKnownAt!.Value, At(50), At(52));
    }

    /// <summary>
    /// Until somebody says whether the reader was cleared it counts as taken, and R2 waits for it: but if nobody is at
    /// the clear, waiting costs R2 as well, and the other hands are there to be asked.
    /// </summary>
    [Fact]
    public void Clear_OverItsAllowedTime_IsAskedForInTimeWhereOthersAreThere()
    {
        var scene = Open(hands: 2, readers: 2);
        var inside = Assay("A2", IncubationPlace.Reader) with { MixToLoad = Seconds(70) };
        scene.Say(0, new BenchCommand.AddRequests([Request("R1", inside), Request("R2", inside)]));
        scene.Say(0, new BenchCommand.StartBatch());
        (StepAction, int, double)[] rest =
        [
            (new StepAction.Clear(R("R1"), Reader1), 1, 595),
            (new StepAction.Load(R("R2"), new CartridgePlace.InReader(Reader1)), 1, 605),
            (new StepAction.Clear(R("R2"), Reader1), 1, 1150),
        ];
        (StepAction, int, double) mix = (new StepAction.Mix(R("R2")), 2, 545);
        (StepAction, int, double) load = (new StepAction.Load(R("R1"), new CartridgePlace.InReader(Reader1)), 2, 50);
        scene.Follow(0, [(new StepAction.CardChange(Reader1, new LotCode("L1")), 1, 0),
            (new StepAction.Mix(R("R1")), 2, 0), load, mix, .. rest]);
        scene.Say(25, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(75, new BenchCommand.Loaded(R("R1"), new CartridgePlace.InReader(Reader1), false));
        scene.Follow(75, [mix, .. rest]);
        scene.Say(593, new BenchCommand.Mixed(R("R2"), true));
        scene.Follow(595, rest);

        // R2 can be loaded until 10:58; the clear before it takes 10 s, and whoever looks needs 10 s to begin.
        Assert.InRange(scene.View(596).NotKnownAt!.Value, At(605), At(640));
    }

    /// <summary>
    /// The second hands came to the load of R2 a second and a half before they said that the mix of the first was not
    /// begun: they cannot have begun it, and R1 must be loaded instead, by 1:25.
    /// </summary>
    [Fact]
    public void Load_OfferedRightBeforeAnAnswer_HasNotBegunWhereItCostsAnother()
    {
        var scene = Open(hands: 2);
        BenchRequest Of(string id, string code, Func<Assay, Assay> with) =>
            Request(id, with(Assay(code) with { ReadWindow = Seconds(400) }));
        scene.Say(0, new BenchCommand.AddRequests([Of("R1", "A2", one => one with { MixToLoad = Seconds(50) }),
            Of("R2", "A3", one => one with { Mix = Seconds(20), MixShortest = Seconds(15) }),
            Of("R3", "A4", one => one)]));
        scene.Say(0, new BenchCommand.StartBatch());
        (StepAction, int, double)[] rest =
        [
            (new StepAction.Mix(R("R3")), 1, 16), (new StepAction.Load(R("R1"), Slot(1)), 1, 66),
            (new StepAction.Load(R("R2"), Slot(2)), 2, 65), (new StepAction.Load(R("R3"), Slot(3)), 1, 91),
            (new StepAction.Move(R("R2"), Reader1), 1, 600), (new StepAction.Clear(R("R2"), Reader1), 1, 655),
            (new StepAction.Move(R("R1"), Reader1), 1, 665), (new StepAction.Clear(R("R1"), Reader1), 1, 720),
            (new StepAction.Move(R("R3"), Reader1), 1, 730), (new StepAction.Clear(R("R3"), Reader1), 1, 785),
        ];
        (StepAction, int, double) mix = (new StepAction.Mix(R("R2")), 2, 45);
        scene.Follow(0, [(new StepAction.CardChange(Reader1, new LotCode("L1")), 1, 0),
            (new StepAction.Mix(R("R1")), 2, 0), mix, .. rest]);
        scene.Say(16, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Follow(16, [(new StepAction.Mix(R("R1")), 2, 0), mix, .. rest]);
        scene.Say(45, new BenchCommand.Mixed(R("R1")));
        scene.Follow(45, [mix, .. rest]);
        scene.Say(65.5, new BenchCommand.Mixed(R("R2")));
        scene.Follow(65.5, rest);
        scene.NoteNotKnown(67, StepPatience.Usual with { Mix = Seconds(1) });
        scene.Plan(67, PlanCause.MeansChanged);
        Assert.Equal(R("R3"), Assert.Single(scene.Now.NotKnown).Action.Subject);

        scene.Say(67.1, new BenchCommand.AnswerQuestion(scene.View(67.1).Questions[0].Key, Answer.NotBegun));
        scene.Plan(67.1);

        Assert.Equal(R("R1"), Assert.IsType<StepAction.Load>(scene.View(67.1).Offers
            .Single(offer => offer.Hands == new HandsNumber(2)).Action).Request);
    }
}
