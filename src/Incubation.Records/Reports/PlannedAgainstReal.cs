using Incubation.Model.Reports;
using NodaTime;

namespace Incubation.Records.Reports;

/// <summary>By how much what was done ended later than planned, in minutes; negative where it ended earlier.</summary>
/// <param name="Batches">Of each batch: its end, against the first plan after its start.</param>
/// <param name="Mix">Mixes, against the last plan that had them.</param>
/// <param name="Load">Loads.</param>
/// <param name="Move">Moves: starts of reads.</param>
/// <param name="Clear">Clears.</param>
public sealed record PlannedAgainstReal(IReadOnlyList<double> Batches, Spread? Mix, Spread? Load, Spread? Move,
    Spread? Clear)
{
    /// <summary>Compares.</summary>
    public static PlannedAgainstReal Of(IReadOnlyCollection<CartridgeTimes> cartridges,
        IEnumerable<BatchUse> batches) => new(
        [.. batches.Where(one => one.PlannedEnd is not null)
            .Select(one => (one.To - one.PlannedEnd!.Value).TotalMinutes).Order()],
        Later(cartridges, one => one.Mix), Later(cartridges, one => one.Load), Later(cartridges, one => one.Move),
            Later(cartridges, one => one.Clear));

    private static Spread? Later(IEnumerable<CartridgeTimes> cartridges, Func<CartridgeTimes, StepSpan> step) =>
        Spread.Of(cartridges.Select(step).Select(span => span.End - span.PlannedEnd).OfType<Duration>()
            .Select(length => length.TotalMinutes));
}
