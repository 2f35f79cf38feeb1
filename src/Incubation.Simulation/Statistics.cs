namespace Incubation.Simulation;

/// <summary>What can be said of a proportion seen in simulated days.</summary>
public static class Statistics
{
    /// <summary>The standard normal's 97.5th percentile.</summary>
    private const double Normal975 = 1.959963984540054;

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
