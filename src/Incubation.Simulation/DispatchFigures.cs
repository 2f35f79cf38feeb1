using Incubation.Model;
using NodaTime;

namespace Incubation.Simulation;

/// <summary>What many played days come to under one dispatch.</summary>
/// <param name="Days">Days played.</param>
/// <param name="Cartridges">Cartridges wanted.</param>
/// <param name="ReadInWindow">Cartridges with a result.</param>
/// <param name="NotRun">Cartridges never mixed.</param>
/// <param name="PerHour">Results an hour: all results over all time from each day's start to its last step.</param>
/// <param name="SecondsToResult">Seconds from ready to result of every cartridge with a result, the smallest
/// first.</param>
public sealed record DispatchFigures(int Days, long Cartridges, long ReadInWindow, long NotRun, double PerHour,
    IReadOnlyList<double> SecondsToResult)
{
    /// <summary>Cartridges that were mixed and gave no result.</summary>
    public long Missed => Cartridges - ReadInWindow - NotRun;

    /// <summary>Windows missed for every 1,000 cartridges.</summary>
    public double MissedPerThousand => 1000.0 * Missed / Cartridges;

    /// <summary>
    /// Its 95 % confidence interval by <see cref="Statistics.Wilson95"/>, as if cartridges were independent.
    /// </summary>
    public (double Low, double High) MissedPerThousandInterval
    {
        get
        {
            var (low, high) = Statistics.Wilson95(Missed, Cartridges);
            return (1000 * low, 1000 * high);
        }
    }

    /// <summary>
    /// A percentile of the time to result by <see cref="Percentile.Of"/>; null where there was no result.
    /// </summary>
    public Duration? ToResult(double part) =>
        SecondsToResult.Count == 0 ? null : Duration.FromSeconds(Percentile.Of(SecondsToResult, part));

    /// <summary>Adds days up; their order plays no part.</summary>
    public static DispatchFigures Of(IReadOnlyCollection<DayOutcome> days)
    {
        ArgumentNullException.ThrowIfNull(days);
        var cartridges = days.Sum(outcome => (long)outcome.Cartridges.Length);
        var times = days.SelectMany(outcome => outcome.Cartridges).Where(outcome => outcome.ToResult is not null)
            .Select(outcome => outcome.ToResult!.Value.TotalSeconds).Order().ToList();
        var notRun =
            days.Sum(outcome => (long)outcome.Cartridges.Count(cartridge => cartridge.End == CartridgeEnd.NotRun));
        // Summed as whole ticks: a sum of fractions would depend on the order.
        var hours = Duration.FromTicks(days.Sum(outcome => outcome.Finish.BclCompatibleTicks)).TotalHours;
        return new DispatchFigures(days.Count, cartridges, times.Count, notRun, hours > 0
            ? times.Count / hours : 0, times);
    }
}
