namespace Incubation.Model.Reports;

/// <summary>
/// How a sample of lengths lies: its median and its 90th percentile, both by <see cref="Percentile.Of"/> (type 7).
/// </summary>
/// <param name="Count">How many values; more than none.</param>
/// <param name="Median">The median.</param>
/// <param name="Ninth">The 90th percentile: nine of ten are no longer.</param>
public sealed record Spread(int Count, double Median, double Ninth)
{
    /// <summary>The spread of values in any order; null where there is none.</summary>
    public static Spread? Of(IEnumerable<double> values)
    {
        ArgumentNullException.ThrowIfNull(values);
        double[] sorted = [.. values];
        if (sorted.Length == 0)
            return null;
        Array.Sort(sorted);
        return new Spread(sorted.Length, Percentile.Of(sorted, 0.5), Percentile.Of(sorted, 0.9));
    }
}
