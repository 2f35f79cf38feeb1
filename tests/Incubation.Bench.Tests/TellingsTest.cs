using Incubation.Model;
using Incubation.Planning;
using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>What can be true at a cartridge, a slot and a reader, and what follows when it is told.</summary>
public sealed class TellingsTest
{
    [Fact]
    public void LostLoad_ToldLate_GivesItsCartridgeBackWithItsWindow()
    {
        var scene = TooOld();
        var loaded = Assert.Single(Tellings.At(scene.Now, Slot(3), At(400)),
            telling => telling.What == TellingKind.Loaded && telling.Request == R("R1"));
        Assert.True(loaded.Earliest <= At(80));
        Tell(scene, 400, loaded, Slot(3), 80);
        scene.Plan(400);

        Assert.Equal(R("R1"), scene.Now.InSlot(new SlotNumber(3))!.Id);
        var window = scene.Now.WindowOf(scene.Find("R1"))!.Value;
        Assert.InRange(window.Opens, At(560), At(570));
        Assert.DoesNotContain(scene.View(400).Alarms, alarm => alarm.Key.Request == R("R1") && alarm.StandsAt(At(400)));
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action == new StepAction.Move(R("R1"), Reader1)
            && row.Step.End >= window.Opens && row.Step.End <= window.Closes);
    }

    [Fact]
    public void LostLoad_WhoseSlotWasGivenAway_AsksWhichIsInWhich()
    {
        var scene = TooOld();
        scene.Say(380, new BenchCommand.Mixed(R("R2")));
        scene.Plan(380);
        scene.Say(410, new BenchCommand.Loaded(R("R2"), Slot(3), false));
        scene.Plan(410);
        var loaded = Tellings.At(scene.Now, Slot(3), At(420))
            .First(telling => telling.What == TellingKind.Loaded && telling.Request == R("R1"));
        Tell(scene, 420, loaded, Slot(3), 80);

        var question = Assert.Single(scene.View(420).Questions, asked => asked.Kind() == QuestionKind.Contradiction);
        Assert.Equal((R("R2"), R("R1")), (question.Request, question.Other));
        Assert.Contains(question.Answers, answer => answer.Answer == Answer.InSlot);
        Assert.Contains(question.Answers, answer => answer.Answer == Answer.OtherInSlot);
        scene.Say(425, new BenchCommand.AnswerQuestion(question.Key, Answer.InSlot, new SlotNumber(2)));
        scene.Plan(425);
        Assert.Equal(R("R1"), scene.Now.InSlot(new SlotNumber(3))!.Id);
        Assert.Equal(R("R2"), scene.Now.InSlot(new SlotNumber(2))!.Id);
        Assert.Contains(scene.Now.Adopted!.Remaining,
            row => row.Step.Action is StepAction.Move { Request.Value: "R1" });
    }

    [Fact]
    public void LostLoad_IntoWhoseSlotTheNextIsPlanned_TakesIt()
    {
        var scene = TooOld();
        scene.Say(380, new BenchCommand.Mixed(R("R2")));
        scene.Plan(380);
        var planned = Assert.IsType<StepAction.Load>(scene.View(381).Offers[0].Action).Place;
        Tell(scene, 385, Tellings.At(scene.Now, planned, At(385))
            .First(telling => telling.What == TellingKind.Loaded && telling.Request == R("R1")), planned, 80);
        scene.Plan(385);
        Assert.NotEqual(planned, Assert.IsType<StepAction.Load>(scene.View(386).Offers[0].Action).Place);
    }

    [Fact]
    public void ReportOfAnotherTablet_ThatNeverWasSo_IsTakenBack()
    {
        var scene = Reacting();
        var still = Assert.Single(Tellings.At(scene.Now, Slot(1), At(130)),
            telling => telling.What == TellingKind.StillMixed);
        Tell(scene, 130, still, null, 130);
        Assert.IsType<CartridgePhase.Mixed>(scene.Find("R1").Phase);
        Assert.Empty(scene.View(130).Questions);
    }

    [Fact]
    public void WhatCannotBe_IsNotOffered()
    {
        var scene = Reacting();
        var at = Tellings.At(scene.Now, Slot(1), At(130));
        Assert.DoesNotContain(at, telling => telling.What is TellingKind.Mixed or TellingKind.Loaded
            or TellingKind.Cleared or TellingKind.ThrownAway);
        Assert.Empty(Tellings.At(scene.Now, Slot(2), At(130)).Where(telling => telling.Request != R("R1")));
        Assert.Contains(Tellings.At(scene.Now, Slot(2), At(130)), telling => telling.What == TellingKind.Elsewhere);
        Assert.Empty(Tellings.List(Open().Now, At(1)));
    }

    /// <summary>Whatever is offered, at whatever time it can have been, is accepted and can be planned on.</summary>
    [Theory]
    [MemberData(nameof(Seeds))]
    public void EverythingOffered_IsAccepted_AndCanBePlannedOn(int seed)
    {
        var random = new Random(seed);
        var day = new ToldDay(random);
        for (var turn = 0; turn < 8; turn++)
        {
            day.GoOn(random.Next(1, 7));
            foreach (var telling in Tellings.List(day.State, day.Now).SelectMany(cartridge => cartridge.Can))
            {
                var place = telling.Places.IsEmpty ? null : telling.Places[random.Next(telling.Places.Length)];
                var length = telling.Earliest is { } from ? (day.Now - from).TotalMilliseconds : 0;
                var at = day.Now - Duration.FromMilliseconds(Math.Floor(random.NextDouble() * length));
                var after = ToldDay.Tell(day.State, telling, place, at, day.Now);
                Assert.True(after is not null, $"{telling} at {place} was refused.");
                var plans = PlanReplacement.Propose(after, day.Now, PlanCause.Corrected, 1, new IterationBudget(20));
                var adoptions = plans.Select(adopt => LiveBench.Decide(after, adopt, ToldDay.Said(day.Now))).ToList();
                Assert.True(plans.Count == 0 || adoptions.Exists(one => one is Decision.Accepted),
                    $"Nothing can be planned after {telling} at {place}: {string.Join(' ', adoptions)}");
            }
        }
    }

    /// <summary>Whatever truly happened, and however little of it was told: some telling says it.</summary>
    [Theory]
    [MemberData(nameof(Seeds))]
    public void WhateverIsTrue_CanBeTold(int seed)
    {
        var day = new ToldDay(new Random(seed));
        for (var turn = 0; turn < 6; turn++)
        {
            day.GoOn(6);
            for (var told = 0; day.Untrue() is { } request; told++)
            {
                Assert.True(told < 60, "Tellings without end.");
                Assert.True(day.TellTruth(request), $"No telling says of {request}: {day.TruthOf(request)}; "
                    + $"believed is {day.State.Find(request)!.Stage}.");
            }
        }
    }

    public static TheoryData<int> Seeds => [.. Enumerable.Range(1, 40)];

    /// <summary>
    /// R1 was mixed by 0:50, loaded in slot 3 by 1:20, and told as not begun: its mixture counts as too old.
    /// </summary>
    private static Scene TooOld()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        // Somebody answers for it who was not there.
        scene.Say(350, new BenchCommand.NotBegun(new HandsNumber(1)));
        scene.Plan(350, PlanCause.StepOverran);
        Assert.Contains(scene.View(370).Alarms, alarm => alarm.Key == new AlarmKey(AlarmKind.MixtureTooOld, R("R1"))
            && alarm.StandsAt(At(370)));
        return scene;
    }

    private static void Tell(Scene scene, double now, Telling telling, CartridgePlace? place, double at)
    {
        foreach (var said in telling.Says(place, At(at), At(now), "So it is"))
            Assert.IsType<Decision.Accepted>(scene.Say(said.At, At(now), said.Command, new DeviceId("other")));
    }
}

file static class Asked
{
    public static QuestionKind Kind(this Question question) => question.Key.Kind;
}
