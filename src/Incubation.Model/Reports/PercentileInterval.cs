namespace Incubation.Model.Reports;

/// <summary>
/// How sure a percentile of a sample is: an interval that holds the true one, whatever the distribution.
/// </summary>
/// <remarks>
/// Between two of the sample's own values, by the binomial distribution of how many values lie below the true
/// percentile (H. A. David, Order Statistics, 1981, section 2.5; from memory): the smallest rank r and the greatest
/// rank s with at most half of what is left to chance outside on each side.
/// </remarks>
/// <param name="Low">Its lower end; null where the sample is too small to bound it from below.</param>
/// <param name="High">Its upper end; null where the sample is too small to bound it from above.</param>
public sealed record PercentileInterval(double? Low, double? High)
{
    /// <summary>The interval with 95 % confidence.</summary>
    /// <param name="sorted">The values, the smallest first.</param>
    /// <param name="part">Which part lies below, between 0 and 1.</param>
    public static PercentileInterval Of95(IReadOnlyList<double> sorted, double part)
    {
        const double Outside = 0.025;
        ArgumentNullException.ThrowIfNull(sorted);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(part);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(part, 1);
        var n = sorted.Count;
        // P(fewer than r values below) is the chance that the r-th value lies above the true percentile.
        var (low, high) = (0, n + 1);
        var (below, log) = (0.0, n * Math.Log(1 - part));
        for (var k = 0; k < n; k++)
        {
            below += Math.Exp(log);
            if (below <= Outside)
                low = k + 1;
            if (1 - below <= Outside)
            {
                high = k + 1;
                break;
            }
            // From the chance of k values below to that of k + 1; as logarithms, for the first are too small for
            // numbers.
            log += Math.Log(n - k) - Math.Log(k + 1) + Math.Log(part) - Math.Log(1 - part);
        }
        return new PercentileInterval(low >= 1 ? sorted[low - 1] : null, high <= n ? sorted[high - 1] : null);
    }
}
