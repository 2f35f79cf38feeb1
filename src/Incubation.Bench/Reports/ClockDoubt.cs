using System.Collections.Immutable;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Reports made while a host doubts its own clock. The fact is recorded; verdicts that depend on the clock are
/// withheld, and the result is held until a person settles it.
/// </summary>
public static class ClockDoubt
{
    /// <summary>Clocks that differ by no more than this count as equal.</summary>
    public static readonly Duration Tolerance = Duration.FromSeconds(5);

    /// <summary>
    /// A difference is recorded as no more than this: a clock that stands at 9999 is wrong by more than a log can say.
    /// </summary>
    private static readonly Duration MostRecorded = Duration.FromDays(36_525);

    /// <summary>How far something is ahead of the host's time, as it is recorded.</summary>
    internal static Duration Recorded(Duration ahead) =>
        Duration.Max(-MostRecorded, Duration.Min(ahead, MostRecorded));

    /// <summary>
    /// The event without its verdicts on time, and marked with the doubt; an event without such verdicts is returned
    /// unchanged.
    /// </summary>
    internal static BenchEvent Withhold(BenchEvent happened) => happened switch
    {
        BenchEvent.Mixed or BenchEvent.Loaded or BenchEvent.ReadStarted
            or BenchEvent.Cleared { ReadStartedByItself: not null } =>
            ((BenchEvent.JudgedStep)happened).Judged(Doubted(((BenchEvent.JudgedStep)happened).Deviations)),
        BenchEvent.ReportsRevised revised =>
            revised with
            {
                Verdicts =
                [.. revised.Verdicts.Select(verdict => verdict with { Deviations = Doubted(verdict.Deviations) })]
            },
        _ => happened,
    };

    private static ImmutableArray<Deviation> Doubted(IEnumerable<Deviation> deviations) =>
    [
        .. deviations.Where(deviation => !Judgement.RestsOnTime(deviation) && deviation != Deviation.ClockInDoubt),
        Deviation.ClockInDoubt,
    ];
}
