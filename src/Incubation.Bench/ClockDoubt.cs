using System.Collections.Immutable;

namespace Incubation.Bench;

/// <summary>
/// Reports made while a host doubts its own clock. The fact stands; what would be judged by the clock is not judged, and the
/// result is held until a person settles it.
/// </summary>
public static class ClockDoubt
{
    /// <summary>The event without its verdicts on time, and with the doubt noted; an event that judges no time as it is.</summary>
    public static BenchEvent Withhold(BenchEvent happened) => happened switch
    {
        BenchEvent.Mixed mixed => mixed with { Deviations = Doubted(mixed.Deviations) },
        BenchEvent.Loaded loaded => loaded with { Deviations = Doubted(loaded.Deviations) },
        BenchEvent.ReadStarted started => started with { Deviations = Doubted(started.Deviations) },
        BenchEvent.Cleared { ReadStartedByItself: not null } cleared => cleared with { Deviations = Doubted(cleared.Deviations) },
        _ => happened,
    };

    private static ImmutableArray<Deviation> Doubted(IEnumerable<Deviation> deviations) =>
    [
        .. deviations.Where(deviation => deviation is not (Deviation.EarlyRead or Deviation.LateRead or Deviation.LateLoad or Deviation.LoadedAfterLoadBy)),
        Deviation.ClockInDoubt,
    ];
}
