using System.Globalization;
using Incubation.Chart;
using Incubation.Records.Reports;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Reports;

/// <summary>Why people waited on a day.</summary>
internal static class DaySections
{
    /// <summary>A day with fewer results says nothing.</summary>
    private const int LeastResults = 5;

    /// <summary>
    /// The day with the longest waits in the middle; null where no day has enough results to be held against another.
    /// </summary>
    public static LocalDate? Longest(IReadOnlyList<CartridgeTimes> patients, DateTimeZone zone)
    {
        var days = patients.GroupBy(one => one.Asked.InZone(zone).Date)
            .Select(group => (Day: group.Key, Spread: TimeToResult.Of(group)))
            .Where(day => day.Spread?.Count >= LeastResults).ToList();
        return days.Count < 2 ? null : days.MaxBy(day => day.Spread!.Median).Day;
    }

    /// <summary>A day by its name: "Tuesday 2026-03-10".</summary>
    public static string NameOf(LocalDate day) => day.ToString("dddd uuuu-MM-dd", CultureInfo.CurrentCulture);

    /// <summary>The two reports of a day: step by step, and hour by hour.</summary>
    /// <param name="compared">The day beside what is usual.</param>
    /// <param name="day">Which day.</param>
    /// <param name="text">What usual is.</param>
    public static IEnumerable<ReportSection> Of(DayAgainstUsual compared, LocalDate day, string text)
    {
        yield return Steps(compared, day, text);
        yield return Hours(compared, day);
    }

    private static ReportSection Steps(DayAgainstUsual compared, LocalDate day, string text)
    {
        var finding = Finding(compared, NameOf(day));
        return new ReportSection(
            "day-by-step", Say.Of(ReportsWords.DayTitle, NameOf(day)), finding, text,
            compared.Day is null
                ? null : BarChart.Render("day-by-step", finding, [.. compared.Steps.Select(step => new Bar(
                TimeSections.NameOf(step.Step), step.Day?.Median, step.Day is { } own
                    ? TimeSections.Text(own.Median) : ReportTable.Show(null),
                step.Usual?.Median, step.Usual is { } usual
                    ? Say.Of(ReportsWords.UsuallyOf, TimeSections.Text(usual.Median)) : ""))], BarBeside.Outline,
                    ReportsWords.AxisMinutes),
            new ReportTable(
                [
                    new ReportColumn(ReportsWords.ColStep, "step", false),
                        new ReportColumn(ReportsWords.DayCol, "dayMedianMinutes"),
                    new ReportColumn(ReportsWords.UsualCol, "usualMedianMinutes"),
                        new ReportColumn(ReportsWords.LongerCol, "longerMinutes"),
                        new ReportColumn(ReportsWords.ColCount, "dayCount"),
                ],
                [
                    .. compared.Steps.Select(step => Row(TimeSections.NameOf(step.Step), step.Day, step.Usual)),
                    Row(ReportsWords.StepAll, compared.Day, compared.Usual),
                ]));
    }

    private static string Finding(DayAgainstUsual compared, string day)
    {
        if (compared.Day is not { } own)
            return ReportsWords.StepsNone;
        if (compared.Usual is not { } usual)
            return Say.Of(ReportsWords.DayFindingLess, day, TimeSections.Text(own.Median), ReportTable.Show(null));
        var longer = own.Median - usual.Median;
        if (longer > 0 && (own.IsFew || usual.IsFew || !own.MedianInterval.IsAbove(usual.MedianInterval)))
            return Say.Of(ReportsWords.DayFindingUnclear, day, TimeSections.Text(own.Median), own.Count,
                TimeSections.Text(usual.Median));
        return longer <= 0
            ? Say.Of(ReportsWords.DayFindingLess, day, TimeSections.Text(own.Median), TimeSections.Text(usual.Median))
            : compared.ClearlyWorst is { } worst
                ? Say.Of(ReportsWords.DayFinding, day, TimeSections.Text(own.Median), TimeSections.Text(longer),
                    TimeSections.Text(usual.Median), TimeSections.NameOf(worst.Step),
                    TimeSections.Text(worst.Longer!.Value))
                : Say.Of(ReportsWords.DayFindingSpread, day, TimeSections.Text(own.Median), TimeSections.Text(longer),
                    TimeSections.Text(usual.Median));
    }

    private static ReportSection Hours(DayAgainstUsual compared, LocalDate day)
    {
        var title = Say.Of(ReportsWords.DayHoursTitle, NameOf(day));
        var worst = compared.Hours.Where(hour => hour is { Day.IsFew: false, Usual.IsFew: false }
                && hour.Day.MedianInterval.IsAbove(hour.Usual.MedianInterval))
            .MaxBy(hour => hour.Day!.Median - hour.Usual!.Median);
        var fullest = compared.Hours.MaxBy(hour => hour.Asked);
        var finding = worst is not null
            ? Say.Of(ReportsWords.DayHoursFinding, TimeSections.Two(worst.Hour), TimeSections.Two(worst.Hour + 1),
                TimeSections.Text(worst.Day!.Median), TimeSections.Text(worst.Usual!.Median), worst.Asked,
                One(worst.UsuallyAsked))
            : fullest is null ? ReportsWords.StepsNone
            : Say.Of(ReportsWords.DayHoursFindingPlain, compared.Hours.Sum(hour => hour.Asked),
                TimeSections.Two(fullest.Hour), TimeSections.Two(fullest.Hour + 1), fullest.Asked,
                One(fullest.UsuallyAsked));
        return new ReportSection(
            "day-by-hour", title, finding, ReportsWords.DayHoursText,
            compared.Hours.Count == 0
                ? null : ColumnChart.Render("day-by-hour", finding, [.. compared.Hours.Select(hour => new Column(
                TimeSections.Two(hour.Hour), hour.Day?.Median ?? 0,
                Say.Of(ReportsWords.DayHourSays, TimeSections.Two(hour.Hour), Median(hour.Day), Median(hour.Usual),
                    hour.Asked, One(hour.UsuallyAsked)), hour.Usual?.Median))],
                ReportsWords.AxisHour, ReportsWords.UpMinutes),
            new ReportTable(
                [
                    new ReportColumn(ReportsWords.ColHour, "hour", false),
                        new ReportColumn(ReportsWords.ColAskedDay, "asked"),
                        new ReportColumn(ReportsWords.ColUsuallyAsked, "usuallyAsked"),
                    new ReportColumn(ReportsWords.DayCol, "dayMedianMinutes"),
                        new ReportColumn(ReportsWords.UsualCol, "usualMedianMinutes"),
                        new ReportColumn(ReportsWords.LongerCol, "longerMinutes"),
                ],
                [.. compared.Hours.Select(hour => new object?[]
                {
                    TimeSections.Two(hour.Hour), hour.Asked, hour.UsuallyAsked, Length(hour.Day?.Median),
                        Length(hour.Usual?.Median), Length(hour.Day?.Median - hour.Usual?.Median),
                })]));
    }

    private static object?[] Row(string name, Model.Reports.Spread? day, Model.Reports.Spread? usual) =>
        [name, Length(day?.Median), Length(usual?.Median), Length(day?.Median - usual?.Median),
            new ResultCount(day?.Count ?? 0)];

    private static string Median(Model.Reports.Spread? spread) => spread is null
        ? ReportsWords.NoResultHour : TimeSections.Text(spread.Median);

    private static object? Length(double? minutes) => minutes is { } known ? new Minutes(known) : null;

    private static string One(double number) => number.ToString("0.#", CultureInfo.InvariantCulture);
}
