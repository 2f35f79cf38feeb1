using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>Corrections, undo when others rest on it, and reports that arrive late.</summary>
public sealed class RevisingTest
{
    private static readonly DeviceId Other = new("other");

    [Fact]
    public void Correct_TimeOfALoad_RetimesTheWindowAtOnceAndKeepsBoth()
    {
        var scene = Reacting();
        var loaded = IdOf<BenchEvent.Loaded>(scene);
        Accept(scene.Say(110, new BenchCommand.CorrectReport(loaded, At(55), null, null, null)));
        Assert.Equal(new ReadWindow(At(60 + 480), At(50 + 480 + 75), At(50 + 480 + 90)),
            scene.View(110).Slots[0].Window);
        scene.Plan(110, PlanCause.Corrected);
        Assert.Equal(At(525), scene.View(110).Offers.Single().MayBegin);
        Assert.Contains(scene.Entries, entry => entry.Event is BenchEvent.Loaded { End: var end }
            && end.Latest == At(75));
    }

    [Fact]
    public void Correct_SlotOfALoad_MovesTheCartridge()
    {
        var scene = Reacting();
        Accept(
            scene.Say(110, new BenchCommand.CorrectReport(IdOf<BenchEvent.Loaded>(scene), null, Slot(3), null, null)));
        Assert.Null(scene.Now.InSlot(new SlotNumber(1)));
        Assert.Equal(R("R1"), scene.Now.InSlot(new SlotNumber(3))!.Id);
        scene.Plan(110, PlanCause.Corrected);
        Assert.IsType<StepAction.Move>(scene.View(110).Offers.Single().Action);
    }

    [Fact]
    public void Correct_TimeOfALoadAfterItsRead_JudgesTheReadAgain()
    {
        var scene = Reacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        Assert.Empty(scene.Find("R1").Deviations);
        var loaded = IdOf<BenchEvent.Loaded>(scene);
        Accept(
            scene.Say(570,
                new BenchCommand.CorrectReport(loaded, At(100), null, null, "the tablet lay on the other bench")));
        Assert.Equal([Deviation.EarlyRead], scene.Find("R1").Deviations);
        Assert.False(scene.Find("R1").ReadInWindow);
        Accept(scene.Say(580, new BenchCommand.CorrectReport(loaded, At(70), null, null, "no, it was right")));
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.True(scene.Find("R1").ReadInWindow);
    }

    [Fact]
    public void Correct_LateOrFromAnotherDevice_NeedsAReason()
    {
        var scene = Reacting();
        var loaded = IdOf<BenchEvent.Loaded>(scene);
        Assert.Equal(new Decision.Refused(Refusal.ReasonMissing),
            scene.Say(75 + 121, new BenchCommand.CorrectReport(loaded, At(60), null, null, " ")));
        Assert.Equal(new Decision.Refused(Refusal.ReasonMissing),
            scene.Say(100, new BenchCommand.CorrectReport(loaded, At(60), null, null, null), Other));
        Accept(scene.Say(75 + 120, new BenchCommand.CorrectReport(loaded, At(60), null, null, null)));
        Accept(scene.Say(900, new BenchCommand.CorrectReport(loaded, At(61), null, null, "seen on the camera"), Other));
    }

    [Fact]
    public void Correct_OfNothingOrToTheFuture_IsRefused()
    {
        var scene = Reacting();
        var loaded = IdOf<BenchEvent.Loaded>(scene);
        Assert.Equal(Refusal.UnknownReport,
            Refused(scene.Say(110, new BenchCommand.CorrectReport(new ReportId("none"), At(60), null, null, null))));
        Assert.Equal(Refusal.UnreadableTime,
            Refused(scene.Say(110, new BenchCommand.CorrectReport(loaded, At(111), null, null, null))));
        Assert.Equal(Refusal.NothingToCorrect,
            Refused(scene.Say(110, new BenchCommand.CorrectReport(loaded, null, Slot(1), null, null))));
    }

    [Fact]
    public void Undo_WithLaterReportsOnTheCartridge_NamesThemAndTakesThemBackTogether()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")), id: "mixed");
        scene.Plan(50);
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false), Other, id: "loaded");
        Assert.Equal(new Decision.Refused(Refusal.OthersRestOnIt, "loaded"),
            scene.Say(80, new BenchCommand.Undo(new ReportId("mixed"))));
        Accept(scene.Say(80, new BenchCommand.Undo(new ReportId("mixed"), [new ReportId("loaded")])));
        Assert.IsType<CartridgeStage.Waiting>(scene.Find("R1").Stage);
        scene.Plan(80, PlanCause.Corrected);
        Assert.IsType<StepAction.Mix>(scene.View(80).Offers.Single().Action);
    }

    [Fact]
    public void Undo_OfAClearWhoseReaderIsTakenSince_AsksWhatIsInIt()
    {
        var scene = TwoReacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Say(610, new BenchCommand.Cleared(R("R1"), Reader1), id: "cleared");
        scene.Say(640, new BenchCommand.ReadStarted(R("R2"), Reader1, false), Other);
        Assert.Empty(scene.View(640).Questions);
        Accept(scene.Say(645, new BenchCommand.Undo(new ReportId("cleared"))));
        var asked = Assert.Single(scene.View(645).Questions);
        Assert.Equal((R("R2"), R("R1")), (asked.Request!.Value, asked.Other!.Value));
        Accept(scene.Say(650, new BenchCommand.AnswerQuestion(asked.Key, Answer.OtherCleared)));
        Assert.Empty(scene.View(650).Questions);
        Assert.IsType<CartridgeStage.Cleared>(scene.Find("R1").Stage);
        Assert.Empty(scene.Find("R2").Deviations);
    }

    [Fact]
    public void Report_ThatArrivesLate_IsFoldedInWhereItBelongs()
    {
        // The tablet that saw R1 out of the reader was alone; R2's read was reported meanwhile.
        var scene = TwoReacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Say(640, new BenchCommand.ReadStarted(R("R2"), Reader1, false));
        Assert.IsType<CartridgeStage.Astray>(scene.Find("R1").Stage);
        Accept(scene.Say(610, new BenchCommand.Cleared(R("R1"), Reader1), Other, arrived: 700));
        Assert.IsType<CartridgeStage.Cleared>(scene.Find("R1").Stage);
        Assert.True(scene.Find("R1").ReadInWindow);
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.DoesNotContain(Deviation.ReaderBelievedTaken, scene.Find("R2").Deviations);
        Assert.Empty(scene.View(700).Questions);
    }

    [Fact]
    public void SameStep_FromTwoTabletsWithinASecond_IsOneTruth()
    {
        var scene = Running(Request("R1"));
        scene.Say(45, new BenchCommand.Mixed(R("R1")));
        var before = Told(scene.Now);
        Accept(scene.Say(45.5, new BenchCommand.Mixed(R("R1")), Other));
        Assert.Equal(before, Told(scene.Now));
        Assert.IsType<BenchEvent.SaidAgain>(scene.Entries[^1].Event);
    }

    [Fact]
    public void Replay_OfRevisions_IsTheSameState()
    {
        var scene = Reacting();
        scene.Say(110, new BenchCommand.CorrectReport(IdOf<BenchEvent.Loaded>(scene), At(60), Slot(2), null, null));
        scene.Plan(110, PlanCause.Corrected);
        scene.Say(30, new BenchCommand.CardChanged(Reader1, new LotCode("L2")), Other, arrived: 200);
        Assert.Equal(Dump.Of(scene.Now), Dump.Of(scene.Entries.Aggregate((BenchState?)null, LiveBench.Apply)));
    }

    internal static Scene TwoReacting()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        scene.Say(125, new BenchCommand.Mixed(R("R2")));
        scene.Say(150, new BenchCommand.Loaded(R("R2"), Slot(2), false));
        scene.Say(180, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Plan(180);
        return scene;
    }

    internal static ReportId IdOf<T>(Scene scene)
        where T : BenchEvent => scene.Entries.Last(entry => entry.Event is T).Provenance.Id;

    internal static void Accept(Decision decision) => Assert.IsType<Decision.Accepted>(decision);

    internal static Refusal Refused(Decision decision) => Assert.IsType<Decision.Refused>(decision).Why;
}
