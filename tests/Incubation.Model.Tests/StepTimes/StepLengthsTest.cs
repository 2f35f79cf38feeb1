using Incubation.Model.StepTimes;
using NodaTime;
using Xunit;

namespace Incubation.Model.Tests.StepTimes;

public sealed class StepLengthsTest
{
    private static readonly Instant Eight = Instant.FromUtc(2026, 3, 2, 8, 0);
    private static readonly StepLengths Assay = new(Seconds(50), Seconds(35));

    [Fact]
    public void Learned_WithoutARecord_IsTheAssaysOwn() => Assert.Equal(Assay, StepLengths.Learned([], Assay));

    /// <summary>
    /// The percentiles of a lognormal are exp(μ ± 1.6449 σ); mean 30 s and coefficient of variation 0.25 give μ 3.3709
    /// and σ 0.2462, so 43.6 s and 19.4 s (from the formulas μ = ln mean − σ²/2, σ² = ln(1 + CV²)).
    /// </summary>
    [Fact]
    public void Learned_FromALongRecord_ComesToTheTruePercentiles()
    {
        var learned = StepLengths.Learned(Drawn(3, 20_000), Assay);
        Assert.InRange(learned.Allowed.TotalSeconds, 43, 45);
        Assert.InRange(learned.Shortest.TotalSeconds, 19, 20);
    }

    [Fact]
    public void Learned_FromAFewSteps_StaysNearTheAssaysOwn()
    {
        // Two steps of 100 s against a weight of 20: (2 × 100 + 20 × 50) / 22 = 54.5, and (200 + 700) / 22 = 40.9.
        Assert.Equal(new StepLengths(Seconds(55), Seconds(40)),
            StepLengths.Learned([Seconds(100), Seconds(100)], Assay));
    }

    [Fact]
    public void Learned_FromAsManyStepsAsThePriorWeighs_LiesHalfWay() =>
        Assert.Equal(new StepLengths(Seconds(40), Seconds(32)),
            StepLengths.Learned(Enumerable.Repeat(Seconds(30), StepLengths.PriorWeight), Assay));

    [Fact]
    public void Learned_WithOneStepLonger_IsNeverShorter()
    {
        var random = new Random(11);
        for (var sample = 0; sample < 200; sample++)
        {
            var lengths = Drawn(sample, random.Next(1, 80)).ToList();
            var before = StepLengths.Learned(lengths, Assay);
            lengths[random.Next(lengths.Count)] += Seconds(random.Next(1, 200));
            var after = StepLengths.Learned(lengths, Assay);
            Assert.True(after.Allowed >= before.Allowed && after.Shortest >= before.Shortest);
        }
    }

    [Fact]
    public void Learned_FromAnyRecord_KeepsTheShortestWithinTheAllowed()
    {
        var random = new Random(12);
        for (var sample = 0; sample < 500; sample++)
        {
            var allowed = random.Next(0, 100);
            var assay = new StepLengths(Seconds(allowed), Seconds(random.Next(0, allowed + 1)));
            var learned = StepLengths.Learned(Enumerable.Range(0, random.Next(0, 60))
                .Select(_ => Duration.FromMilliseconds(random.Next(1, 300_000))), assay);
            Assert.True(learned.Shortest <= learned.Allowed);
        }
    }

    [Fact]
    public void Learned_FromAnAssayThatContradictsItself_IsRefused() =>
        Assert.Throws<ArgumentException>(() => StepLengths.Learned([], new StepLengths(Seconds(10), Seconds(11))));

    [Theory]
    [InlineData(0, null, 40, 40)]
    [InlineData(0, 10, 40, 30)]
    [InlineData(20, 10, 40, 20)]
    [InlineData(0, null, 150, 150)]
    [InlineData(0, null, 151, null)]
    [InlineData(0, 110, 200, 90)]
    [InlineData(40, null, 40, null)]
    [InlineData(50, null, 40, null)]
    public void Between_OfferPreviousReportAndReport_IsTheHandsOwnTime(int offered, int? previous, int reported,
        int? expected) =>
        Assert.Equal(
            expected is { } seconds ? Seconds(seconds) : null,
            StepLengths.Between(Eight + Seconds(offered), previous is { } p
                ? Eight + Seconds(p) : null, Eight + Seconds(reported), Seconds(50)));

    /// <summary>
    /// From check values: the 90th percentile of 1..12 is 10.9 by linear interpolation (type 7), 11 by nearest rank.
    /// </summary>
    [Fact]
    public void Percentile_OfOneToTwelve_IsInterpolated() =>
        Assert.Equal(10.9, Percentile.Of([.. Enumerable.Range(1, 12).Select(i => (double)i)], 0.9), 1e-12);

    private static IEnumerable<Duration> Drawn(int seed, int count)
    {
        var random = new Random(seed);
        for (var i = 0; i < count; i++)
        {
            var normal =
                Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
            yield return Duration.FromSeconds(Math.Exp(3.3709 + (0.2462 * normal)));
        }
    }

    private static Duration Seconds(int seconds) => Duration.FromSeconds(seconds);
}
