using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Service.Benches;
using Incubation.Service.Tests.Support;
using Incubation.Service.Text;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Service.Tests.Benches;

public sealed class BenchRunnerTest
{
    [Fact]
    public async Task Send_Report_StandsInLogBeforeAnswer()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromSeconds(50));

        var answer = await rig.Say(new BenchCommand.Mixed(new RequestId("R1")), "tap-1");

        Assert.True(answer.Recorded, answer.Sentence);
        Assert.Contains(rig.Log.Entries, entry => entry is { Event: BenchEvent.Mixed, Provenance.Id.Value: "tap-1" });
    }

    [Fact]
    public async Task Send_Report_SnapshotOffersTheNextThing()
    {
        await using var rig = await BenchRig.OpenAsync();
        var began = await rig.Begin(BenchRig.Request("R1"));
        Assert.IsType<StepAction.Mix>(began.View.Offers[0].Action);
        rig.Advance(Duration.FromSeconds(40));

        await rig.Must(new BenchCommand.Mixed(new RequestId("R1")));
        var view = await rig.UntilPlanned(PlanCause.Report);

        Assert.IsType<StepAction.Load>(view.View.Offers[0].Action);
        // The plan was pulled earlier: the mix took 40 s of its 50.
        Assert.Equal(BenchRig.Start + Duration.FromSeconds(40), view.View.Offers[0].MayBegin);
    }

    [Fact]
    public async Task Send_SameIdTwice_RecordedOnce()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));

        var first = await rig.Say(new BenchCommand.Mixed(new RequestId("R1")), "tap-1");
        var second = await rig.Say(new BenchCommand.Mixed(new RequestId("R1")), "tap-1");

        Assert.True(first.Recorded && second.Recorded);
        Assert.Single(rig.Log.Entries, entry => entry.Event is BenchEvent.Mixed);
    }

    [Fact]
    public async Task Send_AppendFails_NotAcknowledgedStateUnchangedRunnerLives()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        var before = rig.State.Find(new RequestId("R1"))!.Stage;
        rig.Log.Next = FakeBenchLog.Write.Fails;

        var failed = await rig.Say(new BenchCommand.Mixed(new RequestId("R1")));

        Assert.Equal((AnswerKinds.NotNow, false), (failed.Kind, failed.Recorded));
        Assert.Contains("data file", failed.Sentence, StringComparison.Ordinal);
        Assert.Equal(before, rig.State.Find(new RequestId("R1"))!.Stage);
        Assert.DoesNotContain(rig.Log.Entries, entry => entry.Event is BenchEvent.Mixed);

        rig.Log.Next = FakeBenchLog.Write.Succeeds;
        await rig.Must(new BenchCommand.Mixed(new RequestId("R1")));
    }

    [Fact]
    public async Task Send_OfNothingThatExists_IsRefusedForGood()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));

        var answer = await rig.Say(new BenchCommand.Mixed(new RequestId("R9")));

        Assert.Equal((AnswerKinds.Refused, false, null), (answer.Kind, answer.Recorded, answer.RetryAfter));
    }

    [Fact]
    public async Task Send_ToARunnerThatHasStopped_IsNotNow()
    {
        var rig = await BenchRig.OpenAsync();
        await rig.DisposeAsync();

        var answer = await rig.Say(new BenchCommand.Mixed(new RequestId("R1")));

        Assert.Equal((AnswerKinds.NotNow, BenchesWords.ServerStopping), (answer.Kind, answer.Sentence));
    }

    [Fact]
    public async Task Send_AppendFailsAfterTheDisk_LogIsReadAgainAndSecondTapIsHarmless()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        rig.Log.Next = FakeBenchLog.Write.FailsAfterTheDisk;
        var unsure = await rig.Say(new BenchCommand.Mixed(new RequestId("R1")), "tap-1");
        Assert.False(unsure.Recorded);
        rig.Log.Next = FakeBenchLog.Write.Succeeds;

        var again = await rig.Say(new BenchCommand.Mixed(new RequestId("R1")), "tap-1");

        Assert.True(again.Recorded, again.Sentence);
        Assert.Single(rig.Log.Entries, entry => entry.Event is BenchEvent.Mixed);
        var view = await rig.Until(seen => seen.State.Find(new RequestId("R1"))!.Phase is CartridgePhase.Mixed);
        Assert.Equal(rig.Log.Entries.Count, view.State.Revision);
    }

    [Fact]
    public async Task Send_RefusedInstruction_SentenceAndNothingRecorded()
    {
        await using var rig = await BenchRig.OpenAsync();
        var before = rig.Log.Entries.Count;

        var answer = await rig.Say(new BenchCommand.StartBatch());

        Assert.False(answer.Recorded);
        Assert.False(string.IsNullOrWhiteSpace(answer.Sentence));
        Assert.Equal(before, rig.Log.Entries.Count);
    }

    [Fact]
    public async Task Send_TouchAfterItsArrival_CountsAsArrival()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromSeconds(45));

        // A tablet whose clock runs a little ahead.
        await rig.Must(new BenchCommand.Mixed(new RequestId("R1")), at: rig.Now + Duration.FromSeconds(3)
            + Duration.FromNanoseconds(123));

        var provenance = rig.Log.Entries.Last(entry => entry.Event is BenchEvent.Mixed).Provenance;
        Assert.Equal(rig.Now, provenance.At);
    }

    [Fact]
    public async Task Send_SearchThatThrows_ReportStandsAndAPlanIsBuiltWithoutIt()
    {
        var broken = false;
        await using var rig = await BenchRig.OpenAsync(budget: () => broken
            ? throw new InvalidOperationException("No budget.") : new IterationBudget(10));
        await rig.Begin(BenchRig.Request("R1"));
        var plan = rig.State.Adopted!.Origin;
        broken = true;
        rig.Advance(Duration.FromSeconds(40));

        await rig.Must(new BenchCommand.Mixed(new RequestId("R1")));

        var view = await rig.Until(seen => seen.State.Find(new RequestId("R1"))!.Phase is CartridgePhase.Mixed
            && !seen.View.Offers.IsEmpty);
        Assert.IsType<StepAction.Load>(view.View.Offers[0].Action);
        // The search throws: the rest is planned by what was built without it.
        await rig.Until(seen => seen.State.Adopted!.Origin != plan);
        Assert.Null(rig.State.Run.Trouble);
    }

    [Fact]
    public async Task Wait_StepOverruns_PlanMadeAnew()
    {
        await using var rig = await BenchRig.OpenAsync();
        var began = await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));
        var finish = began.View.Totals.Finish!.Value;

        rig.Advance(Duration.FromSeconds(80));
        var view = await rig.UntilPlanned(PlanCause.StepOverran);

        Assert.True(view.View.Totals.Finish > finish);
    }

    [Fact]
    public async Task Wait_PatienceWithAStepEnds_StepIsNotKnownAndTheNextIsOffered()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));
        var left = rig.State.Adopted!.NextOf(new HandsNumber(1))!.Step.Action;

        rig.Advance(Duration.FromSeconds(50) + StepPatience.Usual.Mix);
        var view = await rig.UntilPlanned(PlanCause.MeansChanged);

        Assert.Equal(left, view.View.NotKnown.Single().Action);
        Assert.NotEqual(left.Subject, view.View.Offers.Single().Action.Subject);
        Assert.Contains(view.View.Questions, asked => asked.Key.Kind == QuestionKind.StepNotKnown);
        Assert.StartsWith("Leave the mix. Mix SP-R", StepText.Now(view.State, new HandsNumber(1),
            view.View.Offers.Single().Action), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Wait_ReadWindowCloses_AlarmStandsAndDiscardIsPlanned()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromSeconds(50));
        await rig.Must(new BenchCommand.Mixed(new RequestId("R1")));
        rig.Advance(Duration.FromSeconds(25));
        await rig.Must(new BenchCommand.Loaded(new RequestId("R1"), new CartridgePlace.InSlot(new SlotNumber(1)),
            false));

        rig.Advance(Duration.FromMinutes(11));

        var view = await rig.Until(seen => seen.State.Adopted!.Plan.Lost.Count == 1);
        Assert.Contains(view.View.Alarms, alarm => alarm.Key.Kind == AlarmKind.WindowClosed && alarm.StandsAt(rig.Now));
        Assert.Contains(view.State.Adopted!.Remaining, row => row.Step.Action is StepAction.Discard);
    }

    [Fact]
    public async Task Restart_MidBatch_SameStateAndSameAdoptedPlan()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));
        rig.Advance(Duration.FromSeconds(40));
        await rig.Must(new BenchCommand.Mixed(new RequestId("R1")));
        await rig.Until(view => view.View.Offers is [{ Action: StepAction.Load }]);
        var plan = rig.State.Adopted!;
        await rig.DisposeAsync();

        await using var again = rig.Again();

        Assert.Equal(rig.State.Revision, again.State.Revision);
        Assert.Equal(plan.Origin, again.State.Adopted!.Origin);
        Assert.Equal(plan.Remaining.AsEnumerable(), again.State.Adopted.Remaining.AsEnumerable());
        rig.Advance(Duration.FromSeconds(20));
        await again.Must(new BenchCommand.Loaded(new RequestId("R1"), new CartridgePlace.InSlot(new SlotNumber(1)),
            false));
    }

    [Fact]
    public async Task Dispose_LaterReport_AnsweredWithSentence()
    {
        var rig = await BenchRig.OpenAsync();
        var runner = rig.Runner;
        await rig.DisposeAsync();

        var answer = await runner.SendAsync(new BenchCommand.StartBatch(), rig.Provenance());

        Assert.False(answer.Recorded);
        Assert.NotNull(answer.Sentence);
    }

    [Fact]
    public async Task Changed_ScreenThatThrows_OthersStillSee()
    {
        await using var rig = await BenchRig.OpenAsync();
        rig.Runner.Changed += _ => throw new InvalidOperationException("A broken screen.");
        var seen = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        rig.Runner.Changed += view =>
        {
            if (view.State.Cartridges.Length == 1)
                seen.TrySetResult();
        };

        await rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1")]));

        await seen.Task.WaitAsync(Patience.Usual, TestContext.Current.CancellationToken);
    }
}
