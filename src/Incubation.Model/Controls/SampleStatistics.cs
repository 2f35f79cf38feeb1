namespace Incubation.Model.Controls;

/// <summary>
/// Count, mean and standard deviation of values that come one by one. Immutable; the default value has no values.
/// </summary>
/// <remarks>
/// By the recurrence of B. P. Welford, Technometrics 1962;4:419 (from memory), which sums squares of differences from
/// the running mean: values that are large beside their spread lose no digits, as they would in a sum of squares.
/// </remarks>
/// <param name="Count">How many values.</param>
/// <param name="Mean">Their mean; 0 where there is none.</param>
/// <param name="SquareSum">The sum of squared differences from the mean.</param>
public readonly record struct SampleStatistics(int Count, double Mean, double SquareSum)
{
    /// <summary>The statistics of values.</summary>
    public static SampleStatistics Of(IEnumerable<double> values)
    {
        ArgumentNullException.ThrowIfNull(values);
        return values.Aggregate(default(SampleStatistics), (statistics, value) => statistics.With(value));
    }

    /// <summary>With one more value.</summary>
    public SampleStatistics With(double value)
    {
        var mean = Mean + ((value - Mean) / (Count + 1));
        return new SampleStatistics(Count + 1, mean, SquareSum + ((value - Mean) * (value - mean)));
    }

    /// <summary>The sample's standard deviation (divided by n − 1); null below two values.</summary>
    public double? StandardDeviation => Count < 2 ? null : Math.Sqrt(SquareSum / (Count - 1));

    /// <summary>The coefficient of variation, a part of 1; null below two values or where the mean is 0.</summary>
    public double? CoefficientOfVariation => StandardDeviation is { } deviation && Mean != 0
        ? deviation / Math.Abs(Mean) : null;
}
