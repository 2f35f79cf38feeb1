using Incubation.Bench;
using Incubation.Model.Reports;
using NodaTime;

namespace Incubation.Records.Reports;

/// <summary>By what stretches of time samples are taken.</summary>
public enum Stretch
{
    /// <summary>A day.</summary>
    Day,

    /// <summary>A week from Monday.</summary>
    Week,

    /// <summary>A month.</summary>
    Month,

    /// <summary>A year.</summary>
    Year,
}

/// <summary>Cartridges that were used and thrown away.</summary>
public static class Wasted
{
    /// <summary>So many samples are read at a glance.</summary>
    private const int MaxSamples = 62;

    /// <summary>Why used cartridges were thrown away, the most frequent reason first.</summary>
    public static IReadOnlyList<ParetoBar<DiscardReason>> Reasons(IEnumerable<CartridgeTimes> cartridges) =>
        Pareto.Of(cartridges.Where(one => one.IsWasted).Select(one => one.Reason ?? DiscardReason.Other));

    /// <summary>
    /// Which part of the used cartridges was thrown away, stretch by stretch; stretches without a used cartridge are
    /// left out.
    /// </summary>
    /// <param name="cartridges">The cartridges.</param>
    /// <param name="stretch">How long a sample is.</param>
    /// <param name="zone">The clinic's time zone.</param>
    public static (IReadOnlyList<LocalDate> Days, ProportionChart Chart) Over(IEnumerable<CartridgeTimes> cartridges,
        Stretch stretch, DateTimeZone zone)
    {
        var samples = cartridges.Where(one => one.IsUsed)
            .GroupBy(one => FirstOf(one.Asked.InZone(zone).Date, stretch))
            .OrderBy(group => group.Key)
            .Select(group => (group.Key, Sample: new ProportionSample(group.Count(one => one.IsWasted), group.Count())))
            .ToList();
        return ([.. samples.Select(one => one.Key)], ProportionChart.Of([.. samples.Select(one => one.Sample)]));
    }

    /// <summary>The shortest stretch by which so many days make no more samples than are read at a glance.</summary>
    public static Stretch StretchFor(int days) => days switch
    {
        <= MaxSamples => Stretch.Day,
        <= MaxSamples * 7 => Stretch.Week,
        <= MaxSamples * 31 => Stretch.Month,
        _ => Stretch.Year,
    };

    /// <summary>The first day of the stretch in which a day lies.</summary>
    public static LocalDate FirstOf(LocalDate day, Stretch stretch) => stretch switch
    {
        Stretch.Day => day,
        Stretch.Week => day.PlusDays(1 - (int)day.DayOfWeek),
        Stretch.Month => day.PlusDays(1 - day.Day),
        _ => new LocalDate(day.Year, 1, 1),
    };
}
