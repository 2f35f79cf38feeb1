using Incubation.Model.Reports;
using Xunit;

namespace Incubation.Model.Tests.Reports;

/// <summary>When a report names an order: where 95 % intervals lie apart, never where they overlap.</summary>
public sealed class IntervalsApartTest
{
    /// <summary>
    /// Two means of one standard error whose 95 % intervals just touch differ at p = 0.0056, not at 0.05: the "rule of
    /// eye" of G. Cumming and S. Finch, American Psychologist 2005;60:170 (p about 0.006; from memory). What this
    /// method calls different, the standard test does too, not the other way round (N. Schenker and J. F. Gentleman,
    /// The American Statistician 2001;55:182, abstract). So a difference at p = 0.05 is not named, and one at p = 0.005
    /// is.
    /// </summary>
    [Theory]
    [InlineData(1.959964, 0.05, false)]
    [InlineData(2.575829, 0.01, false)]
    [InlineData(2.7718, 0.0056, false)]
    [InlineData(2.807034, 0.005, true)]
    public void IsAbove_DifferencesOfPublishedSignificance_OnlyThoseBeyondTouching(double z, double p, bool isNamed)
    {
        const double Half = 1.959964;
        var difference = z * Math.Sqrt(2);
        Assert.Equal(p, TwoSided(z), 0.0001);
        Assert.Equal(isNamed, new PercentileInterval(difference - Half, difference + Half)
            .IsAbove(new PercentileInterval(-Half, Half)));
    }

    [Fact]
    public void IsAbove_IntervalsThatTouchOrHaveNoBound_AreNotApart()
    {
        Assert.False(new PercentileInterval(10, 12).IsAbove(new PercentileInterval(8, 10)));
        Assert.False(new PercentileInterval(null, 12).IsAbove(new PercentileInterval(1, 2)));
        Assert.False(new PercentileInterval(10, 12).IsAbove(new PercentileInterval(1, null)));
    }

    [Fact]
    public void Highest_OneApartFromAllOthers_IsNamedElseNone()
    {
        PercentileInterval[] apart = [new(1, 4), new(10, 12), new(3, 9)];
        Assert.Equal(1, PercentileInterval.Highest(apart));
        Assert.Null(PercentileInterval.Highest([.. apart, new PercentileInterval(11, 20)]));
        Assert.Null(PercentileInterval.Highest([new PercentileInterval(1, 2)]));
        Assert.Null(PercentileInterval.Highest([]));
    }

    /// <summary>
    /// The two-sided chance of a standard normal beyond ± z, by Simpson's rule on its density.
    /// </summary>
    private static double TwoSided(double z)
    {
        const int Pieces = 2000;
        double Density(double x) => Math.Exp(-x * x / 2) / Math.Sqrt(2 * Math.PI);
        var width = z / Pieces;
        var sum = Density(0) + Density(z);
        for (var at = 1; at < Pieces; at++)
            sum += (at % 2 == 1 ? 4 : 2) * Density(at * width);
        return 1 - (2 * sum * width / 3);
    }
}
