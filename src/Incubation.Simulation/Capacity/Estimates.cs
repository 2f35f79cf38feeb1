using Incubation.Model;
using NodaTime;

namespace Incubation.Simulation.Capacity;

/// <summary>
/// A number seen in played days, with half the width of its 95 % confidence interval; null where one day says nothing
/// of that.
/// </summary>
public sealed record Estimate(double Value, double? Half)
{
    /// <summary>
    /// Whether it lies above another: their intervals do not overlap. One without an interval lies above nothing, and
    /// nothing above it.
    /// </summary>
    public bool IsAbove(Estimate other)
    {
        ArgumentNullException.ThrowIfNull(other);
        return Value - Half > other.Value + other.Half;
    }
}

/// <summary>
/// A length seen in played days, with half the width of its 95 % confidence interval; null where one day says nothing
/// of that.
/// </summary>
public sealed record TimeEstimate(Duration Value, Duration? Half);

/// <summary>
/// Confidence intervals from days that are independent, while what is seen within a day is not: the days are dealt into
/// at most twenty sections, the figure is worked out in each, and Student's t of the sections' spread stands around the
/// figure of all days (sectioning; Asmussen and Glynn, Stochastic Simulation, 2007, III.5, from memory).
/// </summary>
public static class Sections
{
    private const int Most = 20;

    /// <summary>
    /// The 97.5th percentile of Student's t with 1 to 19 degrees of freedom, as printed in statistical tables (from
    /// memory).
    /// </summary>
    private static readonly double[] T975 =
        [12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131,
            2.120, 2.110, 2.101, 2.093];

    /// <summary>A figure of all days, with its interval.</summary>
    /// <param name="days">What was seen, day by day.</param>
    /// <param name="figure">The figure of some days; null where they have none.</param>
    public static Estimate? Of<T>(IReadOnlyList<T> days, Func<IReadOnlyList<T>, double?> figure)
    {
        ArgumentNullException.ThrowIfNull(days);
        ArgumentNullException.ThrowIfNull(figure);
        if (figure(days) is not { } all)
            return null;
        var sections = Math.Min(Most, days.Count);
        var parts = Enumerable.Range(0, sections)
            .Select(section => figure([.. days.Where((_, index) => index % sections == section)])).OfType<double>()
            .ToList();
        return new Estimate(all, Half(parts));
    }

    private static double? Half(List<double> parts)
    {
        if (parts.Count < 2)
            return null;
        var mean = parts.Average();
        var variance = parts.Sum(part => (part - mean) * (part - mean)) / (parts.Count - 1);
        return T975[parts.Count - 2] * Math.Sqrt(variance / parts.Count);
    }

    /// <summary>A percentile of all lengths of all days by <see cref="Percentile.Of"/>, with its interval.</summary>
    public static TimeEstimate? Percentile(IReadOnlyList<IReadOnlyList<Duration>> days, double part) =>
        Of(days, some => some.SelectMany(day => day).Select(length => length.TotalSeconds).Order()
            .ToList() is { Count: > 0 } sorted ? Model.Percentile.Of(sorted, part) : null) is { } seconds
            ? new TimeEstimate(Duration.FromSeconds(seconds.Value), seconds.Half is { } half
                ? Duration.FromSeconds(half) : null)
            : null;
}
