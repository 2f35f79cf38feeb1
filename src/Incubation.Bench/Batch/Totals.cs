using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Counts a batch.</summary>
internal static class Totals
{
    public static BatchTotals Of(BenchState state, Instant now)
    {
        var cartridges = state.Cartridges.Where(c => c.Stage is not CartridgeStage.Withdrawn).ToList();
        var done = cartridges.Count(c => c.Stage is CartridgeStage.Cleared);
        return new BatchTotals(
            cartridges.Count,
            done,
            cartridges.Count(c => c.Phase is CartridgePhase.Reacting),
            cartridges.Count(c => c.Stage is CartridgeStage.Waiting),
            cartridges.Count(c => c.Stage is CartridgeStage.Discarded),
            cartridges.Count(c => c.ReadInWindow == true),
            cartridges.Count(c => c.ReadInWindow == false),
            cartridges.Count(c => c.ResultMissing),
            cartridges.Count(c => !c.IsOver && c.Wanted.Request.Priority == Priority.Urgent),
            UrgentSince(state, now),
            LateNow(state, cartridges, now),
            PerHour(state, cartridges, done, now),
            Finish(state, cartridges));
    }

    /// <summary>Since when the longest waiting urgent request could be worked on; null where none waits.</summary>
    private static Instant? UrgentSince(BenchState state, Instant now) => state.Cartridges
        .Where(c => !c.IsOver && c.Wanted.Request.Priority == Priority.Urgent && c.Wanted.Request.Ready <= now)
        .Select(c => (Instant?)c.Wanted.Request.Ready)
        .Min();

    private static int LateNow(BenchState state, List<Cartridge> cartridges, Instant now) =>
        state.StartedAt is { } start
            ? cartridges.Count(c => !c.IsOver && c.Wanted.Request.EffectiveDue(start) < now)
            : 0;

    /// <summary>
    /// Cartridges cleared per hour: until all are over, of the time run so far; afterwards, of the time to the last
    /// clear.
    /// </summary>
    private static double? PerHour(BenchState state, List<Cartridge> cartridges, int done, Instant now)
    {
        if (state.StartedAt is not { } start || done == 0)
            return null;
        var until = cartridges.All(c => c.IsOver) ? LastClear(cartridges) ?? now : now;
        return until > start ? done / (until - start).TotalHours : null;
    }

    private static Instant? Finish(BenchState state, List<Cartridge> cartridges)
    {
        var planned = state.Adopted?.Remaining
            .Where(r => r.Step.Action is StepAction.Clear)
            .Select(r => (Instant?)r.Step.End)
            .Max();
        return planned ?? LastClear(cartridges);
    }

    private static Instant? LastClear(List<Cartridge> cartridges) =>
        cartridges.Select(c => (c.Stage as CartridgeStage.Cleared)?.End).Max();
}
