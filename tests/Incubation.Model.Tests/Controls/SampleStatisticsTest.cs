using CsCheck;
using Incubation.Model.Controls;
using Xunit;

namespace Incubation.Model.Tests.Controls;

public sealed class SampleStatisticsTest
{
    /// <summary>
    /// check-values.md §4: 20 glucose-like values, mean 4.64 (data read), SD (n − 1) 0.4903 (computed).
    /// </summary>
    public static readonly double[] Published =
        [3.8, 4.2, 4.5, 3.8, 4.3, 4.7, 4.8, 4.8, 4.6, 5.2, 5.0, 5.4, 5.0, 5.2, 5.2, 4.8, 4.9, 3.8, 4.2, 4.6];

    [Fact]
    public void Of_ThePublishedTwenty_IsTheirMeanAndStandardDeviation()
    {
        var statistics = SampleStatistics.Of(Published);
        Assert.Equal(20, statistics.Count);
        Assert.Equal(4.64, statistics.Mean, 1e-12);
        Assert.Equal(0.4903, statistics.StandardDeviation!.Value, 5e-5);
        Assert.Equal(0.4903 / 4.64, statistics.CoefficientOfVariation!.Value, 2e-5);
    }

    /// <summary>NIST StRD, univariate, NumAcc1: mean 10000002, standard deviation 1, exactly (from memory).</summary>
    [Fact]
    public void Of_NistNumAcc1_IsExact()
    {
        var statistics = SampleStatistics.Of([10000001, 10000003, 10000002]);
        Assert.Equal(10000002, statistics.Mean);
        Assert.Equal(1, statistics.StandardDeviation);
    }

    /// <summary>
    /// NIST StRD, univariate, NumAcc2 to NumAcc4: 1001 values, the mean first and then a tenth below and above it in
    /// turn; standard deviation 0.1 exactly (from memory). A sum of squares gives none of NumAcc4's digits.
    /// </summary>
    [Theory]
    [InlineData(1.2, 1e-14)]
    [InlineData(1000000.2, 1e-9)]
    [InlineData(10000000.2, 1e-8)]
    public void Of_NistNumAcc2To4_KeepsTheDigits(double mean, double within)
    {
        var statistics =
            SampleStatistics.Of(
                [mean, .. Enumerable.Range(0, 1000).Select(at => at % 2 == 0 ? mean - 0.1 : mean + 0.1)]);
        Assert.Equal(mean, statistics.Mean, within * 10);
        Assert.Equal(0.1, statistics.StandardDeviation!.Value, within * 10);
    }

    [Fact]
    public void StandardDeviation_BelowTwoValues_IsNone()
    {
        Assert.Null(SampleStatistics.Of([]).StandardDeviation);
        Assert.Null(SampleStatistics.Of([4]).StandardDeviation);
        Assert.Null(SampleStatistics.Of([-1, 1]).CoefficientOfVariation);
    }

    /// <summary>Held against the definition in two passes, which is exact enough for values of this size.</summary>
    [Fact]
    public void Of_AnyValues_IsTheDefinition() =>
        Gen.Double[-1000, 1000].Array[2, 60].Sample(values =>
        {
            var statistics = SampleStatistics.Of(values);
            var mean = values.Average();
            var deviation = Math.Sqrt(values.Sum(value => (value - mean) * (value - mean)) / (values.Length - 1));
            Assert.Equal(mean, statistics.Mean, 1e-9);
            Assert.Equal(deviation, statistics.StandardDeviation!.Value, 1e-9);
        });

    [Fact]
    public void Of_ValuesMovedAndStretched_MovesAndStretches() =>
        Gen.Select(Gen.Int[-500, 500].Array[2, 40], Gen.Int[-100000, 100000], Gen.Int[1, 20])
            .Sample((values, by, times) =>
        {
            var before = SampleStatistics.Of(values.Select(value => (double)value));
            var after = SampleStatistics.Of(values.Select(value => ((double)value * times) + by));
            Assert.Equal((before.Mean * times) + by, after.Mean, 1e-6);
            Assert.Equal(before.StandardDeviation!.Value * times, after.StandardDeviation!.Value, 1e-6);
        });
}
