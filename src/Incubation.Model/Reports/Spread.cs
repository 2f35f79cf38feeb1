namespace Incubation.Model.Reports;

/// <summary>
/// How a sample of lengths lies: its median and its 90th percentile, both by <see cref="Percentile.Of"/> (type 7).
/// </summary>
/// <param name="Count">How many values; more than none.</param>
/// <param name="Median">The median.</param>
/// <param name="Ninth">The 90th percentile: nine of ten are no longer.</param>
public sealed record Spread(int Count, double Median, double Ninth)
{
    /// <summary>
    /// Fewer values are few: they are shown, marked so, and held against nothing. The 95 % interval of a median is
    /// bounded on both sides from six values on, and hardly narrower than all of them below ten.
    /// </summary>
    public const int Few = 10;

    /// <summary>Whether there are few.</summary>
    public bool IsFew => Count < Few;

    /// <summary>Where the true median lies with 95 % confidence.</summary>
    public PercentileInterval MedianInterval { get; private init; } = PercentileInterval.Unknown;

    /// <summary>Where the true 90th percentile lies with 95 % confidence.</summary>
    public PercentileInterval NinthInterval { get; private init; } = PercentileInterval.Unknown;

    /// <summary>The spread of values in any order; null where there is none.</summary>
    public static Spread? Of(IEnumerable<double> values)
    {
        ArgumentNullException.ThrowIfNull(values);
        double[] sorted = [.. values];
        if (sorted.Length == 0)
            return null;
        Array.Sort(sorted);
        return new Spread(sorted.Length, Percentile.Of(sorted, 0.5), Percentile.Of(sorted, 0.9))
        {
            MedianInterval = PercentileInterval.Of95(sorted, 0.5),
            NinthInterval = PercentileInterval.Of95(sorted, 0.9),
        };
    }
}
