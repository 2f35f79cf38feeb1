using System.Collections.Immutable;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Reports made while a host doubts its own clock. The fact stands; what would be judged by the clock is not judged, and the
/// result is held until a person settles it.
/// </summary>
public static class ClockDoubt
{
    /// <summary>A difference up to this is none.</summary>
    public static readonly Duration Tolerance = Duration.FromSeconds(5);

    /// <summary>The event without its verdicts on time, and with the doubt noted; an event that judges no time as it is.</summary>
    public static BenchEvent Withhold(BenchEvent happened) => happened switch
    {
        BenchEvent.Mixed mixed => mixed with { Deviations = Doubted(mixed.Deviations) },
        BenchEvent.Loaded loaded => loaded with { Deviations = Doubted(loaded.Deviations) },
        BenchEvent.ReadStarted started => started with { Deviations = Doubted(started.Deviations) },
        BenchEvent.Cleared { ReadStartedByItself: not null } cleared => cleared with { Deviations = Doubted(cleared.Deviations) },
        BenchEvent.AccountsRevised revised => revised with { Verdicts = [.. revised.Verdicts.Select(verdict => verdict with { Deviations = Doubted(verdict.Deviations) })] },
        _ => happened,
    };

    private static ImmutableArray<Deviation> Doubted(IEnumerable<Deviation> deviations) =>
    [
        .. deviations.Where(deviation => !Judging.RestsOnTime(deviation) && deviation != Deviation.ClockInDoubt),
        Deviation.ClockInDoubt,
    ];
}
