using Incubation.Model.Reports;
using Xunit;

namespace Incubation.Model.Tests.Reports;

/// <summary>Percentiles, Pareto, histograms and how sure a percentile is.</summary>
public sealed class ReportArithmeticTest
{
    /// <summary>
    /// The gauge study of NIST/SEMATECH e-Handbook 7.2.6.2 (read as programs quote it). Its own rule, p (N + 1), gives
    /// 95.1981 for the 90th percentile; the rule here is type 7, 1 + p (N − 1), which the handbook names as the other
    /// one in use: 95.19568 (read as a program's test has it).
    /// </summary>
    private static readonly double[] Gauge = [95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.0610, 95.1591, 95.1195,
        95.1065, 95.0925, 95.1990, 95.1682];

    [Fact]
    public void Spread_PublishedSample_IsThatOfTypeSeven()
    {
        var spread = Spread.Of(Gauge)!;
        Assert.Equal(12, spread.Count);
        Assert.Equal(95.19568, spread.Ninth, 6);
        Assert.Equal(95.1579, spread.Median, 6);
    }

    /// <summary>Computed by hand: the 90th percentile of 1 to 12 is 10.9 by type 7.</summary>
    [Fact]
    public void Spread_OneToTwelve_IsKnown()
    {
        var spread = Spread.Of(Enumerable.Range(1, 12).Select(number => (double)number).Reverse())!;
        Assert.Equal((12, 6.5, 10.9), (spread.Count, spread.Median, spread.Ninth));
    }

    /// <summary>
    /// Ranks 3 and 10 of 12 bound the median with 95 % confidence, and no value bounds the 90th percentile of 12 from
    /// above (tables of nonparametric intervals of a median, n = 12: P = 0.961; from memory).
    /// </summary>
    [Fact]
    public void Spread_OneToTwelve_SaysHowSureItIs()
    {
        var spread = Spread.Of(Enumerable.Range(1, 12).Select(number => (double)number))!;
        Assert.Equal(new PercentileInterval(3, 10), spread.MedianInterval);
        Assert.Null(spread.NinthInterval.High);
        Assert.False(spread.IsFew);
        Assert.True(Spread.Of(Enumerable.Range(1, 9).Select(number => (double)number))!.IsFew);
    }

    [Fact]
    public void Spread_OfNothing_IsNone() => Assert.Null(Spread.Of([]));

    [Fact]
    public void Pareto_Causes_StandInTheOrderOfTheirNumberAndAddUp()
    {
        var bars = Pareto.Of(["late", "bubbles", "dropped", "late", "bubbles", "late", "late", "other"]);
        Assert.Equal([("late", 4), ("bubbles", 2), ("dropped", 1), ("other", 1)],
            bars.Select(bar => (bar.Of, bar.Count)));
        Assert.Equal([0.5, 0.75, 0.875, 1], bars.Select(bar => bar.UpTo));
        Assert.Empty(Pareto.Of(Array.Empty<string>()));
    }

    [Fact]
    public void Histogram_ValuesOnBoundaries_LieInTheClassThatTheyBegin()
    {
        var histogram = Histogram.Of([-0.01, 0, 0.0999, 0.1, 0.95, 1, 1.01, 7], 0, 0.1, 10);
        Assert.Equal((1, 2), (histogram.Below, histogram.Above));
        Assert.Equal([2, 1, 0, 0, 0, 0, 0, 0, 0, 2], histogram.Counts);
        Assert.Equal(8, histogram.Total);
    }

    /// <summary>
    /// The median of n values lies between the r-th and the (n + 1 − r)-th with 95 % confidence: r is 2 for n = 10, 6
    /// for 20, 40 for 100 (tables of the sign test; from memory).
    /// </summary>
    [Theory]
    [InlineData(10, 2)]
    [InlineData(20, 6)]
    [InlineData(100, 40)]
    public void PercentileInterval_OfMedians_HasTheRanksOfTheTables(int count, int rank)
    {
        double[] sorted = [.. Enumerable.Range(1, count).Select(number => (double)number)];
        Assert.Equal(new PercentileInterval(rank, count + 1 - rank), PercentileInterval.Of95(sorted, 0.5));
    }

    /// <summary>
    /// The greatest of n values bounds a 95th percentile from above where 0.95^n is at most 0.025: from n = 72 on
    /// (computed).
    /// </summary>
    [Theory]
    [InlineData(71, false)]
    [InlineData(72, true)]
    public void PercentileInterval_OfTheNinetyFifth_NeedsSeventyTwoValues(int count, bool isBounded)
    {
        double[] sorted = [.. Enumerable.Range(1, count).Select(number => (double)number)];
        Assert.Equal(isBounded, PercentileInterval.Of95(sorted, 0.95).High is not null);
    }

    /// <summary>
    /// As often as it says: 95 % of the intervals of samples hold the percentile that they were drawn from.
    /// </summary>
    [Fact]
    public void PercentileInterval_ManySamples_HoldsTheTrueOneAsOftenAsItSays()
    {
        var random = new Random(7);
        var held = 0;
        for (var sample = 0; sample < 2000; sample++)
        {
            double[] sorted = [.. Enumerable.Range(0, 150).Select(_ => random.NextDouble()).Order()];
            var interval = PercentileInterval.Of95(sorted, 0.95);
            held += interval.Low <= 0.95 && 0.95 <= interval.High ? 1 : 0;
        }

        Assert.InRange(held / 2000.0, 0.945, 0.99);
    }
}
