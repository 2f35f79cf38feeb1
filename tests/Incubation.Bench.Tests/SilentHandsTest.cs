using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.RevisingTest;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// Hands of which nothing is heard while others are there count as away: those that are there are given what there is
/// to do.
/// </summary>
public sealed class SilentHandsTest
{
    private static readonly HandsNumber First = new(1);
    private static readonly BenchResource Their = new BenchResource.Hands(First);

    [Fact]
    public void HandsNotHeardOf_WhileOthersAre_AreGivenNothingToDo()
    {
        var scene = SilentFirst();
        Assert.NotEmpty(scene.Now.Adopted!.Remaining);
        Assert.DoesNotContain(scene.Now.Adopted.Remaining, row => row.Step.Hands == First);
        Assert.Equal([Their], scene.Now.OutOfUse.Select(entry => entry.Resource));
    }

    [Fact]
    public void WhatTheOthersAnswer_DoesNotBringThemBack()
    {
        var scene = SilentFirst();
        Accept(scene.Say(125, new BenchCommand.AnswerQuestion(scene.View(125).Questions[0].Key, Answer.NotBegun)));
        scene.Plan(125);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action == new StepAction.Mix(R("R1")));
        Assert.DoesNotContain(scene.Now.Adopted.Remaining, row => row.Step.Hands == First);
    }

    [Fact]
    public void TheyAreBack_ByTheirOwnLateTap()
    {
        var scene = SilentFirst();
        Accept(scene.Say(125, new BenchCommand.Mixed(R("R1"))));
        Assert.Empty(scene.Now.OutOfUse);
        Assert.Null(scene.Now.SilentSince(First));
    }

    [Fact]
    public void TheyAreBack_WhenTheySaySo()
    {
        var scene = SilentFirst();
        Accept(scene.Say(125, new BenchCommand.PutBackInUse(Their)));
        Assert.Empty(scene.Now.OutOfUse);
        Assert.Null(scene.Now.SilentSince(First));
    }

    [Fact]
    public void OfTheLastHands_NobodyKnowsBetterThanThatTheyAreFree()
    {
        var scene = SilentFirst();
        scene.NoteNotKnown(600);
        Assert.NotNull(scene.Now.SilentSince(new HandsNumber(2)));
        Assert.Equal([Their], scene.Now.OutOfUse.Select(entry => entry.Resource));
    }

    /// <summary>Else nobody would be there, and what is in work would wait for ever.</summary>
    [Fact]
    public void TheyCountAsThere_WhenTheOthersLeaveTheBench()
    {
        var scene = SilentFirst();
        Accept(scene.Say(125, new BenchCommand.ChangeHands(1)));
        scene.Plan(125, PlanCause.MeansChanged);
        Assert.Empty(scene.Now.OutOfUse);
        Assert.All(scene.Now.Adopted!.Remaining, row => Assert.True(row.Step.Start < At(7200)));
    }

    /// <summary>
    /// Whoever else is silent counts as away from then on, and what is told of them brings nobody back.
    /// </summary>
    [Fact]
    public void WhoComesBackAlone_FindsTheOthersAway()
    {
        var second = new HandsNumber(2);
        var scene = SilentFirst();
        scene.NoteNotKnown(600);
        Accept(scene.Say(610, new BenchCommand.PutBackInUse(Their)));
        scene.Plan(610);
        Assert.Equal([new BenchResource.Hands(second)], scene.Now.OutOfUse.Select(entry => entry.Resource));
        Assert.DoesNotContain(scene.Now.Adopted!.Remaining, row => row.Step.Hands == second);

        var known = scene.Now.NotKnown.First(step => step.Hands == second);
        Accept(scene.Say(100, new BenchCommand.AnswerQuestion(
            new QuestionKey(QuestionKind.StepNotKnown, known.Action.Subject!.Value.Value), Answer.AtThatTime,
            TimeStated: true), arrived: 620));
        Assert.NotNull(scene.Now.SilentSince(second));
    }

    /// <summary>
    /// R1 must go, and its discard was offered while nobody knew whether R2 was loaded. It was not, and after the
    /// discard it would be too old.
    /// </summary>
    [Fact]
    public void WhoComesBack_HasBegunNoDiscardThatCostsWhatTheyAnswer()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(51, new BenchCommand.WithdrawRequest(R("R1")));
        scene.Follow(51, (new StepAction.Mix(R("R2")), 1, 51), (new StepAction.Load(R("R2"), Slot(1)), 1, 101),
            (new StepAction.Discard(R("R1")), 1, 126), (new StepAction.CardChange(Reader1, new LotCode("L1")), 1, 136),
            (new StepAction.Move(R("R2"), Reader1), 1, 606), (new StepAction.Clear(R("R2"), Reader1), 1, 661));
        Accept(scene.Say(101, new BenchCommand.Mixed(R("R2"))));
        scene.Plan(101);
        Assert.IsType<StepAction.Load>(scene.Now.Adopted!.NextOf(First)!.Step.Action);
        scene.NoteNotKnown(180);
        scene.Plan(180, PlanCause.MeansChanged);
        Assert.IsType<StepAction.Discard>(scene.View(180).Offers[0].Action);

        // Mixed at 1:26 at the earliest, it may be loaded until 3:26.
        Accept(scene.Say(200, new BenchCommand.AnswerQuestion(scene.View(200).Questions[0].Key, Answer.NotBegun)));
        scene.Plan(200);

        Assert.Equal(R("R2"), Assert.IsType<StepAction.Load>(scene.View(200).Offers[0].Action).Request);
    }

    /// <summary>The first hands were at the mix of R1 until nobody believed it any more, at 1:50; the others have
    /// reported their first step.</summary>
    private static Scene SilentFirst()
    {
        var scene = Open(hands: 2);
        scene.Say(0, new BenchCommand.AddRequests([Request("R1"), Request("R2"), Request("R3"), Request("R4")]));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        Assert.Equal(new StepAction.Mix(R("R1")), scene.Now.Adopted!.NextOf(First)!.Step.Action);
        scene.Say(45, scene.Now.Adopted.NextOf(new HandsNumber(2))!.Step.Action switch
        {
            StepAction.CardChange change => new BenchCommand.CardChanged(change.Reader, change.Lot),
            var mix => new BenchCommand.Mixed(mix.Subject!.Value),
        });
        scene.Plan(45);
        scene.NoteNotKnown(110);
        scene.Plan(110, PlanCause.MeansChanged);
        return scene;
    }
}
