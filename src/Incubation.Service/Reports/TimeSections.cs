using System.Globalization;
using Incubation.Chart;
using Incubation.Model;
using Incubation.Model.Reports;
using Incubation.Records.Reports;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Reports;

/// <summary>Reports of how long results took.</summary>
internal static class TimeSections
{
    private const int MaxBars = 12;

    private static readonly ReportColumn Count = new(ReportsWords.ColCount, "count");
    private static readonly ReportColumn Median = new(ReportsWords.Median, "medianMinutes");
    private static readonly ReportColumn Ninth = new(ReportsWords.Ninth, "ninthMinutes");

    /// <summary>The words of a step.</summary>
    public static string NameOf(ReportStep step) => step switch
    {
        ReportStep.Waiting => ReportsWords.StepWaiting,
        ReportStep.MixToLoad => ReportsWords.StepMixToLoad,
        ReportStep.Incubation => ReportsWords.StepIncubation,
        ReportStep.WaitingForReader => ReportsWords.StepWaitingForReader,
        ReportStep.Reading => ReportsWords.StepReading,
        _ => ReportsWords.StepResultEntry,
    };

    /// <summary>Step by step.</summary>
    public static ReportSection Steps(IReadOnlyList<CartridgeTimes> patients)
    {
        List<(string Name, Spread? Spread)> steps =
            [.. TimeToResult.Steps.Select(step => (NameOf(step), TimeToResult.Of(patients, step)))];
        var all = TimeToResult.Of(patients);
        var longest = steps.MaxBy(step => step.Spread?.Median ?? -1);
        var finding = all is null || longest.Spread is null
            ? ReportsWords.StepsNone
            : Say.Of(ReportsWords.StepsFinding, Text(all.Median), Text(all.Ninth), longest.Name,
                Text(longest.Spread.Median));
        return new ReportSection(
            "time-by-step", ReportsWords.StepsTitle, finding, ReportsWords.StepsText,
            all is null
                ? null
                : BarChart.Render("time-by-step", finding,
                    [.. steps.Append((ReportsWords.StepAll, all)).Select(step => BarOf(step.Item1, step.Item2))],
                    BarBeside.Reach, ReportsWords.AxisMinutes),
            new ReportTable(
                [new ReportColumn(ReportsWords.ColStep, "step", false), Count, Median, Ninth],
                [.. steps.Append((ReportsWords.StepAll, all)).Select(step => RowOf(step.Item1, step.Item2))]));
    }

    /// <summary>By the hour in which they were asked for.</summary>
    public static ReportSection Hours(IReadOnlyList<CartridgeTimes> patients, DateTimeZone zone)
    {
        var all = TimeToResult.Of(patients);
        var hours = patients.GroupBy(one => one.Asked.InZone(zone).Hour).OrderBy(group => group.Key)
            .Select(group => (Hour: group.Key, Spread: TimeToResult.Of(group))).ToList();
        // An hour with a handful of results says nothing of the hour.
        var worst = hours.Where(hour => hour.Spread?.Count >= Math.Min(5, all?.Count ?? 0))
            .OrderByDescending(hour => hour.Spread!.Median).FirstOrDefault();
        var finding = all is null || worst.Spread is null
            ? ReportsWords.StepsNone
            : Say.Of(ReportsWords.HoursFinding, Two(worst.Hour), Two(worst.Hour + 1), Text(worst.Spread.Median),
                Text(all.Median));
        var drawn = hours.Count == 0 ? [] : Enumerable.Range(hours[0].Hour, hours[^1].Hour - hours[0].Hour + 1)
            .Select(hour => (Hour: hour, hours.Find(one => one.Hour == hour).Spread)).ToList();
        return new ReportSection(
            "time-by-hour", ReportsWords.HoursTitle, finding, ReportsWords.HoursText,
            all is null ? null : ColumnChart.Render("time-by-hour", finding, [.. drawn.Select(hour => new Column(
                Two(hour.Hour), hour.Spread?.Median ?? 0,
                hour.Spread is { } spread
                    ? Say.Of(ReportsWords.HourSays, Two(hour.Hour), Text(spread.Median), Text(spread.Ninth),
                        spread.Count) : "", hour.Spread?.Ninth))],
                ReportsWords.AxisHour, ReportsWords.UpMinutes),
            new ReportTable(
                [new ReportColumn(ReportsWords.ColHour, "hour", false), Count, Median, Ninth],
                [.. hours.Select(hour => RowOf(Two(hour.Hour), hour.Spread))]));
    }

    /// <summary>By assay, lot or bench.</summary>
    /// <param name="name">Names the report.</param>
    /// <param name="title">Its heading.</param>
    /// <param name="column">The column that names a row.</param>
    /// <param name="patients">The cartridges.</param>
    /// <param name="by">By what they are told apart.</param>
    public static ReportSection By(string name, string title, ReportColumn column,
        IReadOnlyList<CartridgeTimes> patients, Func<CartridgeTimes, string> by)
    {
        var groups = patients.GroupBy(by).Select(group => (Name: group.Key, Spread: TimeToResult.Of(group)))
            .OrderByDescending(group => group.Spread?.Median ?? -1).ThenBy(group => group.Name, StringComparer.Ordinal)
            .ToList();
        var found = groups.Where(group => group.Spread is not null).ToList();
        var finding = found switch
        {
            [] => ReportsWords.StepsNone,
            [var one] => Say.Of(ReportsWords.GroupOne, one.Spread!.Count, one.Name, Text(one.Spread.Median)),
            [var first, ..] =>
                Say.Of(ReportsWords.GroupFinding, first.Name, Text(first.Spread!.Median), Text(first.Spread.Ninth)),
        };
        var drawn = found.OrderByDescending(group => group.Spread!.Count).Take(MaxBars)
            .OrderByDescending(group => group.Spread!.Median).ToList();
        return new ReportSection(
            name, title, finding, found.Count > MaxBars
                ? ReportsWords.GroupText + " " + Say.Of(ReportsWords.GroupMost, MaxBars) : ReportsWords.GroupText,
            found.Count == 0
                ? null : BarChart.Render(name, finding, [.. drawn.Select(group => BarOf(group.Name, group.Spread))],
                    BarBeside.Reach, ReportsWords.AxisMinutes),
            new ReportTable([column, Count, Median, Ninth],
                [.. groups.Select(group => RowOf(group.Name, group.Spread))]));
    }

    /// <summary>Urgent ones beside routine ones.</summary>
    public static ReportSection Priorities(IReadOnlyList<CartridgeTimes> patients)
    {
        var urgent = TimeToResult.Of(patients.Where(one => one.Priority == Priority.Urgent));
        var routine = TimeToResult.Of(patients.Where(one => one.Priority == Priority.Routine));
        var finding = (urgent, routine) switch
        {
            ({ } one, { } other) => Say.Of(ReportsWords.PriorityFinding, Text(one.Median), Text(other.Median)),
            (null, { } other) => Say.Of(ReportsWords.PriorityNone, Text(other.Median)),
            ({ } one, null) => Say.Of(ReportsWords.GroupOne, one.Count, ReportsWords.Urgent, Text(one.Median)),
            _ => ReportsWords.StepsNone,
        };
        (string, Spread?)[] rows = [(ReportsWords.Urgent, urgent), (ReportsWords.Routine, routine)];
        return new ReportSection(
            "time-by-priority", ReportsWords.PriorityTitle, finding, ReportsWords.GroupText,
            urgent is null && routine is null
                ? null
                : BarChart.Render("time-by-priority", finding, [.. rows.Select(row => BarOf(row.Item1, row.Item2))],
                    BarBeside.Reach, ReportsWords.AxisMinutes),
            new ReportTable([new ReportColumn(ReportsWords.ColPriority, "priority", false), Count, Median, Ninth],
                [.. rows.Select(row => RowOf(row.Item1, row.Item2))]));
    }

    /// <summary>A number of minutes as people read it.</summary>
    public static string Text(double minutes) => new Minutes(minutes).ToString();

    /// <summary>An hour in two digits.</summary>
    public static string Two(int hour) => hour.ToString("00", CultureInfo.InvariantCulture);

    private static Bar BarOf(string name, Spread? spread) => spread is null
        ? new Bar(name, null, ReportTable.Show(null))
        : new Bar(name, spread.Median, Text(spread.Median), spread.Ninth,
            Say.Of(ReportsWords.NinthOf, Text(spread.Ninth)));

    private static object?[] RowOf(string name, Spread? spread) =>
        [name, spread?.Count ?? 0, spread is null ? null : new Minutes(spread.Median), spread is null
            ? null : new Minutes(spread.Ninth)];
}
