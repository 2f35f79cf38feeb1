using System.Globalization;
using Incubation.Chart;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Reports;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Reports;

/// <summary>Reports of what was asked for and what was thrown away.</summary>
internal static class CountSections
{
    /// <summary>What was asked for, and what became of it.</summary>
    public static ReportSection Requests(IReadOnlyList<CartridgeTimes> cartridges, Stretch stretch, DateTimeZone zone)
    {
        var groups = cartridges.GroupBy(one => Wasted.FirstOf(one.Asked.InZone(zone).Date, stretch)).OrderBy(group => group.Key).Select(group => (From: group.Key, All: group.ToList())).ToList();
        var days = cartridges.CountBy(one => one.Asked.InZone(zone).Date).ToList();
        var most = days.MaxBy(day => day.Value);
        var finding = days.Count == 0 ? ReportPageWords.StepsNone : Say.Of(
            ReportPageWords.RequestsFinding, cartridges.Count, days.Count, ReportTable.Show(Percentile.Of([.. days.Select(day => (double)day.Value).Order()], 0.5)), most.Value, DaySections.NameOf(most.Key));
        var every = Math.Max(1, (int)Math.Ceiling(groups.Count / 12.0));
        return new ReportSection(
            "requests", ReportPageWords.RequestsTitle, finding, ReportPageWords.RequestsText,
            groups.Count < 2 ? null : ColumnChart.Render("requests", finding, [.. groups.Select((group, at) => new Column(at % every == 0 ? Short(group.From, stretch) : "", group.All.Count, $"{Say.Day(group.From)}: {group.All.Count}"))],
                AxisOf(stretch), ReportPageWords.RequestsAxis),
            new ReportTable(
                [
                    new ReportColumn(ReportPageWords.ColFrom, "from", false), new ReportColumn(ReportPageWords.ColAsked, "asked"), new ReportColumn(ReportPageWords.ColPatients, "patients"),
                    new ReportColumn(ReportPageWords.ColControls, "controls"), new ReportColumn(ReportPageWords.ColUrgent, "urgent"), new ReportColumn(ReportPageWords.ColDone, "withResult"),
                    new ReportColumn(ReportPageWords.ColDiscarded, "discarded"), new ReportColumn(ReportPageWords.ColWithdrawn, "withdrawn"), new ReportColumn(ReportPageWords.ColOpen, "open"),
                ],
                [.. groups.Select(group => RowOf(group.From, group.All))]));
    }

    private static object?[] RowOf(LocalDate from, List<CartridgeTimes> all)
    {
        var (withResult, discarded, withdrawn) = (
            all.Count(one => one.ResultAt is not null), all.Count(one => one.ResultAt is null && one.Standing == CartridgeStanding.Discarded), all.Count(one => one.Standing == CartridgeStanding.Withdrawn));
        return
        [
            from, all.Count, all.Count(one => one.Kind == RequestKind.Patient), all.Count(one => one.Kind == RequestKind.Control), all.Count(one => one.Priority == Priority.Urgent),
            withResult, discarded, withdrawn, all.Count - withResult - discarded - withdrawn,
        ];
    }

    /// <summary>Why used cartridges were thrown away.</summary>
    public static ReportSection Reasons(IReadOnlyList<CartridgeTimes> cartridges)
    {
        var used = cartridges.Count(one => one.IsUsed);
        var bars = Wasted.Reasons(cartridges);
        var wasted = bars.Sum(bar => bar.Count);
        var finding = used == 0 ? ReportPageWords.ReasonsUnused
            : wasted == 0 ? Say.Of(ReportPageWords.ReasonsNone, used)
            : Say.Of(ReportPageWords.ReasonsFinding, wasted, used, new Part((double)wasted / used), Say.First(BatchWords.Reason(bars[0].Of)), bars[0].Count);
        return new ReportSection(
            "discards", ReportPageWords.ReasonsTitle, finding, ReportPageWords.ReasonsText,
            bars.Count == 0 ? null : BarChart.Render("discards", finding, [.. bars.Select(bar => new Bar(
                BatchWords.Reason(bar.Of), bar.Count, bar.Count.ToString(CultureInfo.InvariantCulture), bar.UpTo, new Part(Math.Round(bar.UpTo, 2)).ToString()))], BarBeside.Sum, ReportPageWords.AxisCartridges),
            new ReportTable(
                [new ReportColumn(ReportPageWords.ColReason, "reason", false), new ReportColumn(ReportPageWords.ColCount, "count"), new ReportColumn(ReportPageWords.ColUpTo, "upTo")],
                [.. bars.Select(bar => new object?[] { BatchWords.Reason(bar.Of), bar.Count, new Part(bar.UpTo) })]));
    }

    /// <summary>Which part of the used cartridges was thrown away, over time.</summary>
    public static ReportSection Over(IReadOnlyList<CartridgeTimes> cartridges, Stretch stretch, DateTimeZone zone)
    {
        var (days, chart) = Wasted.Over(cartridges, stretch, zone);
        var beyond = days.Zip(chart.Points).Where(one => one.Second.IsBeyond).Select(one => one.First).ToList();
        var mean = new Part(chart.Mean ?? 0).ToString();
        var finding = chart.Mean is null ? ReportPageWords.ReasonsUnused
            : days.Count < 2 ? Say.Of(ReportPageWords.OverFew, mean)
            : beyond switch
            {
                [] => Say.Of(ReportPageWords.OverFinding, mean, OneOf(stretch)),
                [var one] => Say.Of(ReportPageWords.OverFindingBeyond, mean, stretch == Stretch.Day ? DaySections.NameOf(one) : Say.First(Say.Of("{0} {1}", AxisOf(stretch), Say.Day(one)))),
                [var first, ..] => Say.Of(ReportPageWords.OverFindingBeyondMany, mean, beyond.Count, Say.Day(first)),
            };
        return new ReportSection(
            "discards-over-time", ReportPageWords.OverTitle, finding, ReportPageWords.OverText,
            days.Count < 2 ? null : ProportionPicture.Render(
                "discards-over-time", finding, chart.Mean!.Value, Say.Of(ReportPageWords.OverMean, mean), ReportPageWords.OverLimit, ReportPageWords.OverUp,
                [.. days.Zip(chart.Points, (day, point) => new ProportionDot(
                    Short(day, stretch), point.Part!.Value, point.Low, point.High, point.IsBeyond,
                    Say.Of(ReportPageWords.OverSays, Say.Day(day), point.Sample.Count, point.Sample.Of, new Part(point.Part.Value), new Part(point.Low), new Part(point.High))))]),
            new ReportTable(
                [
                    new ReportColumn(ReportPageWords.ColFrom, "from", false), new ReportColumn(ReportPageWords.ColUsed, "used"), new ReportColumn(ReportPageWords.ColWasted, "thrownAway"), new ReportColumn(ReportPageWords.ColPart, "part"),
                    new ReportColumn(ReportPageWords.ColLow, "lowerLimit"), new ReportColumn(ReportPageWords.ColHigh, "upperLimit"), new ReportColumn(ReportPageWords.ColBeyond, "beyond", false),
                ],
                [.. days.Zip(chart.Points, (day, point) => new object?[] { day, point.Sample.Of, point.Sample.Count, new Part(point.Part!.Value), new Part(point.Low), new Part(point.High), point.IsBeyond })]));
    }

    private static string Short(LocalDate day, Stretch stretch) => day.ToString(stretch switch { Stretch.Year => "uuuu", Stretch.Month => "uuuu-MM", _ => "MM-dd" }, CultureInfo.InvariantCulture);

    private static string AxisOf(Stretch stretch) => stretch switch
    {
        Stretch.Day => ReportPageWords.Days,
        Stretch.Week => ReportPageWords.Weeks,
        Stretch.Month => ReportPageWords.Months,
        _ => ReportPageWords.Years,
    };

    private static string OneOf(Stretch stretch) => stretch switch
    {
        Stretch.Day => ReportPageWords.OneDay,
        Stretch.Week => ReportPageWords.OneWeek,
        Stretch.Month => ReportPageWords.OneMonth,
        _ => ReportPageWords.OneYear,
    };
}
