using System.Globalization;
using Incubation.Chart;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Model.Reports;
using Incubation.Records.Batches;
using Incubation.Records.Reports;
using Incubation.Service.Text;
using Incubation.Simulation;
using NodaTime;

namespace Incubation.Service.Reports;

/// <summary>Reports of what was asked for and what was thrown away.</summary>
internal static class CountSections
{
    /// <summary>What was asked for, and what became of it.</summary>
    public static ReportSection Requests(IReadOnlyList<CartridgeTimes> cartridges, Stretch stretch, DateTimeZone zone)
    {
        var groups = cartridges.GroupBy(one => Wasted.FirstOf(one.Asked.InZone(zone).Date, stretch))
            .OrderBy(group => group.Key).Select(group => (From: group.Key, All: group.ToList())).ToList();
        var days = cartridges.CountBy(one => one.Asked.InZone(zone).Date).ToList();
        var most = days.MaxBy(day => day.Value);
        var finding = days.Count == 0 ? ReportsWords.StepsNone : Say.Of(
            days.Count == 1 ? ReportsWords.RequestsFindingDay : ReportsWords.RequestsFinding,
                Say.Counted(cartridges.Count, ReportsWords.RequestOne, ReportsWords.RequestMany), days.Count,
                ReportTable.Show(Percentile.Of([.. days.Select(day => (double)day.Value).Order()], 0.5)), most.Value,
                DaySections.NameOf(most.Key));
        var every = Math.Max(1, (int)Math.Ceiling(groups.Count / 12.0));
        return new ReportSection(
            "requests", ReportsWords.RequestsTitle, finding, ReportsWords.RequestsText,
            groups.Count < 2
                ? null
                : ColumnChart.Render("requests", finding,
                    [.. groups.Select((group, at) =>
                        new Column(at % every == 0 ? Short(group.From, stretch) : "", group.All.Count,
                            $"{Say.Day(group.From)}: {group.All.Count}"))],
                AxisOf(stretch), ReportsWords.RequestsAxis),
            new ReportTable(
                [
                    new ReportColumn(ReportsWords.ColFrom, "from", false),
                        new ReportColumn(ReportsWords.ColAsked, "asked"),
                        new ReportColumn(ReportsWords.ColPatients, "patients"),
                    new ReportColumn(ReportsWords.ColControls, "controls"),
                        new ReportColumn(ReportsWords.ColUrgent, "urgent"),
                        new ReportColumn(ReportsWords.ColDone, "withResult"),
                    new ReportColumn(ReportsWords.ColDiscarded, "discarded"),
                        new ReportColumn(ReportsWords.ColWithdrawn, "withdrawn"),
                        new ReportColumn(ReportsWords.ColOpen, "open"),
                ],
                [.. groups.Select(group => RowOf(group.From, group.All))]));
    }

    private static object?[] RowOf(LocalDate from, List<CartridgeTimes> all)
    {
        // As in the record: a result that was entered before its cartridge was thrown away is used for nothing.
        var (withResult, discarded, withdrawn) = (
            all.Count(one => one.ResultAt is not null && one.Standing != CartridgeStatus.Discarded),
                all.Count(one => one.Standing == CartridgeStatus.Discarded),
                all.Count(one => one.Standing == CartridgeStatus.Withdrawn));
        return
        [
            from, all.Count, all.Count(one => one.Kind == RequestKind.Patient),
                all.Count(one => one.Kind == RequestKind.Control), all.Count(one => one.Priority == Priority.Urgent),
            withResult, discarded, withdrawn, all.Count - withResult - discarded - withdrawn,
        ];
    }

    /// <summary>Why used cartridges were thrown away.</summary>
    public static ReportSection Reasons(IReadOnlyList<CartridgeTimes> cartridges)
    {
        var used = cartridges.Count(one => one.IsUsed);
        var bars = Wasted.Reasons(cartridges);
        var wasted = bars.Sum(bar => bar.Count);
        var finding = used == 0 ? ReportsWords.ReasonsUnused
            : wasted == 0 ? Say.Of(ReportsWords.ReasonsNone, used)
            : Say.Of(ReportsWords.ReasonsWhole, wasted, used, new Part((double)wasted / used)) + " "
                + (IsClearlyMost(bars, wasted)
                    ? Say.Of(ReportsWords.ReasonsMost, Say.First(BatchText.Reason(bars[0].Of)), bars[0].Count, wasted)
                    : ReportsWords.ReasonsNoMost);
        return new ReportSection(
            "discards", ReportsWords.ReasonsTitle, finding, ReportsWords.ReasonsText,
            bars.Count == 0 ? null : BarChart.Render("discards", finding, [.. bars.Select(bar => new Bar(
                BatchText.Reason(bar.Of), bar.Count, bar.Count.ToString(CultureInfo.InvariantCulture), bar.UpTo,
                    new Part(Math.Round(bar.UpTo, 2)).ToString()))], BarBeside.Sum, ReportsWords.AxisCartridges),
            new ReportTable(
                [new ReportColumn(ReportsWords.ColReason, "reason", false),
                    new ReportColumn(ReportsWords.ColCount, "count"), new ReportColumn(ReportsWords.ColUpTo, "upTo")],
                [.. bars.Select(bar => new object?[] { BatchText.Reason(bar.Of), bar.Count, new Part(bar.UpTo) })]));
    }

    /// <summary>
    /// Whether the first reason is clearly more frequent than the second: their 95 % intervals do not overlap.
    /// </summary>
    private static bool IsClearlyMost(IReadOnlyList<ParetoBar<DiscardReason>> bars, int all)
    {
        PercentileInterval Of(int count)
        {
            var (low, high) = Statistics.Wilson95(count, all);
            return new PercentileInterval(low, high);
        }

        return bars.Count == 1 || Of(bars[0].Count).IsAbove(Of(bars[1].Count));
    }

    /// <summary>Which part of the used cartridges was thrown away, over time.</summary>
    public static ReportSection Over(IReadOnlyList<CartridgeTimes> cartridges, Stretch stretch, DateTimeZone zone)
    {
        var (days, chart) = Wasted.Over(cartridges, stretch, zone);
        var beyond = days.Zip(chart.Points).Where(one => one.Second.IsBeyond).Select(one => one.First).ToList();
        var mean = new Part(chart.Mean ?? 0).ToString();
        var finding = chart.Mean is null ? ReportsWords.ReasonsUnused
            : days.Count < 2 ? Say.Of(ReportsWords.OverFew, mean)
            : beyond switch
            {
                [] => Say.Of(ReportsWords.OverFinding, mean, OneOf(stretch)),
                [var one] => Say.Of(ReportsWords.OverFindingBeyond, mean, stretch == Stretch.Day
                    ? DaySections.NameOf(one) : Say.First(Say.Of("{0} {1}", AxisOf(stretch), Say.Day(one)))),
                [var first, ..] => Say.Of(ReportsWords.OverFindingBeyondMany, mean, beyond.Count, Say.Day(first)),
            };
        return new ReportSection(
            "discards-over-time", ReportsWords.OverTitle, finding, ReportsWords.OverText,
            days.Count < 2 ? null : ProportionPicture.Render(
                "discards-over-time", finding, chart.Mean!.Value, Say.Of(ReportsWords.OverMean, mean),
                    ReportsWords.OverLimit, ReportsWords.OverUp,
                [.. days.Zip(chart.Points, (day, point) => new ProportionDot(
                    Short(day, stretch), point.Part!.Value, point.Low, point.High, point.IsBeyond,
                    Say.Of(ReportsWords.OverSays, Say.Day(day), point.Sample.Count, point.Sample.Of,
                        new Part(point.Part.Value), new Part(point.Low), new Part(point.High))))]),
            new ReportTable(
                [
                    new ReportColumn(ReportsWords.ColFrom, "from", false),
                        new ReportColumn(ReportsWords.ColUsed, "used"),
                        new ReportColumn(ReportsWords.ColWasted, "thrownAway"),
                        new ReportColumn(ReportsWords.ColPart, "part"),
                    new ReportColumn(ReportsWords.ColLow, "lowerLimit"),
                        new ReportColumn(ReportsWords.ColHigh, "upperLimit"),
                        new ReportColumn(ReportsWords.ColBeyond, "beyond", false),
                ],
                [.. days.Zip(chart.Points, (day, point) =>
                    new object?[] { day, point.Sample.Of, point.Sample.Count, new Part(point.Part!.Value),
                        new Part(point.Low), new Part(point.High), point.IsBeyond })]));
    }

    private static string Short(LocalDate day, Stretch stretch) =>
        day.ToString(stretch switch { Stretch.Year => "uuuu", Stretch.Month => "uuuu-MM", _ => "MM-dd" },
            CultureInfo.InvariantCulture);

    private static string AxisOf(Stretch stretch) => stretch switch
    {
        Stretch.Day => ReportsWords.Days,
        Stretch.Week => ReportsWords.Weeks,
        Stretch.Month => ReportsWords.Months,
        _ => ReportsWords.Years,
    };

    private static string OneOf(Stretch stretch) => stretch switch
    {
        Stretch.Day => ReportsWords.OneDay,
        Stretch.Week => ReportsWords.OneWeek,
        Stretch.Month => ReportsWords.OneMonth,
        _ => ReportsWords.OneYear,
    };
}
