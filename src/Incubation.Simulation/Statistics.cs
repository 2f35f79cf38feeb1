namespace Incubation.Simulation;

/// <summary>The few statistics that are told of simulated days, each by a named method.</summary>
public static class Statistics
{
    /// <summary>The standard normal's 97.5th percentile.</summary>
    private const double Normal975 = 1.959963984540054;

    /// <summary>
    /// A percentile of sorted values by linear interpolation between them, at position p(n − 1): type 7 of Hyndman and Fan,
    /// The American Statistician 1996;50:361 (from memory).
    /// </summary>
    /// <param name="sorted">The values, the smallest first; at least one.</param>
    /// <param name="part">Which part lies below, 0 to 1.</param>
    public static double Percentile(IReadOnlyList<double> sorted, double part)
    {
        ArgumentNullException.ThrowIfNull(sorted);
        ArgumentOutOfRangeException.ThrowIfZero(sorted.Count);
        var position = Math.Clamp(part, 0, 1) * (sorted.Count - 1);
        var below = (int)Math.Floor(position);
        var above = Math.Min(below + 1, sorted.Count - 1);
        return sorted[below] + ((position - below) * (sorted[above] - sorted[below]));
    }

    /// <summary>
    /// The 95 % confidence interval of a proportion by Wilson's score, Journal of the American Statistical Association
    /// 1927;22:209 (from memory).
    /// </summary>
    /// <param name="count">How many were so.</param>
    /// <param name="of">Of how many; at least one.</param>
    public static (double Low, double High) Wilson95(long count, long of)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(count);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(count, of);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(of);
        var (n, p, z2) = ((double)of, (double)count / of, Normal975 * Normal975);
        var middle = (p + (z2 / (2 * n))) / (1 + (z2 / n));
        var half = Normal975 * Math.Sqrt((p * (1 - p) / n) + (z2 / (4 * n * n))) / (1 + (z2 / n));
        return (count == 0 ? 0 : middle - half, count == of ? 1 : middle + half);
    }
}
