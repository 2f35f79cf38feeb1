using Incubation.Model.Reports;
using NodaTime;

namespace Incubation.Records.Reports;

/// <summary>A step on a day beside what is usual.</summary>
/// <param name="Step">The step.</param>
/// <param name="Day">Its spread on the day; null where there was none.</param>
/// <param name="Usual">Its spread on the other days; null where there was none.</param>
public sealed record StepAgainstUsual(ReportStep Step, Spread? Day, Spread? Usual)
{
    /// <summary>By how many minutes the day's median is longer; null where one is missing.</summary>
    public double? Longer => Day?.Median - Usual?.Median;
}

/// <summary>An hour of a day beside what is usual.</summary>
/// <param name="Hour">The hour of the clock, 0 to 23.</param>
/// <param name="Asked">How many were asked for in it on the day.</param>
/// <param name="UsuallyAsked">How many are on average on a day that had any.</param>
/// <param name="Day">Time to result of those of the day, or null.</param>
/// <param name="Usual">Time to result of those of the other days, or null.</param>
public sealed record HourAgainstUsual(int Hour, int Asked, double UsuallyAsked, Spread? Day, Spread? Usual);

/// <summary>Why people waited on a day: each step and each hour of it, against the other days of a period.</summary>
/// <param name="Day">Time to result on the day, or null.</param>
/// <param name="Usual">Time to result on the other days, or null.</param>
/// <param name="OtherDays">How many other days had any.</param>
/// <param name="Steps">Step by step.</param>
/// <param name="Hours">Hour by hour, those in which anything was asked for on the day or on others.</param>
public sealed record DayAgainstUsual(Spread? Day, Spread? Usual, int OtherDays, IReadOnlyList<StepAgainstUsual> Steps,
    IReadOnlyList<HourAgainstUsual> Hours)
{
    /// <summary>
    /// The step that explains most of a longer wait, of those clearly longer than usual: that have enough results, and
    /// whose intervals do not overlap. Null where none is.
    /// </summary>
    public StepAgainstUsual? ClearlyWorst => Steps.Where(step => step is { Day.IsFew: false, Usual.IsFew: false }
        && step.Day.MedianInterval.IsAbove(step.Usual.MedianInterval)).MaxBy(step => step.Longer);

    /// <summary>Compares a day.</summary>
    /// <param name="cartridges">The cartridges of the period, the day's too.</param>
    /// <param name="day">The day.</param>
    /// <param name="zone">The clinic's time zone.</param>
    public static DayAgainstUsual Of(IReadOnlyCollection<CartridgeTimes> cartridges, LocalDate day, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(cartridges);
        var here = cartridges.Select(one => (Cartridge: one, Local: one.Asked.InZone(zone).LocalDateTime))
            .ToLookup(one => one.Local.Date == day);
        var (own, other) = (here[true].ToList(), here[false].ToList());
        var otherDays = other.Select(one => one.Local.Date).Distinct().Count();
        var (ownHours, otherHours) = (own.ToLookup(one => one.Local.Hour, one => one.Cartridge),
            other.ToLookup(one => one.Local.Hour, one => one.Cartridge));
        return new DayAgainstUsual(
            TimeToResult.Of(own.Select(one => one.Cartridge)), TimeToResult.Of(other.Select(one => one.Cartridge)),
                otherDays,
            [.. TimeToResult.Steps.Select(step => new StepAgainstUsual(
                step, TimeToResult.Of(own.Select(one => one.Cartridge), step),
                    TimeToResult.Of(other.Select(one => one.Cartridge), step)))],
            [.. Enumerable.Range(0, 24).Where(hour => ownHours.Contains(hour) || otherHours.Contains(hour))
                .Select(hour => new HourAgainstUsual(
                hour, ownHours[hour].Count(), otherDays == 0 ? 0 : (double)otherHours[hour].Count() / otherDays,
                TimeToResult.Of(ownHours[hour]), TimeToResult.Of(otherHours[hour])))]);
    }
}
