using Incubation.Model;
using NodaTime;

namespace Incubation.Records.Reports;

/// <summary>
/// How much of its means a bench used while it worked: from each batch's start to the end of its last step.
/// </summary>
/// <param name="Bench">The bench.</param>
/// <param name="Batches">Its batches.</param>
/// <param name="Worked">How long it worked.</param>
/// <param name="Hands">Part of the time for which hands were busy.</param>
/// <param name="Slots">Part of the time for which slots were taken; null where it has none.</param>
/// <param name="Readers">Part of the time for which readers were taken.</param>
/// <param name="PerHour">Cartridges an hour.</param>
public sealed record BenchUse(BenchId Bench, int Batches, Duration Worked, double Hands, double? Slots, double Readers,
    double PerHour)
{
    /// <summary>The use of each bench, by name.</summary>
    public static IReadOnlyList<BenchUse> Of(IEnumerable<BatchUse> batches)
    {
        ArgumentNullException.ThrowIfNull(batches);
        return [.. batches.Where(one => one.Length > Duration.Zero).GroupBy(one => one.Bench)
            .OrderBy(group => group.Key.Value, StringComparer.Ordinal).Select(group => Of(group.Key, [.. group]))];
    }

    private static BenchUse Of(BenchId bench, List<BatchUse> batches)
    {
        var worked = Sum(batches, one => one.Length);
        double? Part(Func<BatchUse, Duration> busy, Func<BatchUse, int> number)
        {
            var there = Sum(batches, one => one.Length * number(one));
            return there > Duration.Zero ? Sum(batches, busy) / there : null;
        }

        return new BenchUse(
            bench, batches.Count, worked, Part(one => one.HandsBusy, one => one.Hands)
                ?? 0, Part(one => one.SlotsBusy, one => one.Slots),
            Part(one => one.ReadersBusy, one => one.Readers)
                ?? 0, batches.Sum(one => one.Cartridges) / worked.TotalHours);
    }

    private static Duration Sum(IEnumerable<BatchUse> batches, Func<BatchUse, Duration> length) =>
        batches.Aggregate(Duration.Zero, (sum, one) => sum + length(one));
}
