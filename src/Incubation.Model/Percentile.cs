namespace Incubation.Model;

/// <summary>Percentiles of a sample.</summary>
public static class Percentile
{
    /// <summary>
    /// A percentile of sorted values by linear interpolation between them, at position part × (n − 1) from the first:
    /// type 7 of Hyndman and Fan, The American Statistician 1996;50:361 (from memory). The 90th of 1 to 12 is 10.9.
    /// </summary>
    /// <param name="sorted">The values, the smallest first; at least one.</param>
    /// <param name="part">Which part lies below, 0 to 1.</param>
    /// <exception cref="ArgumentOutOfRangeException">No values, or no such part.</exception>
    public static double Of(IReadOnlyList<double> sorted, double part)
    {
        ArgumentNullException.ThrowIfNull(sorted);
        ArgumentOutOfRangeException.ThrowIfZero(sorted.Count);
        ArgumentOutOfRangeException.ThrowIfLessThan(part, 0);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(part, 1);
        var position = part * (sorted.Count - 1);
        var below = (int)Math.Floor(position);
        var above = Math.Min(below + 1, sorted.Count - 1);
        return sorted[below] + ((position - below) * (sorted[above] - sorted[below]));
    }
}
