using Incubation.Model.Controls;
using NodaTime;
using Xunit;

namespace Incubation.Model.Tests.Controls;

public sealed class ControlSummaryTest
{
    [Fact]
    public void Of_AMonth_CountsAllAndAveragesWhatWasAccepted()
    {
        var rows = ControlSummary.Of(
        [
            Run(1, 200, ControlVerdict.Accepted), Run(1, 204, ControlVerdict.Accepted, ControlRule.OneTwoS),
            Run(1, 240, ControlVerdict.Rejected, ControlRule.OneTwoS, ControlRule.OneThreeS),
                Run(1, null, ControlVerdict.NotJudged), Run(2, 250, ControlVerdict.Accepted),
        ]);
        Assert.Equal([1, 2], rows.Select(row => row.Control.Level));
        Assert.Equal((4, 2, 1, 1), (rows[0].Runs, rows[0].Accepted.Count, rows[0].Rejected, rows[0].NotJudged));
        Assert.Equal(202, rows[0].Accepted.Mean);
        Assert.Equal([(ControlRule.OneTwoS, 2), (ControlRule.OneThreeS, 1)], rows[0].ByRule);
    }

    [Fact]
    public void Of_Nothing_IsEmpty() => Assert.Empty(ControlSummary.Of([]));

    private static ControlRun Run(int level, decimal? value, ControlVerdict verdict, params ControlRule[] broken) =>
        new(
        new RequestId("C"), new BenchId("bench-1"), 1, new AssayCode("A"), new LotCode("K"),
            new ControlMaterial(new LotCode("CTRL"), level), 1,
        Instant.FromUtc(2026, 3, 2, 8, 0), Instant.FromUtc(2026, 3, 2, 8, 1), "", value, null,
            [.. broken.Select(rule => new RuleViolation(rule, []))], verdict);
}
