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
        var finding = all is null
            ? ReportsWords.StepsNone
            : Sentences(Say.Of(ReportsWords.StepsWhole, Text(all.Median), Text(all.Ninth)), Longest(steps) is
                var (name, longest) ? Say.Of(ReportsWords.StepsLongest, name, Text(longest.Median))
                : ReportsWords.StepsNoLongest, Few(all));
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
        var finding = all is null ? ReportsWords.StepsNone : OfHours(hours, all);
        var drawn = hours.Count == 0 ? [] : Enumerable.Range(hours[0].Hour, hours[^1].Hour - hours[0].Hour + 1)
            .Select(hour => (Hour: hour, hours.Find(one => one.Hour == hour).Spread)).ToList();
        return new ReportSection(
            "time-by-hour", ReportsWords.HoursTitle, finding,
            ReportsWords.HoursText + " " + Say.Of(ReportsWords.OrderText, Spread.Few),
            all is null ? null : ColumnChart.Render("time-by-hour", finding, [.. drawn.Select(hour => new Column(
                Two(hour.Hour), hour.Spread?.Median ?? 0,
                hour.Spread is { } spread
                    ? Say.Of(ReportsWords.HourSays, Two(hour.Hour), Text(spread.Median), Text(spread.Ninth),
                        Say.Counted(spread.Count, ReportsWords.ResultOne, ReportsWords.ResultMany)) : "",
                    hour.Spread?.Ninth))],
                ReportsWords.AxisHour, ReportsWords.UpMinutes),
            new ReportTable(
                [new ReportColumn(ReportsWords.ColHour, "hour", false), Count, Median, Ninth],
                [.. hours.Select(hour => RowOf(Two(hour.Hour), hour.Spread))]));
    }

    /// <summary>
    /// Which hour waits clearly longer than every other that has enough results, by the median and by the 90th
    /// percentile; that none does, where none does.
    /// </summary>
    private static string OfHours(List<(int Hour, Spread? Spread)> hours, Spread all)
    {
        string Between(int hour, string sentence, double minutes) =>
            Say.Of(sentence, Two(hour), Two(hour + 1), Text(minutes), Text(all.Median));
        var enough = Enough(hours);
        if (enough.Count < 2)
            return Sentences(Say.Of(ReportsWords.HoursFew, Text(all.Median)), Few(all));
        var (median, ninth) = (PercentileInterval.Highest([.. enough.Select(hour => hour.Spread.MedianInterval)]),
            PercentileInterval.Highest([.. enough.Select(hour => hour.Spread.NinthInterval)]));
        return Sentences(
            median is { } most
                ? Between(enough[most].Of, ReportsWords.HoursFinding, enough[most].Spread.Median)
                : Say.Of(ReportsWords.HoursNoOrder, Text(enough.Min(hour => hour.Spread.Median)),
                    Text(enough.Max(hour => hour.Spread.Median))),
            ninth is { } worst && ninth != median
                ? Between(enough[worst].Of, ReportsWords.HoursNinth, enough[worst].Spread.Ninth) : null);
    }

    /// <summary>Those that have enough results to be held against each other.</summary>
    private static List<(T Of, Spread Spread)> Enough<T>(IEnumerable<(T Of, Spread? Spread)> groups) =>
        [.. groups.Where(group => group.Spread is { IsFew: false }).Select(group => (group.Of, group.Spread!))];

    /// <summary>The one whose median lies clearly above every other's; null where none does.</summary>
    private static (T Of, Spread Spread)? Longest<T>(IEnumerable<(T Of, Spread? Spread)> groups)
    {
        var enough = Enough(groups);
        return PercentileInterval.Highest([.. enough.Select(group => group.Spread.MedianInterval)]) is { } at
            ? enough[at] : null;
    }

    /// <summary>That there are few results; null where there are not.</summary>
    private static string? Few(Spread all) =>
        all.IsFew ? Say.Counted(all.Count, ReportsWords.FewOne, ReportsWords.FewMany) : null;

    private static string Sentences(params string?[] sentences) =>
        string.Join(' ', sentences.Where(sentence => sentence is not null));

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
            [var one] => Sentences(Say.Of(ReportsWords.GroupOne, one.Spread!.Count, one.Name, Text(one.Spread.Median)),
                Few(one.Spread)),
            _ when Longest(found) is var (named, longest) =>
                Say.Of(ReportsWords.GroupFinding, named, Text(longest.Median), Text(longest.Ninth)),
            _ => Enough(found) switch
            {
                { Count: < 2 } => ReportsWords.GroupFew,
                var enough => Say.Of(ReportsWords.GroupNoOrder, Text(enough.Min(group => group.Spread.Median)),
                    Text(enough.Max(group => group.Spread.Median))),
            },
        };
        var text = ReportsWords.GroupText + " " + Say.Of(ReportsWords.OrderText, Spread.Few);
        var drawn = found.OrderByDescending(group => group.Spread!.Count).Take(MaxBars)
            .OrderByDescending(group => group.Spread!.Median).ToList();
        return new ReportSection(
            name, title, finding, found.Count > MaxBars
                ? text + " " + Say.Of(ReportsWords.GroupMost, MaxBars) : text,
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
            ({ } one, { } other) => Sentences(
                Say.Of(ReportsWords.PriorityFinding, Text(one.Median), Text(other.Median)),
                one.IsFew || other.IsFew ? ReportsWords.PriorityFew
                : Longest([(0, urgent), (1, routine)]) is null ? ReportsWords.PriorityNoOrder : null),
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
        [name, new ResultCount(spread?.Count ?? 0), spread is null ? null : new Minutes(spread.Median), spread is null
            ? null : new Minutes(spread.Ninth)];
}
