using NodaTime;

namespace Incubation.Simulation;

/// <summary>
/// How long a person's step really takes: lognormal, so that the allowed time is its 95th percentile. Times of manual
/// procedures follow a lognormal better than a normal (Anesthesiology 2003;98(1)).
/// </summary>
/// <param name="CoefficientOfVariation">Standard deviation over mean; 0.3 unless said.</param>
public record RandomStepLengths(double CoefficientOfVariation = 0.3)
{
    /// <summary>The standard normal's 95th percentile.</summary>
    private const double Normal95 = 1.6448536269514722;

    /// <summary>The 5th percentile as a share of the allowed time: hands are seldom quicker.</summary>
    public double ShortestShare => Math.Exp(-2 * Normal95 * Sigma);

    private double Sigma => Math.Sqrt(Math.Log(1 + (CoefficientOfVariation * CoefficientOfVariation)));

    /// <summary>Draws the length of a step that is allowed so long; whole milliseconds.</summary>
    public virtual Duration Draw(Duration allowed, Random random)
    {
        ArgumentNullException.ThrowIfNull(random);
        if (allowed <= Duration.Zero)
            return Duration.Zero;
        var length = allowed.TotalMilliseconds * Math.Exp(Sigma * (Normal(random) - Normal95));
        return Duration.FromMilliseconds(Math.Max(1, Math.Round(length)));
    }

    /// <summary>Mean length of a step that is allowed so long.</summary>
    public virtual Duration Mean(Duration allowed) => allowed * Math.Exp((-Normal95 * Sigma) + (Sigma * Sigma / 2));

    /// <summary>A standard normal number by the method of Box and Muller (1958).</summary>
    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
