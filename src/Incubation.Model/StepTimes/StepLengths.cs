using NodaTime;

namespace Incubation.Model.StepTimes;

/// <summary>
/// How long one kind of step of one assay may take and at least takes on a bench: by the bench's own record, with the
/// assay's values while that is short.
/// </summary>
/// <remarks>
/// Allowed is the 95th percentile of the recorded lengths, shortest the 5th, each by <see cref="Percentile.Of"/>. The
/// assay's own value counts as <see cref="PriorWeight"/> observations: of n recorded lengths with percentile q and the
/// assay's value a, the learned value is (n q + w a) / (n + w). So it starts at the assay's value, and the bench's own
/// record outweighs it from the 21st step on. Allowed is rounded up and shortest down to whole seconds, as bench-day
/// files have them.
/// </remarks>
/// <param name="Allowed">A plan counts on the step to end within so long.</param>
/// <param name="Shortest">A plan counts on the step to take at least so long; never more than
/// <paramref name="Allowed"/>.</param>
public sealed record StepLengths(Duration Allowed, Duration Shortest)
{
    /// <summary>
    /// The assay's value counts as so many observations: with fewer than 20 recorded, a 95th percentile is hardly more
    /// than the longest of them.
    /// </summary>
    public const int PriorWeight = 20;

    private const double AllowedPart = 0.95;
    private const double ShortestPart = 0.05;

    /// <summary>A gap longer than so many times the allowed length says that the hands did something else.</summary>
    private const int LongestGap = 3;

    /// <summary>
    /// The length of a step from its reports: from the later of its offer and the same hands' previous report to its
    /// own report. Null where that is no length: longer than three times the allowed one, or not after its beginning.
    /// </summary>
    /// <param name="offered">When the step was offered.</param>
    /// <param name="previous">The same hands' previous report, or null.</param>
    /// <param name="reported">When the step was reported as done.</param>
    /// <param name="allowed">The length that was allowed then.</param>
    public static Duration? Between(Instant offered, Instant? previous, Instant reported, Duration allowed)
    {
        var length = reported - (previous is { } before ? Instant.Max(offered, before) : offered);
        return length > Duration.Zero && length <= allowed * LongestGap ? length : null;
    }

    /// <summary>
    /// As much of a recorded length as the hands can have been at the step: what is longer than three times the allowed
    /// one was something else.
    /// </summary>
    /// <param name="length">The recorded length.</param>
    /// <param name="allowed">The length that was allowed then.</param>
    public static Duration AtTheStep(Duration length, Duration allowed) => Duration.Min(length, allowed * LongestGap);

    /// <summary>What a bench has learned.</summary>
    /// <param name="recorded">Lengths from the bench's record, in any order.</param>
    /// <param name="assay">The assay's own values.</param>
    /// <exception cref="ArgumentException">The assay's shortest length is longer than its allowed one.</exception>
    public static StepLengths Learned(IEnumerable<Duration> recorded, StepLengths assay)
    {
        ArgumentNullException.ThrowIfNull(recorded);
        ArgumentNullException.ThrowIfNull(assay);
        if (assay.Shortest > assay.Allowed)
            throw new ArgumentException("The shortest length is longer than the allowed one.", nameof(assay));
        var sorted = recorded.Select(length => length.TotalSeconds).Order().ToList();
        return new StepLengths(
            Duration.FromSeconds(Math.Ceiling(Tidy(Mixed(sorted, AllowedPart, assay.Allowed)))),
            Duration.FromSeconds(Math.Floor(Tidy(Mixed(sorted, ShortestPart, assay.Shortest)))));
    }

    private static double Mixed(List<double> sorted, double part, Duration assay)
    {
        if (sorted.Count == 0)
            return assay.TotalSeconds;
        return ((sorted.Count * Percentile.Of(sorted, part)) + (PriorWeight * assay.TotalSeconds)) / (sorted.Count
            + PriorWeight);
    }

    /// <summary>To the microsecond, so that an error of the arithmetic adds no second.</summary>
    private static double Tidy(double seconds) => Math.Round(seconds, 6);
}
