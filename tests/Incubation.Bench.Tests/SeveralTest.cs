using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>What was done while nobody reported, told together.</summary>
public sealed class SeveralTest
{
    [Fact]
    public void Several_ToldInAnyOrder_AreRecordedInTheOrderOfTheirTimes()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(600, Several((130, Load("R2", 2)), (50, Mix("R1")), (80, Load("R1", 1)), (110, Mix("R2"))));

        Assert.Equal([At(50), At(80), At(110), At(130)], scene.Now.Story.Select(told => told.At));
        Assert.All(scene.Now.Story, told => Assert.Empty(told.Deviations));
        Assert.Equal((R("R1"), R("R2")), (scene.Now.InSlot(new(1))!.Id, scene.Now.InSlot(new(2))!.Id));
        var end = Assert.IsType<CartridgePhase.Reacting>(scene.Find("R1").Phase).LoadEnd;
        Assert.Equal((At(75), At(85)), (end.Earliest, end.Latest));
    }

    [Fact]
    public void Several_Recorded_LeadWhereEachToldByItselfLeads()
    {
        var (together, alone) = (Running(Request("R1"), Request("R2")), Running(Request("R1"), Request("R2")));
        (double At, BenchCommand What)[] told =
            [(50, new BenchCommand.Mixed(R("R1"), true)), (80, new BenchCommand.Loaded(R("R1"), Slot(1), true)),
                (100, new BenchCommand.CardChanged(Reader1, new LotCode("L1")))];
        together.Say(600, Several(told), id: "T9");
        foreach (var (at, what, id) in told.Select((one, n) => (one.At, one.What, n == 0 ? "T9" : $"T9-{n + 1}")))
            alone.Say(at, what, arrived: 600, id: id);

        Assert.Equal(Told(alone.Now), Told(together.Now));
        Assert.Equal(Told(together.Now), Told(together.Entries.Aggregate((BenchState?)null, LiveBench.Apply)!));
    }

    [Theory]
    [InlineData("R9", 80, Refusal.UnknownRequest)]
    [InlineData("R1", 700, Refusal.UnreadableTime)]
    [InlineData("R1", -60, Refusal.UnreadableTime)]
    public void Several_WhereOneCannotBe_RecordNothingAndSayWhichAndWhy(string request, double at, Refusal why)
    {
        var scene = Running(Request("R1"), Request("R2"));
        var before = scene.Now;
        var decision = scene.Say(600, Several((50, Mix("R2")), (at, Mix(request))));

        var refused = Assert.IsType<Decision.Refused>(decision);
        Assert.Equal((why, R(request)), (refused.Why, ((BenchCommand.Mixed)refused.Of!.What).Request));
        Assert.Same(before, scene.Now);
    }

    [Fact]
    public void Several_OfNothing_AreRefused() => Assert.Equal(Refusal.NothingTold,
        Assert.IsType<Decision.Refused>(Running(Request("R1")).Say(9, Several())).Why);

    [Fact]
    public void Several_SentAgain_ChangeNothing()
    {
        var scene = Running(Request("R1"), Request("R2"));
        var told = Several((50, Mix("R1")), (80, Load("R1", 1)));
        scene.Say(600, told, id: "T9");
        var before = scene.Now;

        Assert.IsType<Decision.AlreadyRecorded>(scene.Say(601, told, id: "T9"));
        Assert.Same(before, scene.Now);
    }

    [Fact]
    public void Several_UnderALongName_HaveNamesThatCanBe()
    {
        var scene = Running(Request("R1"));
        var name = new string('n', TextId.MaximumLength);
        scene.Say(600, Several((50, Mix("R1")), (80, Load("R1", 1))), id: name);

        Assert.Equal([name, name[..^2] + "-2"], scene.Now.Story.Select(told => told.Id.Value));
    }

    /// <summary>The last of them can be taken back by itself, as a report that was tapped can.</summary>
    [Fact]
    public void Several_Recorded_AreTakenBackOneByOne()
    {
        var scene = Running(Request("R1"));
        scene.Say(600, Several((50, Mix("R1")), (80, Load("R1", 1))), id: "T9");
        scene.Say(610, new BenchCommand.Undo(new ReportId("T9-2")));

        Assert.IsType<CartridgePhase.Mixed>(scene.Find("R1").Phase);
        Assert.Equal(new ReportId("T9"), Revisions.Undoable(scene.Now, Tablet));
    }

    /// <summary>The window was open then, and is closed when it is told: a word against the clock.</summary>
    [Theory]
    [InlineData(632, false)]
    [InlineData(1200, true)]
    public void Several_WithAReadToldAfterItsWindow_AreMarkedAsStatedInTime(double told, bool marked)
    {
        var scene = Reacting();
        scene.Say(told, Several((600, new BenchCommand.ReadStarted(R("R1"), Reader1, false)),
            (630, new BenchCommand.Cleared(R("R1"), Reader1))));

        Assert.Equal(marked, scene.Now.Story[^2].Deviations.Contains(Deviation.StatedInTime));
        Assert.IsType<CartridgeStage.Cleared>(scene.Find("R1").Stage);
    }

    /// <summary>Who has just stated the times is not asked for them because they lie close.</summary>
    [Fact]
    public void Several_CloseToEachOther_AskNothing()
    {
        var scene = Reacting();
        scene.Say(640, Several((600, new BenchCommand.ReadStarted(R("R1"), Reader1, false)),
            (601, new BenchCommand.Cleared(R("R1"), Reader1))));

        Assert.Empty(scene.View(640).Questions);
    }

    [Fact]
    public void Several_WithTheAnswerToAQuestion_SettleIt()
    {
        var scene = Reacting();
        scene.Say(300, new BenchCommand.CardSeen(Reader1, new LotCode("L1")));
        scene.Say(400, new BenchCommand.Mixed(R("R1")));
        var asked = Assert.Single(scene.View(400).Questions);
        scene.Say(640, Several((640, new BenchCommand.AnswerQuestion(asked.Key, Answer.Mistake)),
            (600, new BenchCommand.ReadStarted(R("R1"), Reader1, false))));

        Assert.Empty(scene.View(640).Questions);
        Assert.IsType<CartridgePhase.Reading>(scene.Find("R1").Phase);
    }

    [Fact]
    public void Several_OfALockedTablet_AreEachMarked()
    {
        var scene = Running(Request("R1"));
        var decision = LiveBench.Decide(scene.Now, Several((50, Mix("R1")), (80, Load("R1", 1))), new Provenance(
            new ReportId("T9"), At(600), At(600), new PersonId("aide"), Tablet, Identity.NotChecked));

        Assert.Equal(2, Assert.IsType<Decision.Accepted>(decision).Events
            .Count(happened => happened is BenchEvent.IdentityNotChecked));
    }

    [Fact]
    public void Several_AskForOnePlan() => Assert.Equal(PlanCause.Report,
        ReplanCauses.Of(Several((50, Mix("R1")), (80, Load("R1", 1))), []));

    private static BenchCommand.Several Several(params (double At, BenchCommand What)[] told) =>
        new([.. told.Select(one => new Told(At(one.At), one.What))]);

    private static BenchCommand Mix(string request) => new BenchCommand.Mixed(R(request));

    private static BenchCommand Load(string request, int slot) =>
        new BenchCommand.Loaded(R(request), Slot(slot), false);
}
