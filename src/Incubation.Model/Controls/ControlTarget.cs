namespace Incubation.Model.Controls;

/// <summary>Where a control's target comes from.</summary>
public enum TargetSource
{
    /// <summary>The sheet that came with the control material.</summary>
    Sheet,

    /// <summary>This bench's own first runs.</summary>
    OwnRuns,
}

/// <summary>
/// What a control should give, in the unit of its assay. Decimal, as readers display: so whether a value exceeds a
/// limit is exact.
/// </summary>
/// <param name="Mean">The mean.</param>
/// <param name="StandardDeviation">The standard deviation; above 0.</param>
/// <exception cref="ArgumentOutOfRangeException">Where <see cref="IsPossible"/> is false.</exception>
public sealed record ControlTarget(decimal Mean, decimal StandardDeviation)
{
    /// <summary>This many own runs make a target.</summary>
    /// <remarks>Common practice: at least 20 values (from memory).</remarks>
    public const int OwnRuns = 20;

    /// <summary>The largest mean, standard deviation or value that is compared.</summary>
    public const decimal Largest = 1_000_000_000_000m;

    /// <summary>The mean.</summary>
    public decimal Mean { get; init => field = IsPossible(value, 1) ? value : throw Impossible(value); } =
        IsPossible(Mean, 1) ? Mean : throw Impossible(Mean);

    /// <summary>The standard deviation; above 0.</summary>
    public decimal StandardDeviation { get; init => field = IsPossible(0, value) ? value : throw Impossible(value); } =
        IsPossible(0, StandardDeviation) ? StandardDeviation : throw Impossible(StandardDeviation);

    /// <summary>Whether a mean and a standard deviation can be a target's.</summary>
    public static bool IsPossible(decimal mean, decimal standardDeviation) =>
        Math.Abs(mean) <= Largest && standardDeviation > 0 && standardDeviation <= Largest;

    /// <summary>
    /// The target from a bench's own first <see cref="OwnRuns"/> values, rounded to six decimals; null where they are
    /// fewer or all the same.
    /// </summary>
    /// <param name="values">The values, the first first.</param>
    public static ControlTarget? FromOwn(IEnumerable<decimal> values)
    {
        ArgumentNullException.ThrowIfNull(values);
        var statistics = SampleStatistics.Of(values.Take(OwnRuns).Select(value => (double)value));
        if (statistics.Count < OwnRuns || statistics.StandardDeviation is not { } deviation)
            return null;
        var (mean, rounded) = (Math.Round((decimal)statistics.Mean, 6), Math.Round((decimal)deviation, 6));
        return IsPossible(mean, rounded) ? new ControlTarget(mean, rounded) : null;
    }

    private static ArgumentOutOfRangeException Impossible(decimal value) =>
        new(nameof(value), value, "A target's mean is within ± 10^12 and its standard deviation above 0.");

    /// <summary>How many standard deviations a value lies above the mean; below it, negative.</summary>
    public double Z(decimal value) => (double)((value - Mean) / StandardDeviation);

    /// <summary>
    /// Whether a value lies further above the mean than so many standard deviations: exactly so many is not further.
    /// </summary>
    public bool IsAbove(decimal value, int deviations) => value - Mean > deviations * StandardDeviation;

    /// <summary>The same below the mean.</summary>
    public bool IsBelow(decimal value, int deviations) => Mean - value > deviations * StandardDeviation;
}
