using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

public sealed class InstructionTest
{
    [Fact]
    public void AnyCommand_BeforeTheBenchIsOpen_IsRefused()
    {
        var decision = new Scene().Say(0, new BenchCommand.StartBatch());
        Assert.Equal(new Decision.Refused(Refusal.BenchNotOpen), decision);
    }

    [Fact]
    public void OpenBench_Twice_IsRefused()
    {
        var scene = Open();
        var decision =
            scene.Say(1, new BenchCommand.OpenBench(new BenchId("bench-1"), "Again", scene.Now.Setup, Seconds(20)));
        Assert.Equal(new Decision.Refused(Refusal.BenchAlreadyOpen, "bench-1"), decision);
    }

    [Fact]
    public void AddRequests_AnIdTwice_AddsNothing()
    {
        var scene = Open();
        var decision = scene.Say(0, new BenchCommand.AddRequests([Request("R1"), Request("R1")]));
        Assert.Equal(new Decision.Refused(Refusal.RequestAlreadyOnBench, "R1"), decision);
        Assert.Empty(scene.Now.Cartridges);
    }

    [Fact]
    public void AddRequests_MoreThanABatchHolds_IsRefused()
    {
        var scene = Open();
        var tooMany = Enumerable.Range(1, BenchDay.MaximumRequests + 1).Select(i => Request($"R{i}")).ToList();
        Assert.Equal(new Decision.Refused(Refusal.TooManyRequests, "500"),
            scene.Say(0, new BenchCommand.AddRequests(tooMany)));
    }

    [Fact]
    public void Withdraw_ADiscardedCartridge_IsRefused()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(51, new BenchCommand.Discarded(R("R1"), DiscardReason.Dropped, null));
        Assert.Equal(new Decision.Refused(Refusal.AlreadyOver, "R1"),
            scene.Say(52, new BenchCommand.WithdrawRequest(R("R1"))));
    }

    [Fact]
    public void StartBatch_WithNothingRequested_IsRefused() =>
        Assert.Equal(new Decision.Refused(Refusal.NothingRequested), Open().Say(0, new BenchCommand.StartBatch()));

    [Fact]
    public void CloseBatch_WithACartridgeInWork_IsRefused() =>
        Assert.Equal(new Decision.Refused(Refusal.CartridgesInWork),
            Reacting().Say(101, new BenchCommand.CloseBatch()));

    [Fact]
    public void CloseBatch_WithAResultMissing_IsRefusedUntilItIsEntered()
    {
        var scene = Reacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), new ReaderNumber(1), false));
        scene.Say(610, new BenchCommand.Cleared(R("R1"), new ReaderNumber(1)));
        Assert.Equal(new Decision.Refused(Refusal.ResultsMissing), scene.Say(611, new BenchCommand.CloseBatch()));

        scene.Say(620, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Assert.IsType<Decision.Accepted>(scene.Say(621, new BenchCommand.CloseBatch()));
        Assert.Equal(2, scene.Now.Batch);
        Assert.Empty(scene.Now.Cartridges);
    }

    [Fact]
    public void AdoptPlan_ThatIsNotValidFromHere_IsRefused()
    {
        var scene = Running(Request("R1"));
        var old = scene.Now.Adopted!.Plan;
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        var decision = scene.Say(60, new BenchCommand.AdoptPlan(old, new PlanOrigin(PlanCause.Report, 1, 0, "1")));
        Assert.Equal(Refusal.PlanNotValid, Assert.IsType<Decision.Refused>(decision).Why);
    }

    [Fact]
    public void OrderRepeat_OfADiscardedCartridge_IsANewRequestOnTheSameSpecimen()
    {
        var scene = Reacting();
        scene.Say(700, new BenchCommand.Discarded(R("R1"), DiscardReason.WindowClosed, null));
        Assert.IsType<Decision.Accepted>(scene.Say(705, new BenchCommand.OrderRepeat(R("R1"))));
        Assert.Equal(new SpecimenId("SP-R1"), scene.Find("R1-2").Wanted.Request.Specimen);
        Assert.False(scene.Find("R1-2").Wanted.Request.RepeatLeft);

        var second = scene.Say(706, new BenchCommand.OrderRepeat(R("R1")));
        Assert.Equal(new Decision.Refused(Refusal.NothingToRepeat, "R1"), second);
    }

    [Fact]
    public void OrderRepeat_WhoseFirstIdIsTaken_GetsTheNextNumber()
    {
        var scene = Reacting();
        scene.Say(690, new BenchCommand.AddRequests([Request("R1-2")]));
        scene.Say(700, new BenchCommand.Discarded(R("R1"), DiscardReason.WindowClosed, null));
        var ordered = Assert.IsType<Decision.Accepted>(scene.Say(705, new BenchCommand.OrderRepeat(R("R1"))));
        Assert.Equal(R("R1-3"), Assert.IsType<BenchEvent.RequestsAdded>(ordered.Events[0]).Requests[0].Request.Id);
    }

    [Fact]
    public void OrderRepeat_WithNoSpecimenLeft_IsRefused()
    {
        var scene = Reacting(repeatLeft: false);
        scene.Say(700, new BenchCommand.Discarded(R("R1"), DiscardReason.WindowClosed, null));
        Assert.Equal(new Decision.Refused(Refusal.NoSpecimenLeft, "R1"),
            scene.Say(705, new BenchCommand.OrderRepeat(R("R1"))));
    }

    [Fact]
    public void SameCommand_SentAgain_IsAlreadyRecorded()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")), id: "once");
        var revision = scene.Now.Revision;
        Assert.IsType<Decision.AlreadyRecorded>(scene.Say(52, new BenchCommand.Mixed(R("R1")), id: "once"));
        Assert.Equal(revision, scene.Now.Revision);
    }
}
