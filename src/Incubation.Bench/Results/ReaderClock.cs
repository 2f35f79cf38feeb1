using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// How far a reader's clock is off, learnt from results that were matched without it. It counts only when its last
/// differences agree: until then a reader's times say nothing.
/// </summary>
public static class ReaderClock
{
    /// <summary>So many of the last matched results must agree.</summary>
    public const int Needed = 3;

    /// <summary>By so much they may differ.</summary>
    public static readonly Duration Spread = Duration.FromSeconds(60);

    /// <summary>
    /// How far the clock is ahead of the bench's (behind, where it is negative); null where that is not known.
    /// </summary>
    /// <param name="differences">Of each result that was matched by specimen alone, oldest first: the reader's time of
    /// it, less the end of the read by the bench.</param>
    public static Duration? AheadBy(IReadOnlyList<Duration> differences)
    {
        ArgumentNullException.ThrowIfNull(differences);
        var last = differences.TakeLast(Needed).Order().ToList();
        return last.Count == Needed && last[^1] - last[0] <= Spread ? last[Needed / 2] : null;
    }

    /// <summary>A reader's time as the bench's; null where its clock is not to be believed.</summary>
    public static InstantRange? Right(InstantRange? shown, Duration? aheadBy) =>
        shown is { } at && aheadBy is { } ahead ? new InstantRange(at.Earliest - ahead, at.Latest - ahead) : null;
}
