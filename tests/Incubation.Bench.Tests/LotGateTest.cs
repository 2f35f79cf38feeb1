using CsCheck;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Planning.Checking;
using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.RevisingTest;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>What a kit lot's controls let its patients' cartridges do.</summary>
public sealed class LotGateTest
{
    private static readonly LotCode L1 = new("L1");

    [Fact]
    public void Awaiting_WithAControlOnTheBench_ThePatientIsPlannedAfterIt()
    {
        var scene = Gated(LotGate.AwaitingControls, Control("C1"), Request("R1"));
        var clear = Row(scene, new StepAction.Clear(R("C1"), Reader1));
        Assert.True(Row(scene, new StepAction.Mix(R("R1"))).Start >= clear.End);
        Assert.Empty(scene.View(0).NotPlanned);
        Assert.Equal(new StepAction.Mix(R("C1")), scene.View(0).Offers.Single().Action);
    }

    [Fact]
    public void Open_TheSameRequests_ArePlannedTogether()
    {
        var scene = Gated(LotGate.Open, Control("C1"), Request("R1"));
        Assert.True(Row(scene, new StepAction.Mix(R("R1"))).Start < Row(scene,
            new StepAction.Clear(R("C1"), Reader1)).End);
    }

    [Fact]
    public void Awaiting_WithoutAControl_NothingIsPlannedOrOffered()
    {
        var scene = Gated(LotGate.AwaitingControls, Request("R1"));
        Assert.Equal([new NotPlanned(R("R1"), NotPlannedCause.ControlsAwaited)], scene.View(0).NotPlanned);
        Assert.Empty(scene.View(0).Offers);
        Assert.DoesNotContain(scene.Now.Adopted?.Remaining ?? [], row => row.Step.Action.Subject == R("R1"));
    }

    [Fact]
    public void Awaiting_PatientsOfAnotherLot_GoOn()
    {
        var scene = Gated(LotGate.AwaitingControls, Request("R1"), OfLot(Request("R2"), "L2"));
        Assert.Equal(R("R2"), scene.View(0).Offers.Single().Action.Subject);
    }

    [Fact]
    public void Awaiting_WhenTheControlIsOut_ThePatientIsExpectedAMinuteLaterAndThenNotPlannedAnyMore()
    {
        var scene = Gated(LotGate.AwaitingControls, Control("C1"), Request("R1"));
        var cleared = RunThrough(scene, "C1");
        scene.Plan(cleared);
        var mix = Row(scene, new StepAction.Mix(R("R1")));
        Assert.Equal(At(cleared + 60), mix.Start);
        Assert.Empty(scene.View(cleared + 59).Offers);
        Assert.Equal(At(cleared + 60), scene.View(cleared + 1).ReplanAt);

        scene.Plan(cleared + 60, PlanCause.StepOverran);
        Assert.DoesNotContain(scene.Now.Adopted?.Remaining ?? [], row => row.Step.Action.Subject == R("R1"));
        Assert.Equal(NotPlannedCause.ControlsAwaited, scene.View(cleared + 61).NotPlanned.Single().Cause);
        Assert.Empty(scene.View(cleared + 61).Offers);
    }

    [Fact]
    public void Opened_WhenTheControlsAreAccepted_ThePatientIsOfferedAtOnce()
    {
        var scene = Gated(LotGate.AwaitingControls, Control("C1"), Request("R1"));
        var cleared = RunThrough(scene, "C1");
        Accept(scene.Say(cleared + 20, new BenchCommand.SetLotGate(L1, LotGate.Open)));
        scene.Plan(cleared + 20, PlanCause.MeansChanged);
        var offer = scene.View(cleared + 20).Offers.Single();
        Assert.Equal((new StepAction.Mix(R("R1")), At(cleared + 20)), (offer.Action, offer.MayBegin));
    }

    /// <summary>
    /// A control that was cleared before the gate was set, on the day before perhaps, is none of those that are
    /// awaited.
    /// </summary>
    [Fact]
    public void Awaiting_AControlFromBefore_IsNotExpected()
    {
        var scene = Gated(LotGate.Open, Control("C1"), Request("R1"));
        Accept(scene.Say(0.1, new BenchCommand.ChangeReady(R("R1"), null)));
        scene.Plan(0.1, PlanCause.RequestsChanged);
        var cleared = RunThrough(scene, "C1");
        Accept(scene.Say(cleared + 1, new BenchCommand.ChangeReady(R("R1"), At(cleared + 1))));
        Accept(scene.Say(cleared + 2, new BenchCommand.SetLotGate(L1, LotGate.AwaitingControls)));
        Assert.Equal(NotPlannedCause.ControlsAwaited, scene.View(cleared + 3).NotPlanned.Single().Cause);
    }

    /// <summary>Set between a plan and the next, the gate keeps back what the old plan offers.</summary>
    [Theory]
    [InlineData(LotGate.AwaitingControls)]
    [InlineData(LotGate.Failed)]
    public void GateSet_BeforeThePlanIsMadeAnew_NoMixIsOfferedAndNoneHasBegun(LotGate gate)
    {
        var scene = Running(Request("R1"));
        Assert.NotEmpty(scene.View(1).Offers);
        Accept(scene.Say(1, new BenchCommand.SetLotGate(L1, gate)));
        Assert.Empty(scene.View(2).Offers);
        Assert.Empty(LiveBench.Problem(scene.Now, At(2)).MidRun!.Steps);
    }

    [Fact]
    public void Failed_AMixture_IsThrownAwayAndItsRepeatCanBeOrdered()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        Accept(scene.Say(55, new BenchCommand.SetLotGate(L1, LotGate.Failed)));
        Assert.Empty(scene.View(55).Offers);
        scene.Plan(55, PlanCause.MeansChanged);
        var offer = scene.View(55).Offers.Single();
        Assert.Equal((new StepAction.Discard(R("R1")), DiscardReason.ControlsFailed), (offer.Action, offer.Reason));
        Assert.Equal(LossCause.ControlsFailed, scene.View(55).Losses.Single().Cause);
        Assert.Empty(scene.View(500).Alarms);
        scene.Say(60, new BenchCommand.Discarded(R("R1"), DiscardReason.ControlsFailed, null));
        Assert.Equal([R("R1")], scene.View(61).Repeats);
    }

    [Fact]
    public void Failed_AReactingCartridge_IsReadAndItsResultIsHeldForGood()
    {
        var scene = Reacting();
        Accept(scene.Say(110, new BenchCommand.SetLotGate(L1, LotGate.Failed)));
        scene.Plan(110, PlanCause.MeansChanged);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action is StepAction.Move);
        Assert.Equal([Deviation.ControlsFailed], scene.Find("R1").Deviations);
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Say(610, new BenchCommand.Cleared(R("R1"), Reader1));
        Assert.True(ResultHeld(scene, 620, "R1"));
        Accept(scene.Say(700, new BenchCommand.SetLotGate(L1, LotGate.Open)));
        Assert.True(scene.Find("R1").IsHeld);
    }

    /// <summary>What the controls have said stays said when an account of the batch is corrected.</summary>
    [Fact]
    public void Failed_AndThenAReportCorrected_TheMarkStays()
    {
        var scene = Reacting();
        Accept(scene.Say(110, new BenchCommand.SetLotGate(L1, LotGate.Failed)));
        Accept(
            scene.Say(111,
                new BenchCommand.CorrectReport(scene.Now.Story.First(told => told.Event is BenchEvent.Loaded).Id, null,
                    Slot(2), null, "wrong slot")));
        Assert.Equal([Deviation.ControlsFailed], scene.Find("R1").Deviations);
    }

    [Fact]
    public void Failed_OnlyAControl_IsStillOffered()
    {
        var scene = Gated(LotGate.Failed, Request("R1"), Control("C2"));
        Assert.Equal(R("C2"), scene.View(0).Offers.Single().Action.Subject);
        Assert.Equal([new NotPlanned(R("R1"), NotPlannedCause.ControlsFailed)], scene.View(0).NotPlanned);
        RunThrough(scene, "C2");
        Assert.Empty(scene.Find("C2").Deviations);
    }

    [Theory]
    [InlineData(LotGate.AwaitingControls)]
    [InlineData(LotGate.Failed)]
    public void Loaded_AllTheSame_IsRecordedWithItsDeviation(LotGate gate)
    {
        var scene = Running(Request("R1"));
        Accept(scene.Say(1, new BenchCommand.SetLotGate(L1, gate)));
        Accept(scene.Say(50, new BenchCommand.Mixed(R("R1"))));
        Accept(scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false)));
        Assert.Equal([Deviation.ControlsNotAccepted], scene.Find("R1").Deviations);
        Accept(scene.Say(80, new BenchCommand.SetLotGate(L1, LotGate.Open)));
        Assert.True(scene.Find("R1").IsHeld);
    }

    [Fact]
    public void ResultsHeld_RunsAsUsual_AndIsReleasedWhenTheControlsAreAccepted()
    {
        var scene = Gated(LotGate.ResultsHeld, Request("R1"));
        RunThrough(scene, "R1");
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.True(ResultHeld(scene, 700, "R1"));
        Assert.True(scene.Find("R1").IsHeld);
        Accept(scene.Say(710, new BenchCommand.SetLotGate(L1, LotGate.Open)));
        Assert.False(scene.Find("R1").IsHeld);
    }

    [Fact]
    public void ResultsHeld_AndThenFailed_StaysHeldWhenTheLotIsGoodAgain()
    {
        var scene = Gated(LotGate.ResultsHeld, Request("R1"));
        RunThrough(scene, "R1");
        Assert.True(ResultHeld(scene, 700, "R1"));
        Accept(scene.Say(710, new BenchCommand.SetLotGate(L1, LotGate.Failed)));
        Accept(scene.Say(720, new BenchCommand.SetLotGate(L1, LotGate.Open)));
        Assert.True(scene.Find("R1").IsHeld);
    }

    [Fact]
    public void Failed_AResultThatWasReleased_IsNotMarked()
    {
        var scene = Gated(LotGate.Open, Request("R1"));
        RunThrough(scene, "R1");
        Assert.False(ResultHeld(scene, 700, "R1"));
        Accept(scene.Say(710, new BenchCommand.SetLotGate(L1, LotGate.Failed)));
        Assert.False(scene.Find("R1").IsHeld);
    }

    [Fact]
    public void Gates_OutliveTheBatch()
    {
        var scene = Gated(LotGate.ResultsHeld, Request("R1"));
        RunThrough(scene, "R1");
        ResultHeld(scene, 700, "R1");
        Accept(scene.Say(710, new BenchCommand.CloseBatch()));
        Assert.Equal(LotGate.ResultsHeld, scene.Now.GateOf(L1)!.Gate);
    }

    /// <summary>A replay that begins between two batches must know them too.</summary>
    [Fact]
    public void Gates_AreKeptInTheBenchsStanding()
    {
        var scene = Open();
        Accept(scene.Say(0, new BenchCommand.SetLotGate(L1, LotGate.Failed)));
        Assert.Equal(scene.Now.LotGates, BenchState.From(BenchCheckpoint.Of(scene.Now), scene.Now.Revision).LotGates);
    }

    [Fact]
    public void SetLotGate_Again_KeepsSinceWhen()
    {
        var scene = Gated(LotGate.AwaitingControls, Request("R1"));
        Accept(scene.Say(100, new BenchCommand.SetLotGate(L1, LotGate.AwaitingControls)));
        Assert.Equal(At(0), scene.Now.GateOf(L1)!.Since);
    }

    /// <summary>
    /// Whatever gates do in the middle of a batch: every plan that is proposed is valid, and no mix of a patient is
    /// ever offered while its lot waits or has failed.
    /// </summary>
    [Fact]
    public void Gates_ComingAndGoing_NeverOfferWhatTheyKeepBack() =>
        Gen.Select(Gen.Int[0, 3].Array[1, 12], Gen.Int[1, 90].Array[12], Gen.Bool.Array[5])
            .Sample((gates, waits, controls) =>
        {
            var scene = Running([.. controls.Select((control, at) => control ? Control($"C{at}") : Request($"R{at}"))]);
            var now = 0.0;
            foreach (var (gate, at) in gates.Select((gate, at) => (gate, at)))
            {
                now += waits[at];
                Accept(scene.Say(now, new BenchCommand.SetLotGate(L1, (LotGate)gate)));
                NeverKept(scene, now);
                scene.Plan(now, PlanCause.MeansChanged);
                Assert.Empty(PlanChecker.Check(LiveBench.Problem(scene.Now, At(now)), scene.Now.Adopted?.AsItStands
                    ?? NoPlan));
                if (NeverKept(scene, now) is { } offer && Reported(offer) is { } report)
                {
                    now = Math.Max(now, (offer.PlannedEnd - Start).TotalSeconds);
                    Accept(scene.Say(now, report));
                    scene.Plan(now);
                    NeverKept(scene, now);
                }
            }
        }, iter: 60);

    private static readonly Plan NoPlan = new([], 0, Duration.Zero, Duration.Zero, 0, false, [], [], []);

    private static Offer? NeverKept(Scene scene, double now)
    {
        var offers = scene.View(now).Offers;
        var gate = scene.Now.GateOf(L1)?.Gate ?? LotGate.Open;
        foreach (var offer in offers)
        {
            var isPatients = offer.Action.Subject is { } subject
                && scene.Now.Find(subject)!.Wanted.Request.Kind == RequestKind.Patient;
            if (!isPatients)
                continue;
            Assert.False(offer.Action is StepAction.Mix && gate is (LotGate.AwaitingControls or LotGate.Failed));
            Assert.False(offer.Action is StepAction.Load && gate == LotGate.Failed);
        }

        return offers.FirstOrDefault();
    }

    private static BenchCommand.Report? Reported(Offer offer) => offer.Action switch
    {
        StepAction.Mix mix => new BenchCommand.Mixed(mix.Request),
        StepAction.Load load => new BenchCommand.Loaded(load.Request, load.Place, false),
        StepAction.CardChange change => new BenchCommand.CardChanged(change.Reader, change.Lot),
        _ => null,
    };

    /// <summary>A running batch of a lot with this gate since its beginning, planned.</summary>
    private static Scene Gated(LotGate gate, params BenchRequest[] requests)
    {
        var scene = Open();
        Accept(scene.Say(0, new BenchCommand.SetLotGate(L1, gate)));
        scene.Say(0, new BenchCommand.AddRequests(requests));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        return scene;
    }

    /// <summary>
    /// Runs the one cartridge that is planned to its clear, as planned; gives the second of its clear.
    /// </summary>
    private static double RunThrough(Scene scene, string id)
    {
        var now = 0.0;
        while (scene.Find(id).Stage is not CartridgeStage.Cleared)
        {
            var offer = scene.View(now).Offers.First(one => one.Action.Subject == R(id)
                || one.Action is StepAction.CardChange);
            now = Math.Ceiling((Instant.Max(offer.PlannedEnd, offer.ReportFrom) - Start).TotalSeconds);
            Accept(scene.Say(now, offer.Action switch
            {
                StepAction.Move move => new BenchCommand.ReadStarted(move.Request, move.Reader, false),
                StepAction.Clear clear => new BenchCommand.Cleared(clear.Request, clear.Reader),
                _ => Reported(offer)!,
            }));
            scene.Plan(now);
        }

        return now;
    }

    private static bool ResultHeld(Scene scene, double seconds, string id)
    {
        var decision = scene.Say(seconds, new BenchCommand.ResultEntered(R(id), new ShownResult.Value("4.2")));
        return Assert.IsType<BenchEvent.ResultEntered>(Assert.IsType<Decision.Accepted>(decision).Events[0]).Held;
    }

    private static BenchRequest Control(string id) => Request(id) is var wanted
        ? wanted with { Request = wanted.Request with { Kind = RequestKind.Control } }
        : wanted;

    private static BenchRequest OfLot(BenchRequest wanted, string lot) =>
        wanted with { Request = wanted.Request with { Lot = new LotCode(lot) } };

    private static PlannedStep Row(Scene scene, StepAction action) =>
        scene.Now.Adopted!.Remaining.First(row => row.Step.Action == action).Step;
}
