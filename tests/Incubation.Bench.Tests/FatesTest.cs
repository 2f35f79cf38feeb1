using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>Nobody falls off the list: what becomes of requests without a value.</summary>
public sealed class FatesTest
{
    private const string Why = "a new specimen is asked for";

    [Fact]
    public void CloseBatch_TenDiscardedAndNothingSaid_IsRefusedWithTheirSpecimens()
    {
        var scene = Running([.. Enumerable.Range(1, 11).Select(number => Request($"R{number}"))]);
        for (var number = 1; number <= 10; number++)
            Discard(scene, 50 + number, $"R{number}");
        scene.Say(100, new BenchCommand.Mixed(R("R11")));
        scene.Say(125, new BenchCommand.Loaded(R("R11"), Slot(1), false));
        scene.Say(150, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Say(610, new BenchCommand.ReadStarted(R("R11"), Reader1, false));
        scene.Say(660, new BenchCommand.Cleared(R("R11"), Reader1));
        scene.Say(670, new BenchCommand.ResultEntered(R("R11"), new ShownResult.Value("4.2")));
        var totals = scene.View(680).Totals;
        Assert.Equal((11, 1, 10, 10), (totals.Total, totals.Done, totals.Discarded, totals.Open));
        var refused = Assert.IsType<Decision.Refused>(scene.Say(690, new BenchCommand.CloseBatch()));
        Assert.Equal(Refusal.FatesMissing, refused.Why);
        Assert.Equal(string.Join(", ", Enumerable.Range(1, 10).Select(number => $"SP-R{number}")), refused.Detail);
    }

    [Fact]
    public void CarryOver_OfWhatWaits_IsTheSameRequestInTheNextBatch()
    {
        var scene = Open();
        var due = At(9000);
        scene.Say(0, new BenchCommand.AddRequests([With(Request("R1", priority: Priority.Urgent, loadBy: At(80000)),
            request => request with { Due = due, After = [R("R2")] }), Request("R2")]));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        Accept(scene.Say(10, new BenchCommand.CarryOver(R("R1"))));
        Assert.True(scene.Find("R1").IsOver);
        Assert.DoesNotContain(scene.Now.Adopted!.Remaining, row => row.Step.Action.Subject == R("R1"));
        GiveUp(scene, 20, "R2");
        Accept(scene.Say(30, new BenchCommand.CloseBatch()));

        Assert.Equal((2, BatchPhase.Preparing), (scene.Now.Batch, scene.Now.Phase));
        var next = Assert.Single(scene.Now.Cartridges);
        Assert.IsType<CartridgeStage.Waiting>(next.Stage);
        var request = next.Wanted.Request;
        Assert.Equal((R("R1"), new SpecimenId("SP-R1"), new AssayCode("A1"), new LotCode("L1")),
            (request.Id, request.Specimen, request.Assay, request.Lot));
        Assert.Equal((Priority.Urgent, due, At(80000), true),
            (request.Priority, request.Due!.Value, request.LoadBy!.Value, request.RepeatLeft));
        Assert.Empty(request.After);
        Assert.Equal((1, null, Start, At(30)), (next.FromBatch, next.RepeatOf, next.WaitsSince, next.Came));
        Accept(scene.Say(40, new BenchCommand.StartBatch()));
        scene.Plan(40);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action.Subject == R("R1"));
    }

    [Fact]
    public void CarryOver_OfADiscardedCartridge_IsItsRepeatInTheNextBatch()
    {
        var scene = Running(Request("R1", priority: Priority.Urgent), Request("R1-2"));
        Discard(scene, 50, "R1");
        Accept(scene.Say(60, new BenchCommand.CarryOver(R("R1"))));
        Accept(scene.Say(61, new BenchCommand.CarryOver(R("R1-2"))));
        Accept(scene.Say(70, new BenchCommand.CloseBatch()));

        var repeat = scene.Find("R1-3");
        Assert.Equal((R("R1"), 1, Start), (repeat.RepeatOf!.Value, repeat.FromBatch!.Value, repeat.WaitsSince));
        Assert.Equal((new SpecimenId("SP-R1"), Priority.Urgent, At(70), false),
            (repeat.Wanted.Request.Specimen, repeat.Wanted.Request.Priority, repeat.Wanted.Request.Ready,
                repeat.Wanted.Request.RepeatLeft));
        Assert.Equal(2, scene.Now.Cartridges.Length);
    }

    [Fact]
    public void CarryOver_FromBatchToBatch_WaitsSinceItFirstCame()
    {
        var scene = Running(Request("R1"));
        for (var batch = 1; batch <= 3; batch++)
        {
            Accept(scene.Say(batch * 100, new BenchCommand.CarryOver(R("R1"))));
            Accept(scene.Say((batch * 100) + 10, new BenchCommand.CloseBatch()));
            Accept(scene.Say((batch * 100) + 20, new BenchCommand.StartBatch()));
        }

        Assert.Equal((4, 3, Start), (scene.Now.Batch, scene.Find("R1").FromBatch!.Value,
            scene.Find("R1").WaitsSince));
    }

    [Fact]
    public void CarryOver_WithNoSpecimenLeft_IsRefused()
    {
        var scene = Running(Request("R1", repeatLeft: false));
        Discard(scene, 50, "R1");
        Assert.Equal(new Decision.Refused(Refusal.NoSpecimenLeft, "R1"),
            scene.Say(60, new BenchCommand.CarryOver(R("R1"))));
        GiveUp(scene, 61, "R1");
        Accept(scene.Say(62, new BenchCommand.CloseBatch()));
        Assert.Empty(scene.Now.Cartridges);
    }

    [Fact]
    public void CloseBatch_WithAnotherLotNamed_RunsWhatIsCarriedOverFromIt()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(1, new BenchCommand.CarryOver(R("R1")));
        scene.Say(2, new BenchCommand.CarryOver(R("R2")));
        Accept(scene.Say(3, new BenchCommand.CloseBatch([new OtherLot(R("R1"), new LotCode("L2"), At(70000))])));
        Assert.Equal((new LotCode("L2"), At(70000)),
            (scene.Find("R1").Wanted.Request.Lot, scene.Find("R1").Wanted.Request.LoadBy!.Value));
        Assert.Equal(new LotCode("L1"), scene.Find("R2").Wanted.Request.Lot);
    }

    [Fact]
    public void Repeat_PlannedInThisBatch_IsAFateUntilItIsWithdrawn()
    {
        var scene = Running(Request("R1"));
        Discard(scene, 50, "R1");
        Accept(scene.Say(60, new BenchCommand.OrderRepeat(R("R1"))));
        Assert.Equal(new RequestFate.Repeated(R("R1-2")), Fates.Of(scene.Now, scene.Find("R1")));
        Assert.Equal(R("R1"), scene.Find("R1-2").RepeatOf);
        Assert.Equal([R("R1-2")], Fates.Open(scene.Now).Select(open => open.Id));

        // Withdrawn, with a reason or without: the first request has no fate again.
        Accept(scene.Say(70, new BenchCommand.WithdrawRequest(R("R1-2"), "ordered by mistake")));
        Assert.Null(Fates.Of(scene.Now, scene.Find("R1")));
        Assert.Equal([R("R1")], Fates.Open(scene.Now).Select(open => open.Id));
        Assert.Equal(new Decision.Refused(Refusal.FatesMissing, "SP-R1"),
            scene.Say(71, new BenchCommand.CloseBatch()));

        // And the repeat put back is one again.
        Accept(scene.Say(80, new BenchCommand.RevokeFate(R("R1-2"))));
        Assert.Equal(new RequestFate.Repeated(R("R1-2")), Fates.Of(scene.Now, scene.Find("R1")));
        Assert.IsType<CartridgeStage.Waiting>(scene.Find("R1-2").Stage);
    }

    [Fact]
    public void Repeat_OfAnOldLog_IsKnownByItsId()
    {
        var scene = Running(Request("R1"));
        Discard(scene, 50, "R1");
        var first = scene.Find("R1").Wanted;
        scene.Record(new BenchEvent.RequestsAdded([With(first, request => request with
        {
            Id = R("R1-2"),
            RepeatLeft = false,
        })]), At(60));
        Assert.Equal(new RequestFate.Repeated(R("R1-2")), Fates.Of(scene.Now, scene.Find("R1")));
    }

    [Fact]
    public void GiveUp_NeedsAReasonAndForAPatientAConfirmation()
    {
        var scene = Running(Request("R1"), With(Request("R2"), request => request with
        {
            Kind = RequestKind.Control
        }));
        Assert.Equal(new Decision.Refused(Refusal.ReasonMissing),
            scene.Say(10, new BenchCommand.GiveUpRequest(R("R1"), "  ", true)));
        Assert.Equal(new Decision.Refused(Refusal.GivingUpNotConfirmed, "SP-R1"),
            scene.Say(11, new BenchCommand.GiveUpRequest(R("R1"), Why, false)));
        Accept(scene.Say(12, new BenchCommand.GiveUpRequest(R("R1"), Why, true)));
        Accept(scene.Say(13, new BenchCommand.GiveUpRequest(R("R2"), Why, false)));
        Assert.Equal(new RequestFate.GivenUp(Why, At(12), new PersonId("aide")), scene.Find("R1").Fate);
        Assert.Equal((0, 2), (scene.View(14).Totals.Open, scene.View(14).Totals.GivenUp));
        Accept(scene.Say(15, new BenchCommand.CloseBatch()));
    }

    [Fact]
    public void GiveUp_TakenBack_WaitsAgainAndBlocksTheClose()
    {
        var scene = Running(Request("R1"), Request("R2"));
        Discard(scene, 40, "R2");
        GiveUp(scene, 50, "R1");
        GiveUp(scene, 51, "R2");
        Accept(scene.Say(60, new BenchCommand.RevokeFate(R("R1"))));
        Accept(scene.Say(61, new BenchCommand.RevokeFate(R("R2"))));
        Assert.IsType<CartridgeStage.Waiting>(scene.Find("R1").Stage);
        Assert.IsType<CartridgeStage.Discarded>(scene.Find("R2").Stage);
        Assert.Equal(new Decision.Refused(Refusal.FatesMissing, "SP-R1, SP-R2"),
            scene.Say(62, new BenchCommand.CloseBatch()));
        scene.Plan(63);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action.Subject == R("R1"));
        Assert.Equal(new Decision.Refused(Refusal.NoFate, "R1"), scene.Say(64, new BenchCommand.RevokeFate(R("R1"))));
    }

    [Fact]
    public void GiveUp_OfARepeatThatWaits_GivesUpTheFirstToo()
    {
        var scene = Running(Request("R1"));
        Discard(scene, 50, "R1");
        scene.Say(60, new BenchCommand.OrderRepeat(R("R1")));
        GiveUp(scene, 70, "R1-2");
        Assert.Empty(Fates.Open(scene.Now));
        Assert.Equal([R("R1")], Fates.List(scene.Now).Select(one => one.Cartridge.Id));
        Accept(scene.Say(80, new BenchCommand.RevokeFate(R("R1-2"))));
        Assert.Equal(new RequestFate.Repeated(R("R1-2")), Fates.Of(scene.Now, scene.Find("R1")));
    }

    [Fact]
    public void Fate_WhileInWorkOrWithItsValue_IsRefused()
    {
        var scene = Reacting();
        Assert.Equal(new Decision.Refused(Refusal.StillInWork, "R1"),
            scene.Say(101, new BenchCommand.CarryOver(R("R1"))));
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Say(610, new BenchCommand.Cleared(R("R1"), Reader1));
        Assert.Equal(new Decision.Refused(Refusal.ResultsMissing, "R1"),
            scene.Say(611, new BenchCommand.GiveUpRequest(R("R1"), Why, true)));
        scene.Say(620, new BenchCommand.ResultEntered(R("R1"), new ShownResult.NoValue("E-7")));
        Assert.Equal(new Decision.Refused(Refusal.FatesMissing, "SP-R1"),
            scene.Say(621, new BenchCommand.CloseBatch()));
        scene.Say(630, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("4.2"), "read again"));
        Assert.Equal(new Decision.Refused(Refusal.HasItsValue, "R1"),
            scene.Say(631, new BenchCommand.CarryOver(R("R1"))));
        Accept(scene.Say(632, new BenchCommand.CloseBatch()));
        Assert.Equal(new Decision.Refused(Refusal.BatchNotRunning, "R9"), Preparing("R9"));
    }

    /// <summary>
    /// A result whose cartridge was thrown away goes nowhere: it was neither reported nor was anything asked about it.
    /// </summary>
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void ValueOfADiscardedCartridge_IsNone_UntilTheDiscardIsTakenBack(bool isDiscardedFirst)
    {
        var scene = Reacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        BenchCommand discard = new BenchCommand.Discarded(R("R1"), DiscardReason.Dropped, null),
            enter = new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2"));
        Accept(scene.Say(610, isDiscardedFirst ? discard : enter, id: "one"));
        Accept(scene.Say(630, isDiscardedFirst ? enter : discard, id: "two"));
        Assert.Equal((ResultHold.NoResult, false), (scene.Find("R1").Use.Hold, scene.Find("R1").Use.IsReported));

        Assert.Equal([R("R1")], Fates.Open(scene.Now).Select(open => open.Id));
        Assert.Equal(1, scene.View(631).Totals.Open);
        Assert.Equal(new Decision.Refused(Refusal.FatesMissing, "SP-R1"),
            scene.Say(632, new BenchCommand.CloseBatch()));
        GiveUp(scene, 640, "R1");
        Assert.Empty(Fates.Open(scene.Now));
        Accept(scene.Say(641, new BenchCommand.RevokeFate(R("R1"))));

        // It was taken out and not thrown away: then its value goes out, and there is nothing to be asked.
        Accept(scene.Say(650, new BenchCommand.Undo(new ReportId(isDiscardedFirst ? "one" : "two"))));
        Accept(scene.Say(660, new BenchCommand.Cleared(R("R1"), Reader1)));
        Assert.True(scene.Find("R1").Use.IsReported || scene.Find("R1").IsHeld);
        Assert.Equal(new Decision.Refused(Refusal.HasItsValue, "R1"),
            scene.Say(661, new BenchCommand.CarryOver(R("R1"))));
        Accept(scene.Say(662, new BenchCommand.CloseBatch()));
    }

    [Fact]
    public void Fate_ThatStands_IsChangedButNotDoubled()
    {
        var scene = Running(Request("R1"));
        Discard(scene, 50, "R1");
        Accept(scene.Say(60, new BenchCommand.CarryOver(R("R1"))));
        Assert.Equal(new Decision.Refused(Refusal.FateStands, "R1"),
            scene.Say(61, new BenchCommand.OrderRepeat(R("R1"))));
        GiveUp(scene, 62, "R1");
        Accept(scene.Say(63, new BenchCommand.CarryOver(R("R1"))));
        Accept(scene.Say(64, new BenchCommand.RevokeFate(R("R1"))));
        Accept(scene.Say(65, new BenchCommand.OrderRepeat(R("R1"))));
        Assert.Equal(new Decision.Refused(Refusal.FateStands, "R1"),
            scene.Say(66, new BenchCommand.CarryOver(R("R1"))));
    }

    [Fact]
    public void Withdrawn_WithoutAReason_BlocksTheCloseUntilOneIsGiven()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(10, new BenchCommand.WithdrawRequest(R("R1")));
        Accept(scene.Say(11, new BenchCommand.WithdrawRequest(R("R2"), Why)));
        Assert.Equal(new Decision.Refused(Refusal.FatesMissing, "SP-R1"),
            scene.Say(12, new BenchCommand.CloseBatch()));
        GiveUp(scene, 13, "R1");
        Accept(scene.Say(14, new BenchCommand.CloseBatch()));
    }

    [Fact]
    public void CarriedOver_ThenMixedAllTheSame_IsInWorkAndNotCarriedOver()
    {
        var scene = Running(Request("R1"));
        scene.Say(1, new BenchCommand.CarryOver(R("R1")));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        Assert.Null(scene.Find("R1").Fate);
        Assert.Empty(scene.Find("R1").Deviations);
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false));
        Assert.Equal(new Decision.Refused(Refusal.CartridgesInWork), scene.Say(76, new BenchCommand.CloseBatch()));
        scene.Say(100, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Say(610, new BenchCommand.Cleared(R("R1"), Reader1));
        scene.Say(620, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Accept(scene.Say(621, new BenchCommand.CloseBatch()));
        Assert.Empty(scene.Now.Cartridges);
    }

    [Fact]
    public void BatchClosed_OfAnOldLogWithoutFates_StaysAsItIs()
    {
        var scene = Running(Request("R1"));
        Discard(scene, 50, "R1");
        scene.Record(new BenchEvent.BatchClosed(1), At(60));
        Assert.Equal(2, scene.Now.Batch);
        Assert.Empty(scene.Now.Cartridges);
    }

    [Fact]
    public void Checkpoint_AfterAClose_HasNothingOfWhatWasCarriedOver()
    {
        var scene = Running(Request("R1"));
        scene.Say(1, new BenchCommand.CarryOver(R("R1")));
        scene.Say(2, new BenchCommand.CloseBatch());
        var closed = scene.Entries.FindIndex(entry => entry.Event is BenchEvent.BatchClosed);
        var before = scene.Entries.Take(closed + 1).Aggregate((BenchState?)null, LiveBench.Apply)!;
        var told = LiveBench.Apply(BenchState.From(BenchCheckpoint.Of(before), before.Revision),
            scene.Entries[closed + 1]);
        Assert.Equal(Told(scene.Now), Told(told));
        Assert.Equal(R("R1"), Assert.Single(told.Cartridges).Id);
    }

    private static BenchRequest With(BenchRequest wanted, Func<Request, Request> change) =>
        wanted with { Request = change(wanted.Request) };

    private static Decision Preparing(string request)
    {
        var scene = Open();
        scene.Say(0, new BenchCommand.AddRequests([Request(request)]));
        return scene.Say(1, new BenchCommand.CarryOver(R(request)));
    }

    private static void Discard(Scene scene, double seconds, string request)
    {
        scene.Say(seconds - 5, new BenchCommand.Mixed(R(request)));
        scene.Say(seconds, new BenchCommand.Discarded(R(request), DiscardReason.Dropped, null));
    }

    private static void GiveUp(Scene scene, double seconds, string request) =>
        Accept(scene.Say(seconds, new BenchCommand.GiveUpRequest(R(request), Why, Confirmed: true)));

    private static void Accept(Decision decision) => Assert.IsType<Decision.Accepted>(decision);
}
