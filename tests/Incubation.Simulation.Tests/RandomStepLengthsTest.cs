using NodaTime;
using Xunit;

namespace Incubation.Simulation.Tests;

public sealed class RandomStepLengthsTest
{
    private static readonly RandomStepLengths Times = new();

    [Fact]
    public void Draw_ManyTimes_StaysWithinTheAllowedTimeInNineteenOfTwenty()
    {
        var random = new Random(7);
        var allowed = Duration.FromSeconds(50);
        var within = Enumerable.Range(0, 20_000).Count(_ => Times.Draw(allowed, random) <= allowed);
        Assert.InRange(within / 20_000.0, 0.945, 0.955);
    }

    [Fact]
    public void Draw_ManyTimes_HasTheMeanAndTheVariationAskedFor()
    {
        var random = new Random(8);
        var allowed = Duration.FromSeconds(50);
        var drawn = Enumerable.Range(0, 20_000).Select(_ => Times.Draw(allowed, random).TotalSeconds).ToList();
        var mean = drawn.Average();
        var deviation = Math.Sqrt(drawn.Sum(d => (d - mean) * (d - mean)) / (drawn.Count - 1));
        Assert.Equal(Times.Mean(allowed).TotalSeconds, mean, 0.01 * mean);
        Assert.Equal(0.3, deviation / mean, 0.01);
    }

    /// <summary>
    /// A lognormal with mean 30 s and coefficient of variation 0.25 has its 95th percentile at 43.6 s: from the
    /// formulas σ² = ln(1 + CV²), μ = ln(mean) − σ²/2.
    /// </summary>
    [Fact]
    public void Mean_OfThe95thPercentile_AgreesWithTheClosedForm() =>
        Assert.Equal(30, new RandomStepLengths(0.25).Mean(Duration.FromSeconds(43.6)).TotalSeconds, 0.05);

    [Fact]
    public void Draw_OfAStepWithoutLength_IsZero() =>
        Assert.Equal(Duration.Zero, Times.Draw(Duration.Zero, new Random(1)));
}
