using Incubation.Model;
using NodaTime;

namespace Incubation.Oracle;

/// <summary>
/// Whole units since the day's start. The unit is the greatest that divides every datum: all rules are differences of
/// instants, so some best plan lies on that grid, and a coarse grid is what the solver likes.
/// </summary>
internal sealed class TimeGrid
{
    private readonly Instant start;
    private readonly long unit; // milliseconds

    public TimeGrid(BenchDay day)
    {
        start = day.Start;
        unit = 0;
        foreach (var length in LengthsOf(day).Concat(InstantsOf(day).Select(instant => instant - day.Start)))
            unit = Gcd(unit, Math.Abs(Milliseconds(length)));
        unit = Math.Max(unit, 1);
    }

    /// <summary>Seconds in one unit.</summary>
    public double SecondsPerUnit => unit / 1000.0;

    public long Of(Duration length) => Milliseconds(length) / unit;

    public long Of(Instant instant) => Of(instant - start);

    public Instant Instant(long units) => start + Length(units);

    public Duration Length(long units) => Duration.FromMilliseconds(units * unit);

    private static long Milliseconds(Duration length)
    {
        var ticks = length.BclCompatibleTicks;
        return ticks % NodaConstants.TicksPerMillisecond == 0
            ? ticks / NodaConstants.TicksPerMillisecond
            : throw new NotSupportedException($"A time of the day is finer than a millisecond: {length}.");
    }

    private static long Gcd(long one, long other) => other == 0 ? one : Gcd(other, one % other);

    private static IEnumerable<Duration> LengthsOf(BenchDay day) =>
    [
        day.Bench.CardChange, day.Bench.ReadGuard,
        .. day.Assays.SelectMany(a =>
            (Duration[])[a.Mix, a.MixToLoad, a.Load, a.Incubation, a.ReadWindow, a.Move, a.Read, a.Clear,
                a.MixShortest, a.LoadShortest]),
    ];

    private static IEnumerable<Instant> InstantsOf(BenchDay day) =>
    [
        day.Now,
        .. day.Requests.SelectMany(r => (Instant?[])[r.Ready, r.Due, r.LoadBy]).OfType<Instant>(),
        .. day.Calendar.SelectMany(c => (Instant[])[c.From, c.To]),
        .. (day.MidRun?.Steps ?? []).Select(step => step.Start),
        .. (day.MidRun?.Cartridges ?? []).SelectMany(cartridge => cartridge.Phase switch
        {
            CartridgePhase.Mixed mixed => (Instant[])[mixed.MixEnd.Earliest, mixed.MixEnd.Latest],
            CartridgePhase.Reacting reacting => [reacting.LoadEnd.Earliest, reacting.LoadEnd.Latest],
            CartridgePhase.Reading reading => [reading.Start],
            _ => [],
        }),
    ];
}
