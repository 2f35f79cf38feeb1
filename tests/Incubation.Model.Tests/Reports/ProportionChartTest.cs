using Incubation.Model.Reports;
using Xunit;

namespace Incubation.Model.Tests.Reports;

/// <summary>The p-chart against published examples.</summary>
public sealed class ProportionChartTest
{
    /// <summary>
    /// 30 samples of 50, the same numbers in both: cans of frozen orange juice concentrate (Montgomery, Introduction to
    /// Statistical Quality Control, chapter on attributes; the counts read in programs that quote it) and chips of
    /// wafers (NIST/SEMATECH e-Handbook
    /// 6.3.3.2; mean read in pages that quote it).
    /// </summary>
    private static readonly int[] Published = [12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11,
        20, 18, 24, 15, 9, 12, 7, 13, 9, 6];

    [Fact]
    public void Of_PublishedSamples_GivesThePublishedMeanAndLimits()
    {
        var chart = ProportionChart.Of([.. Published.Select(count => new ProportionSample(count, 50))]);
        Assert.Equal(0.2313, chart.Mean!.Value, 0.00005);
        Assert.All(chart.Points, point =>
            Assert.Equal((0.4102, 0.0524), (Math.Round(point.High, 4), Math.Round(point.Low, 4))));
        // Samples 15 and 23 lie beyond: new material, and an operator new at the machine.
        Assert.Equal([15, 23], chart.Points.Index().Where(one => one.Item.IsBeyond).Select(one => one.Index + 1));
    }

    /// <summary>
    /// Montgomery, exercise 6-1: 20 samples of 100 with 117 in all; read: mean 0.0585, limits 0.1289 and 0.
    /// </summary>
    [Fact]
    public void Of_LowMean_HasNoLimitBelowZero()
    {
        var chart =
            ProportionChart.Of(
                [.. Enumerable.Range(0, 20).Select(sample => new ProportionSample(sample == 0 ? 22 : 5, 100))]);
        Assert.Equal(0.0585, chart.Mean!.Value, 10);
        Assert.Equal((0.1289, 0), (Math.Round(chart.Points[3].High, 4), chart.Points[3].Low));
        Assert.True(chart.Points[0].IsBeyond);
    }

    [Fact]
    public void Of_SamplesOfOtherSizes_HaveLimitsOfTheirOwn()
    {
        var chart = ProportionChart.Of([new(10, 100), new(0, 0), new(40, 400)]);
        Assert.Equal(0.1, chart.Mean!.Value, 10);
        // 3 × √(0.1 × 0.9 / n): 0.09 for a hundred, half of it for four hundred.
        Assert.Equal((0.19, 0.145), (Math.Round(chart.Points[0].High, 10), Math.Round(chart.Points[2].High, 10)));
        Assert.Null(chart.Points[1].Part);
        Assert.False(chart.Points[1].IsBeyond);
    }

    [Fact]
    public void Of_NothingAtAll_HasNoMean()
    {
        Assert.Null(ProportionChart.Of([]).Mean);
        Assert.Null(ProportionChart.Of([new(0, 0)]).Mean);
    }

    [Theory]
    [InlineData(2, 1)]
    [InlineData(-1, 1)]
    public void Of_SampleThatCountsMoreThanItHolds_IsRefused(int count, int of) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => ProportionChart.Of([new(count, of)]));
}
