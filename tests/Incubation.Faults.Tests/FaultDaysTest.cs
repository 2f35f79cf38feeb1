using Xunit;

namespace Incubation.Faults.Tests;

/// <summary>Days on which people err and machines fail; the long run is tests/Faults/run.sh.</summary>
public sealed class FaultDaysTest
{
    private const ulong Seed = 20260302;

    [Fact]
    public void Days_TwoHundred_HoldEveryInvariant()
    {
        var reports = FaultRun.Play(200, Seed);

        Assert.Empty(
            reports.SelectMany(report =>
                report.Violations.Select(violation => $"--day {report.Number} --seed {Seed}: {violation}")));
        // A run in which nothing went wrong would prove nothing.
        foreach (var fault in new[] { "crash at a write", "crash before the answer", "crash before publishing",
            "disk full", "network outage", "late tap", "clock doubt", "result released", "told by a broken clock",
            "report as of its arrival", "wrong card put in", "extreme wish", "something set aside, or no more",
            "bench of the same clinic" })
            Assert.Contains(reports, report => report.Counts.ContainsKey(fault));
    }

    /// <summary>
    /// Days of the long run that once broke an invariant, as they were then: without what days hold beside their
    /// recipe.
    /// </summary>
    [Theory]
    [InlineData(6, 1)]
    [InlineData(1556, 1)]
    [InlineData(2858, 1)]
    [InlineData(3769, 1)]
    [InlineData(3945, 1)]
    [InlineData(4473, 1)]
    [InlineData(4746, 1)]
    [InlineData(4793, 1)]
    [InlineData(5473, 1)]
    [InlineData(6187, 1)]
    [InlineData(6333, 1)]
    [InlineData(8457, 1)]
    public void Day_ThatOnceBrokeAnInvariant_HoldsThemAll(int day, ulong seed) =>
        Assert.Empty(World.Play(day, seed, tracing: false, extremes: false).Violations);

    /// <summary>
    /// Days of the long runs of other seeds that once broke an invariant, with everything that befalls them.
    /// </summary>
    [Theory]
    [InlineData(380, 2)]
    [InlineData(1175, 2)]
    [InlineData(1482, 2)]
    [InlineData(2328, 2)]
    [InlineData(2680, 2)]
    [InlineData(4385, 2)]
    [InlineData(7628, 2)]
    [InlineData(7951, 2)]
    [InlineData(8001, 2)]
    [InlineData(9046, 2)]
    [InlineData(9116, 2)]
    [InlineData(9316, 2)]
    [InlineData(10700, 2)]
    [InlineData(10749, 2)]
    [InlineData(11063, 2)]
    [InlineData(11910, 2)]
    [InlineData(12087, 2)]
    [InlineData(12384, 2)]
    [InlineData(12759, 2)]
    [InlineData(13334, 2)]
    [InlineData(13841, 2)]
    [InlineData(13982, 2)]
    [InlineData(14229, 2)]
    [InlineData(14271, 2)]
    [InlineData(15139, 2)]
    [InlineData(15410, 2)]
    [InlineData(16104, 2)]
    [InlineData(25482, 2)]
    [InlineData(25541, 2)]
    [InlineData(28931, 2)]
    [InlineData(83, 5)]
    [InlineData(174, 5)]
    [InlineData(399, 13)]
    [InlineData(1531, 13)]
    [InlineData(1603, 13)]
    [InlineData(2091, 13)]
    [InlineData(2505, 13)]
    [InlineData(4811, 13)]
    [InlineData(4940, 13)]
    [InlineData(5979, 13)]
    [InlineData(3858, 29)]
    [InlineData(4930, 29)]
    [InlineData(15088, 31)]
    [InlineData(15397, 31)]
    public void Day_WithAllThatBefallsIt_HoldsEveryInvariant(int day, ulong seed) =>
        Assert.Empty(World.Play(day, seed, tracing: false).Violations);

    [Fact]
    public void Day_PlayedTwice_GoesTheSameWayToTheLetter()
    {
        var day = FaultRun.Play(30, Seed).First(report => report.Counts.ContainsKey("crash at a write")).Number;

        Assert.Equal(World.Play(day, Seed, tracing: true).Trace, World.Play(day, Seed, tracing: true).Trace);
    }
}
