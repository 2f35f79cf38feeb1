namespace Incubation.Model.Reports;

/// <summary>A sample of a control chart for proportions.</summary>
/// <param name="Count">How many of it were so.</param>
/// <param name="Of">How many it held; at least <paramref name="Count"/>.</param>
public readonly record struct ProportionSample(int Count, int Of);

/// <summary>A sample beside its limits, all parts of 1.</summary>
/// <param name="Sample">The sample.</param>
/// <param name="Part">Its proportion; null for an empty sample, which has no limits either.</param>
/// <param name="Low">Its lower limit, never below 0.</param>
/// <param name="High">Its upper limit, never above 1.</param>
public sealed record ProportionPoint(ProportionSample Sample, double? Part, double Low, double High)
{
    /// <summary>
    /// Whether it lies beyond a limit: something other than chance was at work. On its limit it is within.
    /// </summary>
    public bool IsBeyond => Part < Low || Part > High;
}

/// <summary>
/// The control chart for proportions, the p-chart: the mean proportion of all samples, and for each sample limits at
/// three standard deviations of a binomial proportion of its own size (NIST/SEMATECH e-Handbook 6.3.3.2).
/// </summary>
/// <param name="Mean">The mean proportion: all that were so, of all; null where every sample is empty.</param>
/// <param name="Points">The samples, in the order in which they came.</param>
public sealed record ProportionChart(double? Mean, IReadOnlyList<ProportionPoint> Points)
{
    private const double Deviations = 3;

    /// <summary>The chart of samples in the order in which they were taken.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A sample counts more than it holds, or less than
    /// nothing.</exception>
    public static ProportionChart Of(IReadOnlyList<ProportionSample> samples)
    {
        ArgumentNullException.ThrowIfNull(samples);
        foreach (var sample in samples)
        {
            ArgumentOutOfRangeException.ThrowIfNegative(sample.Count, nameof(samples));
            ArgumentOutOfRangeException.ThrowIfGreaterThan(sample.Count, sample.Of, nameof(samples));
        }

        var all = samples.Sum(sample => (long)sample.Of);
        if (all == 0)
            return new ProportionChart(null, [.. samples.Select(sample => new ProportionPoint(sample, null, 0, 1))]);
        var mean = (double)samples.Sum(sample => (long)sample.Count) / all;
        return new ProportionChart(mean, [.. samples.Select(sample => PointOf(sample, mean))]);
    }

    private static ProportionPoint PointOf(ProportionSample sample, double mean)
    {
        if (sample.Of == 0)
            return new ProportionPoint(sample, null, 0, 1);
        var reach = Deviations * Math.Sqrt(mean * (1 - mean) / sample.Of);
        return new ProportionPoint(sample, (double)sample.Count / sample.Of, Math.Max(0, mean - reach),
            Math.Min(1, mean + reach));
    }
}
