using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

public sealed class PriorityTest
{
    private static readonly BenchCommand MakeUrgent = new BenchCommand.ChangePriority(R("R3"), Priority.Urgent);

    [Fact]
    public void ChangePriority_OfWhatWaits_PlansItFirst()
    {
        var scene = Running(Request("R1"), Request("R2"), Request("R3"), Request("R4"));
        scene.Say(50, new BenchCommand.Mixed(First(scene, 0)));
        scene.Plan(50);
        var last = scene.Now.Adopted!.Plan.Steps.Last(step => step.Action is StepAction.Mix).Action.Subject!.Value;

        scene.Say(51, new BenchCommand.ChangePriority(last, Priority.Urgent));
        Assert.True(scene.Now.HasUnplanned);
        scene.Plan(51, PlanCause.RequestsChanged);

        Assert.Equal(last, scene.Now.Adopted!.AsItStands.Steps.First(step => step.Action is StepAction.Mix)
            .Action.Subject);
    }

    [Fact]
    public void ChangePriority_Again_IsAsBefore()
    {
        var scene = Running(Request("R1"), Request("R3"));
        var before = scene.Find("R3");
        scene.Say(10, MakeUrgent);
        Assert.Equal(Priority.Urgent, scene.Find("R3").Wanted.Request.Priority);
        scene.Say(11, new BenchCommand.ChangePriority(R("R3"), Priority.Routine));
        Assert.Equal(before.Wanted, scene.Find("R3").Wanted);
    }

    [Fact]
    public void ChangePriority_OfWhatIsMixed_IsRefused()
    {
        var scene = Running(Request("R3"));
        scene.Say(50, new BenchCommand.Mixed(R("R3")));
        Assert.Equal(new Decision.Refused(Refusal.AlreadyMixed, "R3"), scene.Say(51, MakeUrgent));
    }

    [Fact]
    public void ChangePriority_OfWhatIsWithdrawn_IsRefused()
    {
        var scene = Running(Request("R1"), Request("R3"));
        scene.Say(10, new BenchCommand.WithdrawRequest(R("R3"), "asked for by mistake"));
        Assert.Equal(new Decision.Refused(Refusal.AlreadyOver, "R3"), scene.Say(11, MakeUrgent));
    }

    [Fact]
    public void ChangePriority_AfterTheBatchIsClosed_IsRefused()
    {
        var scene = Running(Request("R3"));
        scene.Say(10, new BenchCommand.WithdrawRequest(R("R3"), "asked for by mistake"));
        RevisingTest.Accept(scene.Say(11, new BenchCommand.CloseBatch()));
        Assert.Equal(new Decision.Refused(Refusal.UnknownRequest, "R3"), scene.Say(12, MakeUrgent));
    }

    private static RequestId First(Scene scene, double at) => scene.View(at).Offers[0].Action.Subject!.Value;
}
