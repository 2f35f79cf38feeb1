using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.RevisingTest;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>Steps told sooner than hands can have done them are recorded, held and asked for.</summary>
public sealed class QuicknessTest
{
    [Theory]
    [InlineData(4, true)]
    [InlineData(17, true)]
    [InlineData(17.5, false)]
    [InlineData(50, false)]
    public void Mixed_SoonerThanHalfItsShortest_IsAskedFor(double after, bool asks)
    {
        var scene = Running(Request("R1"));
        Accept(scene.Say(after, new BenchCommand.Mixed(R("R1"))));
        Assert.Equal(asks ? [Deviation.TooQuick] : [], scene.Find("R1").Deviations);
        Assert.Equal(asks ? [QuestionKind.TooQuick] : [], KindsAsked(scene, after));
        Assert.IsType<CartridgePhase.Mixed>(scene.Find("R1").Phase);
    }

    [Fact]
    public void MixAndLoad_OfFourSecondsEach_AreBothAskedFor()
    {
        var scene = Running(Request("R1"));
        scene.Say(4, new BenchCommand.Mixed(R("R1")));
        scene.Plan(4);
        scene.Say(8, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        Assert.Equal([QuestionKind.TooQuick, QuestionKind.TooQuick], KindsAsked(scene, 8));
    }

    [Theory]
    // A fifth of the move's 15 s is 3 s.
    [InlineData(2.5, true)]
    [InlineData(3, false)]
    public void Move_RightAfterAnotherReport_IsAskedFor(double after, bool asks)
    {
        var scene = Reacting();
        scene.Say(570, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Plan(570);
        scene.Say(570 + after, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        Assert.Equal(asks ? [QuestionKind.TooQuick] : [], KindsAsked(scene, 570 + after));
    }

    [Theory]
    [InlineData(1.5, true)]
    [InlineData(2, false)]
    public void Clear_RightAfterAnotherReport_IsAskedFor(double after, bool asks)
    {
        var scene = Running(Request("R1"), Request("R2"));
        var first = Load(scene, 1, 50);
        var second = Load(scene, 2, 125);
        scene.Say(225, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Plan(225);
        scene.Say(570, new BenchCommand.ReadStarted(first, Reader1, false));
        scene.Plan(570);
        var clears = SecondsOf(scene.View(570).Offers[0].MayBegin);
        scene.Say(clears - 1, new BenchCommand.Discarded(second, DiscardReason.Dropped, null));
        scene.Plan(clears - 1);
        Assert.IsType<StepAction.Clear>(scene.View(clears).Offers[0].Action);
        scene.Say(clears - 1 + after, new BenchCommand.Cleared(first, Reader1));
        Assert.Equal(asks ? [QuestionKind.TooQuick] : [], KindsAsked(scene, clears - 1 + after));
    }

    [Fact]
    public void Mixed_BeginNotKnown_AsksNothing()
    {
        // Told with a time of its own; of another order with two pairs of hands; without a plan.
        var stated = Running(Request("R1"));
        stated.Say(4, new BenchCommand.Mixed(R("R1"), TimeStated: true));
        Assert.Empty(stated.View(4).Questions);

        var unplanned = Open();
        unplanned.Say(0, new BenchCommand.AddRequests([Request("R1")]));
        unplanned.Say(0, new BenchCommand.StartBatch());
        unplanned.Say(4, new BenchCommand.Mixed(R("R1")));
        Assert.Empty(unplanned.View(4).Questions);
    }

    [Fact]
    public void Move_ThatWasWaitedFor_MayHaveBegunAtItsPrompt()
    {
        var scene = Reacting();
        var move = scene.View(100).Offers[0];
        Assert.IsType<StepAction.Move>(move.Action);
        var at = SecondsOf(move.MayBegin) + 1;
        scene.Say(at, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        Assert.DoesNotContain(QuestionKind.TooQuick, KindsAsked(scene, at));
    }

    [Fact]
    public void Answer_EarlierTime_TakesTheMarkAway()
    {
        var scene = Running(Request("R1"), Request("R2"));
        var first = scene.Now.Adopted!.NextOf(new HandsNumber(1))!.Step.Action.Subject!.Value;
        scene.Say(40, new BenchCommand.Mixed(first));
        scene.Plan(40);
        scene.Say(45, new BenchCommand.Loaded(first, Slot(1), false));
        var asked = Assert.Single(scene.View(45).Questions);
        Accept(scene.Say(60, new BenchCommand.AnswerQuestion(asked.Key, Answer.AtThatTime, TimeStated: true),
            arrived: 80));
        Assert.Empty(scene.View(80).Questions);
        Assert.Empty(scene.Find(first.Value).Deviations);
        Assert.Equal(new InstantRange(At(55), At(65)),
            ((CartridgePhase.Reacting)scene.Find(first.Value).Phase!).LoadEnd);
    }

    [Fact]
    public void Answer_Stands_ASpecimenStaysHeld_AMoveDoesNot()
    {
        var scene = Running(Request("R1"));
        scene.Say(4, new BenchCommand.Mixed(R("R1")));
        scene.Plan(4);
        Accept(scene.Say(8, new BenchCommand.AnswerQuestion(Assert.Single(scene.View(8).Questions).Key,
            Answer.Stands)));
        Assert.Empty(scene.View(8).Questions);
        Assert.Equal([Deviation.TooQuick], scene.Find("R1").Deviations);

        var moved = Reacting();
        moved.Say(570, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        moved.Plan(570);
        moved.Say(571, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        Assert.True(moved.Find("R1").IsHeld);
        Accept(moved.Say(580, new BenchCommand.AnswerQuestion(Assert.Single(moved.View(580).Questions).Key,
            Answer.Stands)));
        Assert.False(moved.Find("R1").IsHeld);
        Assert.True(moved.Find("R1").ReadInWindow);
    }

    [Fact]
    public void Answer_Mistake_TakesTheReportBack()
    {
        var scene = Running(Request("R1"));
        scene.Say(4, new BenchCommand.Mixed(R("R1")));
        scene.Plan(4);
        Accept(scene.Say(8, new BenchCommand.AnswerQuestion(Assert.Single(scene.View(8).Questions).Key,
            Answer.Mistake)));
        Assert.IsType<CartridgeStage.Waiting>(scene.Find("R1").Stage);
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.Empty(scene.View(8).Questions);
    }

    [Fact]
    public void Mixed_TooQuickWhileTheClockIsInDoubt_IsNoVerdict()
    {
        var scene = Running(Request("R1"));
        scene.Say(1, new BenchCommand.NoteClock(Scene.Seconds(7)));
        scene.Say(4, new BenchCommand.Mixed(R("R1")));
        Assert.DoesNotContain(Deviation.TooQuick, scene.Find("R1").Deviations);
    }

    /// <summary>Mixed and loaded as planned, the mix told at an instant.</summary>
    private static RequestId Load(Scene scene, int slot, double mixed)
    {
        var request = scene.Now.Adopted!.NextOf(new HandsNumber(1))!.Step.Action.Subject!.Value;
        scene.Say(mixed, new BenchCommand.Mixed(request));
        scene.Plan(mixed);
        scene.Say(mixed + 25, new BenchCommand.Loaded(request, Slot(slot), false));
        scene.Plan(mixed + 25);
        return request;
    }

    private static double SecondsOf(NodaTime.Instant at) => (at - Start).TotalSeconds;

    private static List<QuestionKind> KindsAsked(Scene scene, double at) =>
        [.. scene.View(at).Questions.Select(question => question.Key.Kind)];
}
