namespace Incubation.Model.Controls;

/// <summary>
/// How the moving mean of patients' results of an assay is worked out, and between which limits it should stay: they
/// warn, and hold nothing back. Values are in the unit of the assay.
/// </summary>
/// <param name="Weight">The weight of the newest result, above 0 and at most 1.</param>
/// <param name="Center">What the mean should be; it begins there.</param>
/// <param name="Low">Below this it warns.</param>
/// <param name="High">Above this it warns.</param>
public sealed record MovingMeanRule(decimal Weight, decimal Center, decimal Low, decimal High)
{
    /// <summary>Whether a mean can be worked out and judged by it.</summary>
    public bool IsPossible => Weight is > 0 and <= 1 && Low < High && Low <= Center && Center <= High
        && Math.Abs(Low) <= ControlTarget.Largest && Math.Abs(High) <= ControlTarget.Largest;
}

/// <summary>The moving mean after one more result.</summary>
/// <param name="Mean">The mean.</param>
/// <param name="IsBeyond">Whether it lies outside its limits; exactly on one is within.</param>
public readonly record struct MovingPoint(decimal Mean, bool IsBeyond);

/// <summary>The exponentially weighted moving mean of results that come one by one. Pure.</summary>
/// <remarks>
/// After S. W. Roberts, Technometrics 1959;1:239 (from memory), as the NIST/SEMATECH e-Handbook of Statistical
/// Methods, 6.3.2.4, writes it: each mean is λ times the newest value and 1 − λ times the mean before it, which begins
/// at the target. Of patients' results in this way, "average of normals": R. G. Hoffmann and M. E. Waid, Am J Clin
/// Pathol 1965;43:134 (from memory).
/// </remarks>
public static class MovingMean
{
    /// <summary>The means after each value.</summary>
    /// <param name="rule">How.</param>
    /// <param name="values">The values, the first first; none beyond <see cref="ControlTarget.Largest"/>.</param>
    public static IReadOnlyList<MovingPoint> Of(MovingMeanRule rule, IEnumerable<decimal> values)
    {
        ArgumentNullException.ThrowIfNull(rule);
        ArgumentNullException.ThrowIfNull(values);
        var points = new List<MovingPoint>();
        var mean = rule.Center;
        foreach (var value in values)
        {
            mean = (rule.Weight * value) + ((1 - rule.Weight) * mean);
            points.Add(new MovingPoint(mean, mean < rule.Low || mean > rule.High));
        }

        return points;
    }
}
