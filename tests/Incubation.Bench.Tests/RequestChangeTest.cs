using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>A due time and a comment of a request that waits.</summary>
public sealed class RequestChangeTest
{
    private static readonly Instant Soon = At(3000);

    [Fact]
    public void ChangeDue_OfWhatWaits_IsPlannedWithAndCanBeTakenBack()
    {
        var scene = Running(Request("R1"), Request("R3"));
        scene.Plan(5);
        var before = scene.Find("R3").Wanted;
        RevisingTest.Accept(scene.Say(10, new BenchCommand.ChangeDue(R("R3"), Soon)));
        Assert.Equal(Soon, scene.Find("R3").Wanted.Request.Due);
        Assert.True(scene.Now.HasUnplanned);
        RevisingTest.Accept(scene.Say(11, new BenchCommand.ChangeDue(R("R3"), before.Request.Due)));
        Assert.Equal(before, scene.Find("R3").Wanted);
    }

    [Fact]
    public void ChangeDue_OfWhatIsMixedOrOverOrUnknown_IsRefused()
    {
        var scene = Running(Request("R1"), Request("R3"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(50, new BenchCommand.WithdrawRequest(R("R3"), "asked for by mistake"));
        Assert.Equal(new Decision.Refused(Refusal.AlreadyMixed, "R1"), Due("R1"));
        Assert.Equal(new Decision.Refused(Refusal.AlreadyOver, "R3"), Due("R3"));
        Assert.Equal(new Decision.Refused(Refusal.UnknownRequest, "R9"), Due("R9"));

        Decision Due(string request) => scene.Say(51, new BenchCommand.ChangeDue(R(request), Soon));
    }

    /// <summary>Also of a cartridge in work; its repeat has it too, and no plan is made for a word.</summary>
    [Fact]
    public void Comment_StaysWithItsRequest()
    {
        var scene = Running(Request("R1"));
        Assert.False(scene.Now.HasUnplanned);
        RevisingTest.Accept(scene.Say(5, new BenchCommand.CommentRequest(R("R1"), "call ward")));
        Assert.False(scene.Now.HasUnplanned);
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        RevisingTest.Accept(scene.Say(52, new BenchCommand.CommentRequest(R("R1"), "call ward 3")));
        scene.Say(53, new BenchCommand.Discarded(R("R1"), DiscardReason.Dropped, null));
        Assert.Equal(new Decision.Refused(Refusal.AlreadyOver, "R1"),
            scene.Say(54, new BenchCommand.CommentRequest(R("R1"), "too late")));
        RevisingTest.Accept(scene.Say(55, new BenchCommand.OrderRepeat(R("R1"))));
        Assert.Equal("call ward 3", scene.Now.Cartridges[^1].Wanted.Comment);
    }

    [Fact]
    public void Comment_Blank_IsNone()
    {
        var scene = Running(Request("R1"));
        scene.Say(1, new BenchCommand.CommentRequest(R("R1"), "a word"));
        scene.Say(2, new BenchCommand.CommentRequest(R("R1"), "  "));
        Assert.Null(scene.Find("R1").Wanted.Comment);
    }
}
