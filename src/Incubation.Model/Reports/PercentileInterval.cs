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
    /// <summary>Nothing is known.</summary>
    public static PercentileInterval Unknown { get; } = new(null, null);

    /// <summary>
    /// Whether this lies above another: they do not overlap, nor touch. One without a bound lies above nothing.
    /// </summary>
    /// <remarks>
    /// Where 95 % intervals of two estimates do not overlap, the difference is significant by the standard test too;
    /// where they overlap it may still be (N. Schenker and J. F. Gentleman, The American Statistician 2001;55:182,
    /// abstract). Two intervals of one width that just touch: p about 0.006 (G. Cumming and S. Finch, American
    /// Psychologist 2005;60:170, from memory). A report that names an order only then errs on the side of naming
    /// none.
    /// </remarks>
    public bool IsAbove(PercentileInterval other)
    {
        ArgumentNullException.ThrowIfNull(other);
        return Low > other.High;
    }

    /// <summary>Which one lies above all others; null where none does, or there is no other.</summary>
    public static int? Highest(IReadOnlyList<PercentileInterval> intervals)
    {
        ArgumentNullException.ThrowIfNull(intervals);
        if (intervals.Count < 2)
            return null;
        for (var at = 0; at < intervals.Count; at++)
            if (intervals.Where((_, other) => other != at).All(intervals[at].IsAbove))
                return at;
        return null;
    }

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
