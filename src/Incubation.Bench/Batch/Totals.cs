using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>The batch in numbers.</summary>
/// <param name="Total">Requests, those withdrawn left out.</param>
/// <param name="Done">Cartridges read and taken out.</param>
/// <param name="Reacting">Cartridges reacting whose read can still start in time.</param>
/// <param name="Waiting">Requests not mixed.</param>
/// <param name="Discarded">Cartridges thrown away.</param>
/// <param name="ReadInWindow">Reads that started inside their window.</param>
/// <param name="ReadOutside">Reads that did not, or may not have.</param>
/// <param name="ResultsMissing">Cartridges cleared whose result has not been entered.</param>
/// <param name="UrgentWaiting">Urgent requests not yet cleared.</param>
/// <param name="UrgentSince">Since when the longest waiting of them could be worked on; null where none waits.</param>
/// <param name="LateNow">Requests whose stated due time has passed and that are not cleared.</param>
/// <param name="PerHour">Cartridges cleared per hour since the batch started; null before the first.</param>
/// <param name="Finish">Planned end of the last step, never in the past; the real end of the last clear when all are
/// over; null where nothing is planned.</param>
public sealed record BatchTotals(
    int Total,
    int Done,
    int Reacting,
    int Waiting,
    int Discarded,
    int ReadInWindow,
    int ReadOutside,
    int ResultsMissing,
    int UrgentWaiting,
    Instant? UrgentSince,
    int LateNow,
    double? PerHour,
    Instant? Finish)
{
    /// <summary>Requests that are over without a value, and of which nobody has said what becomes.</summary>
    public int Open { get; init; }

    /// <summary>Requests without a value that go on in the next batch.</summary>
    public int CarriedOver { get; init; }

    /// <summary>Requests without a value that were given up.</summary>
    public int GivenUp { get; init; }
}

/// <summary>Counts a batch.</summary>
internal static class Totals
{
    public static BatchTotals Of(BenchState state, Instant now)
    {
        var cartridges = state.Cartridges.Where(cartridge => cartridge.Stage is not CartridgeStage.Withdrawn).ToList();
        var done = cartridges.Count(cartridge => cartridge.Stage is CartridgeStage.Cleared);
        var withoutValue = Fates.List(state).ToList();
        return new BatchTotals(
            cartridges.Count,
            done,
            cartridges.Count(cartridge => cartridge.Phase is CartridgePhase.Reacting
                && !(state.WindowOf(cartridge) is { } window && window.Closes < now)),
            cartridges.Count(cartridge => cartridge.Stage is CartridgeStage.Waiting),
            cartridges.Count(cartridge => cartridge.Stage is CartridgeStage.Discarded),
            cartridges.Count(cartridge => cartridge.ReadInWindow == true),
            cartridges.Count(cartridge => cartridge.ReadInWindow == false),
            cartridges.Count(cartridge => cartridge.ResultMissing),
            cartridges.Count(cartridge => !cartridge.IsOver && cartridge.Wanted.Request.Priority == Priority.Urgent),
            UrgentSince(state, now),
            cartridges.Count(cartridge => !cartridge.IsOver && cartridge.Wanted.Request.IsLate(now)),
            PerHour(state, cartridges, done, now),
            Finish(state, cartridges, now))
        {
            Open = withoutValue.Count(one => one is { Fate: null, Cartridge.IsOver: true }),
            CarriedOver = withoutValue.Count(one => one.Fate is RequestFate.CarriedOver),
            GivenUp = withoutValue.Count(one => one.Fate is RequestFate.GivenUp),
        };
    }

    /// <summary>Since when the longest waiting urgent request could be worked on; null where none waits.</summary>
    private static Instant? UrgentSince(BenchState state, Instant now) => state.Cartridges
        .Where(cartridge => !cartridge.IsOver && cartridge.Wanted.Request.Priority == Priority.Urgent
            && cartridge.Wanted.Request.Ready <= now)
        .Select(cartridge => (Instant?)cartridge.Wanted.Request.Ready)
        .Min();

    /// <summary>
    /// Cartridges cleared per hour: until all are over, of the time run so far; afterwards, of the time to the last
    /// clear.
    /// </summary>
    private static double? PerHour(BenchState state, List<Cartridge> cartridges, int done, Instant now)
    {
        if (state.StartedAt is not { } start || done == 0)
            return null;
        var until = cartridges.All(cartridge => cartridge.IsOver) ? LastClear(cartridges) ?? now : now;
        return until > start ? done / (until - start).TotalHours : null;
    }

    /// <summary>
    /// When the last step ends by the plan, put off by as much as the present steps of hands are overdue: nothing that
    /// is still to be done ends in the past.
    /// </summary>
    private static Instant? Finish(BenchState state, List<Cartridge> cartridges, Instant now)
    {
        if (cartridges.All(cartridge => cartridge.IsOver) || state.Adopted is not { } adopted)
            return LastClear(cartridges);
        var ends = adopted.Remaining.Select(row => (Instant?)row.Step.End).Max();
        if (state.Phase != BatchPhase.Running || ends is not { } end)
            return ends;
        var overdue = state.Hands.Select(adopted.NextOf).OfType<RemainingStep>()
            .Select(row => now - row.Step.End).DefaultIfEmpty(Duration.Zero).Max();
        return Instant.Max(end + Duration.Max(overdue, Duration.Zero), now);
    }

    private static Instant? LastClear(List<Cartridge> cartridges) =>
        cartridges.Select(cartridge => (cartridge.Stage as CartridgeStage.Cleared)?.End).Max();
}
