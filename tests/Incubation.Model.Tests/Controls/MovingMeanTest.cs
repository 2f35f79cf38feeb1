using Incubation.Model.Controls;
using Xunit;

namespace Incubation.Model.Tests.Controls;

/// <summary>The exponentially weighted moving mean, against a published example and at its edges.</summary>
public sealed class MovingMeanTest
{
    private static readonly MovingMeanRule Rule = new(0.3m, 50, 47.4115m, 52.5884m);

    /// <summary>
    /// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4, "EWMA Control Charts": target 50, weight 0.3, limits
    /// 47.4115 and 52.5884, 20 values and their means to two decimals (the numbers from memory; recomputed by hand).
    /// </summary>
    [Fact]
    public void Handbook_ExampleOfTwentyValues_IsMet()
    {
        decimal[] values = [52.0m, 47.0m, 53.0m, 49.3m, 50.1m, 47.0m, 51.0m, 50.1m, 51.2m, 50.5m, 49.6m, 47.6m, 49.9m,
            51.3m, 47.8m, 51.2m, 52.6m, 52.4m, 53.6m, 52.1m];
        var points = MovingMean.Of(Rule, values);
        Assert.Equal([50.60m, 49.52m, 50.56m, 50.18m, 50.16m, 49.21m, 49.75m, 49.85m, 50.26m, 50.33m, 50.11m, 49.36m,
            49.52m, 50.05m, 49.38m, 49.92m, 50.73m, 51.23m, 51.94m, 51.99m],
            points.Select(point => Math.Round(point.Mean, 2)));
        Assert.DoesNotContain(points, point => point.IsBeyond);
    }

    [Fact]
    public void ExactlyOnALimit_IsWithin()
    {
        var rule = new MovingMeanRule(1, 50, 48, 52);
        Assert.Equal([false, true, false, true],
            MovingMean.Of(rule, [52, 52.1m, 48, 47.9m]).Select(point => point.IsBeyond));
        Assert.Empty(MovingMean.Of(rule, []));
    }

    /// <summary>A shift that stays is seen, though no single value is far off.</summary>
    [Fact]
    public void AShiftThatStays_IsSeenAfterSomeResults()
    {
        var points = MovingMean.Of(Rule, Enumerable.Repeat(53m, 10));
        Assert.False(points[4].IsBeyond);
        Assert.True(points[5].IsBeyond);
    }

    [Theory]
    [InlineData("0", "50", "48", "52", false)]
    [InlineData("1.1", "50", "48", "52", false)]
    [InlineData("1", "50", "52", "48", false)]
    [InlineData("1", "53", "48", "52", false)]
    [InlineData("1", "52", "48", "52", true)]
    public void Rules_AtTheirEdges_ArePossibleOrNot(string weight, string center, string low, string high,
        bool possible)
    {
        static decimal Of(string text) => decimal.Parse(text, System.Globalization.CultureInfo.InvariantCulture);
        Assert.Equal(possible, new MovingMeanRule(Of(weight), Of(center), Of(low), Of(high)).IsPossible);
    }
}
