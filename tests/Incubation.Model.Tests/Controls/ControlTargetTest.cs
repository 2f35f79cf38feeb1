using Incubation.Model.Controls;
using Xunit;

namespace Incubation.Model.Tests.Controls;

public sealed class ControlTargetTest
{
    [Fact]
    public void FromOwn_TheFirstTwenty_IsTheirMeanAndStandardDeviation()
    {
        var values = SampleStatisticsTest.Published.Select(value => (decimal)value).ToList();
        var target = ControlTarget.FromOwn([.. values, 99, 99]);
        Assert.NotNull(target);
        Assert.Equal(4.64m, target.Mean);
        Assert.Equal(0.4903m, Math.Round(target.StandardDeviation, 4));
    }

    [Fact]
    public void FromOwn_FewerThanTwenty_IsNone() =>
        Assert.Null(ControlTarget.FromOwn(Enumerable.Range(0, 19).Select(value => (decimal)value)));

    [Fact]
    public void FromOwn_TwentyOfTheSame_IsNone() => Assert.Null(ControlTarget.FromOwn(Enumerable.Repeat(5m, 20)));

    /// <summary>
    /// In binary, (5.62 − 4.64) / 0.49 comes out above 2: a value exactly on its limit would be rejected.
    /// </summary>
    [Fact]
    public void IsAbove_ExactlyOnTheLimit_IsNot()
    {
        var target = new ControlTarget(4.64m, 0.49m);
        Assert.False(target.IsAbove(5.62m, 2));
        Assert.True(target.IsAbove(5.63m, 2));
        Assert.False(target.IsBelow(3.66m, 2));
        Assert.True(target.IsBelow(3.65m, 2));
        Assert.Equal(2.0, target.Z(5.62m));
    }

    [Theory]
    [InlineData("0", "0")]
    [InlineData("1", "-0.1")]
    [InlineData("10000000000000", "1")]
    [InlineData("1", "10000000000000")]
    public void New_WhatCanBeNoTarget_IsRefused(string mean, string deviation) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => new ControlTarget(
            decimal.Parse(mean, System.Globalization.CultureInfo.InvariantCulture),
                decimal.Parse(deviation, System.Globalization.CultureInfo.InvariantCulture)));
}
