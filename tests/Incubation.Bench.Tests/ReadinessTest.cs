using Incubation.Model;
using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// What must be so before cartridges are started. That incubator, kit and specimen are at temperature first is common
/// practice (the incubator set to 25 °C, say); the kit's instructions come first.
/// </summary>
public sealed class ReadinessTest
{
    private static readonly WarmthRule At25 = new(new Celsius(25), new Celsius(1), Seconds(120));
    private static readonly ReadinessKey Kit = ReadinessKey.Materials(new LotCode("L1"));
    private static readonly ReadinessKey Reader1 = ReadinessKey.ReaderCheck(new ReaderNumber(1));

    [Fact]
    public void Of_AssaysThatSayNothing_AsksNothing() =>
        Assert.Empty(Readiness.List(Preparing(Request("R1")).Now, At(0)));

    [Fact]
    public void Of_AssayWithWarmthAndStand_AsksForEachThingOnce()
    {
        var scene = Preparing(Asking("R1"), Asking("R2"));
        Assert.Equal([ReadinessKey.Incubator, Kit, Reader1], Readiness.List(scene.Now, At(0)).Select(item => item.Key));
        Assert.All(Readiness.List(scene.Now, At(0)), item => Assert.Null(item.From));
    }

    [Fact]
    public void StartBatch_WithSomethingNotDone_IsRefusedUntilItIs()
    {
        var scene = Preparing(Asking("R1"));
        Assert.Equal(new Decision.Refused(Refusal.NotReady), scene.Say(1, new BenchCommand.StartBatch()));
        Ready(scene);
        Assert.IsType<Decision.Accepted>(scene.Say(10, new BenchCommand.StartBatch()));
    }

    [Fact]
    public void Plan_KitStillCold_MixesNoEarlierThanItIsWarm()
    {
        var scene = Preparing(Asking("R1"));
        Ready(scene);
        scene.Say(10, new BenchCommand.StartBatch());
        scene.Plan(10);
        // Taken out at 0:02, thirty minutes to stand; the incubator has been inside since 0:03, ten minutes to warm up.
        Assert.Equal(At(2 + 1800), scene.View(10).Offers.Single().MayBegin);
    }

    [Fact]
    public void Incubator_InsideItsToleranceForItsWarmUp_IsReadyFromThen()
    {
        var scene = Preparing(Asking("R1"));
        scene.Say(5, new BenchCommand.TemperatureMeasured(new Celsius(25.4)));
        Assert.Equal(At(5) + Readiness.WarmUp, Incubator(scene, 6).From);
        scene.Say(60, new BenchCommand.TemperatureMeasured(new Celsius(26.1)));
        Assert.Null(Incubator(scene, 61).From);
        scene.Say(120, new BenchCommand.TemperatureMeasured(new Celsius(25.9)));
        Assert.Equal(At(120) + Readiness.WarmUp, Incubator(scene, 121).From);
        Assert.Null(Incubator(scene, 120 + Readiness.MeasuredWithin.TotalSeconds).From);
    }

    [Fact]
    public void Request_AtAnotherTemperature_StandsAside()
    {
        var other = Asking("R2") with { Facts = Facts(new WarmthRule(new Celsius(37), new Celsius(1), null)) };
        var scene = Preparing(Asking("R1"), other);
        scene.Plan(1);
        Assert.Equal(new NotPlanned(R("R2"), NotPlannedCause.OtherTemperature),
            Assert.Single(scene.View(2).NotPlanned));
        scene.Say(3, new BenchCommand.WithdrawRequest(R("R1")));
        Assert.Empty(scene.View(4).NotPlanned);
    }

    [Fact]
    public void Added_WhileTheBatchRuns_WaitsForWhatItRestsOn()
    {
        var scene = Preparing(Request("R1"));
        scene.Say(1, new BenchCommand.StartBatch());
        scene.Say(2, new BenchCommand.AddRequests([Asking("R2")]));
        Assert.Equal(new NotPlanned(R("R2"), NotPlannedCause.NotReady), Assert.Single(scene.View(3).NotPlanned));
        Ready(scene);
        Assert.Empty(scene.View(10).NotPlanned);
    }

    /// <summary>The rule of the assay's own sheet: too long outside, and the cartridge goes.</summary>
    [Fact]
    public void Excursion_LongerThanTheSheetAllows_ThrowsTheCartridgeAway()
    {
        var scene = Preparing(Asking("R1"));
        Ready(scene);
        scene.Say(10, new BenchCommand.StartBatch());
        scene.Plan(1900);
        scene.Say(1950, new BenchCommand.Mixed(R("R1")));
        scene.Say(1975, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Say(2000, new BenchCommand.TemperatureMeasured(new Celsius(28)));
        Assert.Equal([Deviation.TemperatureOutside], scene.Find("R1").Deviations);
        scene.Plan(2125);
        Assert.Equal((R("R1"), DiscardReason.Temperature),
            scene.View(2126).Losses.Select(loss => (loss.Request, loss.Reason)).Single());
    }

    [Fact]
    public void Confirm_AThingThatIsNotThere_IsRefused()
    {
        var scene = Preparing(Asking("R1"));
        Assert.Equal(new Decision.Refused(Refusal.NoSuchThing),
            scene.Say(1, new BenchCommand.ConfirmReady(ReadinessKey.Materials(new LotCode("L9")))));
        Assert.Equal(new Decision.Refused(Refusal.NoSuchThing),
            scene.Say(1, new BenchCommand.ConfirmReady(ReadinessKey.ReaderCheck(new ReaderNumber(2)))));
        Assert.Equal(new Decision.Refused(Refusal.NoSuchThing),
            scene.Say(1, new BenchCommand.ConfirmReady(ReadinessKey.Incubator)));
    }

    private static ReadinessItem Incubator(Scene scene, double at) => Readiness.List(scene.Now, At(at))
        .Single(item => item.Key == ReadinessKey.Incubator);

    private static RunFacts Facts(WarmthRule warmth) =>
        new(ResultRule.AsDisplayed, StepTexts.None, warmth, ControlGate.None, null, null,
            new MaterialRule(Duration.FromMinutes(30), null));

    private static BenchRequest Asking(string id) => Request(id) with { Facts = Facts(At25) };

    private static Scene Preparing(params BenchRequest[] requests)
    {
        var scene = Open();
        scene.Say(0, new BenchCommand.AddRequests(requests));
        return scene;
    }

    private static void Ready(Scene scene)
    {
        scene.Say(3, new BenchCommand.TemperatureMeasured(new Celsius(25)), arrived: 3);
        scene.Say(2, new BenchCommand.ConfirmReady(Kit), arrived: 4);
        scene.Say(5, new BenchCommand.ConfirmReady(Reader1));
    }
}
