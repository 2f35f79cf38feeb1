using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>Reports whose time cannot be, or that another sent than they name.</summary>
public sealed class ReportTimeTest
{
    [Fact]
    public void Report_SentByAnother_StandsInTheLogWithBoth()
    {
        var scene = Running(Request("R1"));
        var decided = LiveBench.Decide(scene.Now, new BenchCommand.Mixed(R("R1")), Touch with
        { Identity = Identity.NotChecked, Sender = new PersonId("mara") });

        var events = Assert.IsType<Decision.Accepted>(decided).Events;
        Assert.Equal([new BenchEvent.IdentityNotChecked(), new BenchEvent.SentByAnother(new PersonId("mara"))],
            events.Skip(1));
    }

    [Fact]
    public void Report_SentByItsPerson_SaysNothingOfASender()
    {
        var scene = Running(Request("R1"));
        var decided = LiveBench.Decide(scene.Now, new BenchCommand.Mixed(R("R1")),
            Touch with { Sender = Touch.Person });

        Assert.DoesNotContain(Assert.IsType<Decision.Accepted>(decided).Events,
            happened => happened is BenchEvent.SentByAnother);
    }

    [Fact]
    public void Report_WithATimeThatNobodyCanRead_StandsWithItsText()
    {
        var scene = Running(Request("R1"));
        var decided = LiveBench.Decide(scene.Now, new BenchCommand.Mixed(R("R1")), Touch with { Claimed = "noon" });

        Assert.Equal(new BenchEvent.TimeNotTaken("noon", TimeFault.Unreadable),
            Assert.IsType<Decision.Accepted>(decided).Events[^1]);
    }

    private static Provenance Touch { get; } =
        new(new ReportId("tap"), At(50), At(50), new PersonId("lena"), Tablet);
}
