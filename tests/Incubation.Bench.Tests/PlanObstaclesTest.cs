using Incubation.Model;
using Incubation.Planning;
using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>A bench that cannot plan everything says so, names what hinders, and plans the rest.</summary>
public sealed class PlanObstaclesTest
{
    /// <summary>An assay whose clear ends after the last day that there is: whoever plans it throws.</summary>
    private static Assay Endless { get; } = Assay("A9") with { Clear = Duration.FromDays(3_000_000) };

    public static TheoryData<string> Far =>
        new(["2026-03-17T08:00:00Z", "2262-04-12T00:00:00Z", "9999-12-31T23:59:59Z"]);

    [Theory]
    [MemberData(nameof(Far))]
    public void Find_ReadyLaterThanPlansLook_IsSetAsideAndTheRestPlanned(string ready)
    {
        var scene = Scene.Open();
        scene.Say(0, new BenchCommand.AddRequests([Request("R1"), ReadyAt("R2", ready), Request("R3")]));
        scene.Say(0, new BenchCommand.StartBatch());
        Assert.True(PlanObstacles.Stand(scene.Now, At(0)));

        PlanAround(scene, 0);

        Assert.Equal([R("R2")], Aside(scene));
        Assert.Equal([R("R1"), R("R3")],
            scene.Now.Adopted!.Plan.Steps.Select(step => step.Action.Subject).OfType<RequestId>().Distinct()
                .OrderBy(id => id.Value));
        Assert.Equal([new NotPlanned(R("R2"), NotPlannedCause.SetAside)], scene.View(1).NotPlanned);
        var alarm = Assert.Single(scene.View(1).Alarms);
        Assert.Equal((new AlarmKey(AlarmKind.SetAside, R("R2")), At(0)), (alarm.Key, alarm.From));
        Assert.True(Conditions.Of(alarm.Key.Kind).IsLine && alarm.Acknowledged);
        Assert.NotEmpty(scene.View(1).Offers);
    }

    /// <summary>With 3,000,000 days the planner throws; with 100 it makes a plan that nobody could keep.</summary>
    [Theory]
    [InlineData(3_000_000)]
    [InlineData(100)]
    public void Find_OneOfManyHinders_ThatOneAloneIsSetAside(int days)
    {
        var scene = Scene.Open();
        scene.Say(0, new BenchCommand.AddRequests([.. Enumerable.Range(1, 9).Select(number =>
            Request($"R{number}", number == 4 ? Endless with { Clear = Duration.FromDays(days) } : null))]));
        Assert.Null(Record.Exception(() => scene.Plan(0)) is null ? scene.Now.Adopted : null);
        var counted = new Counted();

        var around = PlanObstacles.Find(scene.Now, At(0), PlanCause.RequestsChanged, 1, counted);

        Assert.Equal([R("R4")], around.Note.SetAside);
        Assert.True(around.Note.Works);
        // By halves: fewer than one for each.
        Assert.InRange(counted.Asked, 1, 9);
        PlanAround(scene, 0);
        Assert.Equal(8, scene.Now.Adopted!.Plan.Steps.Count(step => step.Action is StepAction.Read));
    }

    [Fact]
    public void Find_TwoThatHinderAndNoTimeToLook_AllAreSetAsideButWhatIsInWork()
    {
        var scene = Reacting();
        scene.Say(101, new BenchCommand.AddRequests([Request("R2", Endless), Request("R3"), Request("R4", Endless)]));

        var around = PlanObstacles.Find(scene.Now, At(101), PlanCause.RequestsChanged, 1, new IterationBudget(0));
        Assert.Equal([R("R2"), R("R3"), R("R4")], around.Note.SetAside.OrderBy(id => id.Value));
        Assert.Contains(around.Plan!.Plan.Steps, step => step.Action == Move("R1"));

        PlanAround(scene, 101);
        Assert.Equal([R("R2"), R("R4")], Aside(scene));
        Assert.Contains(scene.Now.Adopted!.Plan.Steps, step => step.Action == Move("R1"));
    }

    [Fact]
    public void Find_OutOfUseUntilAnInstantThatCannotBePlanned_IsTakenToHaveNoEnd()
    {
        var scene = Running(Request("R1"));
        var slot = new BenchResource.Slot(new SlotNumber(2));
        var entry = new CalendarEntry(slot, At(0), Instant.MaxValue, null);
        var state = LiveBench.Apply(scene.Now, scene.Entries[^1] with { Event = new BenchEvent.PutOutOfUse(entry) });

        var around = PlanObstacles.Find(state, At(0), PlanCause.MeansChanged, 1, new IterationBudget(50));

        // Whether the planner can cope with it or not, R1 is planned and nothing in slot 2.
        Assert.True(around.Note.Works);
        Assert.Empty(around.Note.SetAside);
        Assert.Contains(around.Plan!.Plan.Steps, step => step.Action == Move("R1"));
        var noted = LiveBench.Apply(state, scene.Entries[^1] with
        { Event = new BenchEvent.PlanningNoted(true, [], [slot], null) });
        Assert.Equal(At(5) + Duration.FromDays(30), Assert.Single(LiveBench.Problem(noted, At(5)).Calendar).To);
        var back = LiveBench.Apply(noted, scene.Entries[^1] with { Event = new BenchEvent.PutBackInUse(slot) });
        Assert.Null(back.Run.Trouble);
    }

    [Fact]
    public void Find_CartridgeInWorkHinders_IsNamedAndShownWithItsWindow()
    {
        var scene = InWorkThatHinders();

        PlanAround(scene, 120);

        var trouble = scene.Now.Run.Trouble!;
        Assert.Equal((false, At(120), (RequestId?)R("R9")), (trouble.Works, trouble.Since, trouble.Because));
        Assert.Empty(trouble.SetAside);
        var alarm = scene.View(121).Alarms.Single(one => one.Key.Kind == AlarmKind.CannotPlan);
        Assert.Equal((AlarmPriority.High, At(120)), (alarm.Priority, alarm.From));
        // What needs no plan stays in sight: R1's window and its alarms.
        var slot = scene.View(121).Slots.Single(one => one.Cartridge?.Id == R("R1"));
        Assert.Equal((At(555), At(635)), (slot.Window!.Value.Opens, slot.Window.Value.Closes));
    }

    [Fact]
    public void Alarms_NoPlan_SayThatAWindowOpensAndCloses()
    {
        var scene = Reacting();
        scene.Say(101, new BenchCommand.NotePlanning(false, [], [], R("R1")));
        var without = scene.Now with { Run = scene.Now.Run with { Adopted = null } };

        var alarms = LiveBench.View(without, At(102)).Alarms.ToDictionary(alarm => alarm.Key.Kind);

        Assert.Equal(At(555), alarms[AlarmKind.WindowInDanger].From);
        Assert.Equal(At(635), alarms[AlarmKind.WindowClosed].From);
        Assert.Equal(At(101), alarms[AlarmKind.CannotPlan].From);
    }

    [Fact]
    public void Alarm_NothingInWork_IsALineAndEndsWithTheNextPlan()
    {
        var scene = Scene.Open();
        scene.Say(0, new BenchCommand.AddRequests([Request("R1")]));
        scene.Say(1, new BenchCommand.NotePlanning(false, [], [], null));
        var alarm = Assert.Single(scene.View(2).Alarms);
        Assert.Equal((AlarmKind.CannotPlanAtRest, true), (alarm.Key.Kind, alarm.Acknowledged));

        scene.Plan(3);

        Assert.Null(scene.Now.Run.Trouble);
        Assert.Empty(scene.View(3).Alarms);
    }

    [Fact]
    public void SetAside_WithdrawnOrChanged_LeavesTheListAndItsAlarm()
    {
        var scene = Scene.Open();
        scene.Say(0, new BenchCommand.AddRequests(
            [Request("R1"), ReadyAt("R2", "9999-12-31T23:59:59Z"), ReadyAt("R3", "9999-12-31T23:59:59Z")]));
        PlanAround(scene, 0);
        Assert.Equal([R("R2"), R("R3")], Aside(scene));
        scene.Say(1, new BenchCommand.AcknowledgeAlarm(new AlarmKey(AlarmKind.SetAside, R("R2"))));

        scene.Say(2, new BenchCommand.WithdrawRequest(R("R3")));
        scene.Say(3, new BenchCommand.ChangeReady(R("R2"), At(60)));

        Assert.Null(scene.Now.Run.Trouble);
        Assert.Empty(scene.Now.Acknowledged);
        scene.Plan(3);
        Assert.Contains(scene.Now.Adopted!.Plan.Steps, step => step.Action == new StepAction.Mix(R("R2")));
    }

    [Fact]
    public void SetAside_ThatCanBePlannedAgain_IsTakenIn()
    {
        var scene = Scene.Open();
        scene.Say(0, new BenchCommand.AddRequests([Request("R1"), Request("R2")]));
        scene.Say(1, new BenchCommand.NotePlanning(true, [R("R2")], [], null));
        scene.Plan(1);
        Assert.DoesNotContain(scene.Now.Adopted!.Plan.Steps, step => step.Action.Subject == R("R2"));

        PlanAround(scene, 2);

        Assert.Null(scene.Now.Run.Trouble);
        Assert.Contains(scene.Now.Adopted!.Plan.Steps, step => step.Action.Subject == R("R2"));
    }

    [Fact]
    public void SetAside_RequestThatComesAfterOne_WaitsWithIt()
    {
        var scene = Scene.Open();
        var after = Request("R3");
        scene.Say(0, new BenchCommand.AddRequests([Request("R1"), ReadyAt("R2", "2262-04-12T00:00:00Z"),
            after with { Request = after.Request with { After = [R("R2")] } }]));

        PlanAround(scene, 0);

        Assert.Equal([new NotPlanned(R("R2"), NotPlannedCause.SetAside),
            new NotPlanned(R("R3"), NotPlannedCause.AfterNotPlanned)], scene.View(1).NotPlanned);
        Assert.DoesNotContain(scene.Now.Adopted!.Plan.Steps, step => step.Action.Subject == R("R3"));
    }

    [Fact]
    public void NotPlanned_RequestThatComesAfterOneThatIsNotReady_IsNamedToo()
    {
        var scene = Scene.Open();
        var after = Request("R2");
        scene.Say(0, new BenchCommand.AddRequests([Request("R1"),
            after with { Request = after.Request with { After = [R("R1")] } }]));

        scene.Say(1, new BenchCommand.ChangeReady(R("R1"), null));

        Assert.Equal([new NotPlanned(R("R1"), NotPlannedCause.HeldBack),
            new NotPlanned(R("R2"), NotPlannedCause.AfterNotPlanned)], scene.View(2).NotPlanned);
    }

    [Fact]
    public void Decide_NoteOfWhatIsInWork_SetsNothingAside()
    {
        var scene = Reacting();
        scene.Say(101, new BenchCommand.NotePlanning(true, [R("R1"), R("unknown")], [], null));
        Assert.Null(scene.Now.Run.Trouble);
        Assert.IsType<Decision.Refused>(scene.Say(102, new BenchCommand.NotePlanning(true, [], [], null)));
    }

    /// <summary>
    /// Two card changes of one reader at once are none that a plan can hold: nothing was planned until one was told.
    /// </summary>
    [Theory]
    [InlineData(20)]
    [InlineData(0)]
    public void Problem_TwoPairsOfHandsAtOneReadersCard_OneIsBelieved(double second)
    {
        var scene = Scene.Open(hands: 2);
        scene.Say(0, new BenchCommand.AddRequests([Request("R1"), Request("R2")]));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        PlannedStep Change(string lot, int hands, double start) => new(
            new StepAction.CardChange(Reader1, new LotCode(lot)), new HandsNumber(hands), At(start), At(start + 25));
        var plan = scene.Now.Adopted!.Plan with { Steps = [Change("L1", 1, 0), Change("L2", 2, second)] };
        var state = LiveBench.Apply(scene.Now, scene.Entries[^1] with
        {
            Event = new BenchEvent.PlanAdopted(plan, scene.Now.Adopted!.Origin, [null, null]),
        });

        var begun = Assert.Single(LiveBench.Problem(state, At(30)).MidRun!.Steps);

        Assert.Equal(new StepAction.CardChange(Reader1, new LotCode("L1")), begun.Action);
    }

    private static void PlanAround(Scene scene, double seconds)
    {
        var around = PlanObstacles.Find(scene.Now, At(seconds), PlanCause.Report, 1, new IterationBudget(100));
        scene.Say(seconds, around.Note);
        if (around.Plan is { } plan)
            Assert.IsType<Decision.Accepted>(scene.Say(seconds, plan));
    }

    private static Scene InWorkThatHinders()
    {
        var scene = Reacting();
        scene.Say(101, new BenchCommand.AddRequests([Request("R9", Endless), Request("R2")]));
        scene.Say(110, new BenchCommand.Mixed(R("R9")));
        scene.Say(115, new BenchCommand.Loaded(R("R9"), Slot(3), false));
        return scene;
    }

    private static RequestId[] Aside(Scene scene) =>
        [.. (scene.Now.Run.Trouble?.SetAside ?? []).Select(aside => aside.Request).OrderBy(id => id.Value)];

    private static StepAction Move(string id) => new StepAction.Move(R(id), Reader1);

    private static BenchRequest ReadyAt(string id, string ready)
    {
        var wanted = Request(id);
        return wanted with
        {
            Request = wanted.Request with { Ready = NodaTime.Text.InstantPattern.ExtendedIso.Parse(ready).Value },
        };
    }

    private sealed class Counted : ISearchBudget
    {
        public long Asked { get; private set; }

        public bool AllowsMore(long iterationsDone)
        {
            Asked = iterationsDone;
            return true;
        }
    }
}
