using System.Globalization;
using Incubation.Chart;
using Incubation.Model;
using Incubation.Model.Reports;
using Incubation.Records.Reports;
using Incubation.Service.Text;

namespace Incubation.Service.Reports;

/// <summary>Reports of what benches did with their time: use, windows, spare time, plans.</summary>
internal static class BenchSections
{
    /// <summary>Ends of batches beside their plans, in classes of five minutes from twenty earlier to an hour later.</summary>
    private const double EarliestEnd = -20, EndClass = 5;
    private const int EndClasses = 16;

    /// <summary>A batch that ends so many minutes later than planned ended as planned.</summary>
    private const double AsPlanned = 5;

    /// <summary>How much of their means benches used.</summary>
    public static ReportSection Use(IReadOnlyList<BatchUse> batches, Func<BenchId, string> nameOf)
    {
        var benches = BenchUse.Of(batches);
        List<(string Name, double Part)> parts =
        [
            .. benches.SelectMany(bench => new (string What, double? Part)[] { (ReportPageWords.UseHands, bench.Hands), (ReportPageWords.UseSlots, bench.Slots), (ReportPageWords.UseReaders, bench.Readers) }
                .Where(one => one.Part is not null)
                .Select(one => (benches.Count == 1 ? one.What : Say.Of(ReportPageWords.UseRow, nameOf(bench.Bench), one.What), one.Part!.Value))),
        ];
        var finding = parts.Count == 0 ? ReportPageWords.UseNone : Say.Of(ReportPageWords.UseFinding, parts.MaxBy(one => one.Part).Name, new Part(Math.Round(parts.Max(one => one.Part), 2)));
        return new ReportSection(
            "use", ReportPageWords.UseTitle, finding, ReportPageWords.UseText,
            parts.Count == 0 ? null : BarChart.Render("use", finding, [.. parts.Select(one => new Bar(one.Name, 100 * one.Part, new Part(one.Part).ToString()))], BarBeside.Nothing, ReportPageWords.AxisPercent),
            new ReportTable(
                [
                    new ReportColumn(ReportPageWords.Bench, "bench", false), new ReportColumn(ReportPageWords.ColBatches, "batches"), new ReportColumn(ReportPageWords.ColWorked, "hoursWorked"), new ReportColumn(ReportPageWords.ColHands, "hands"),
                    new ReportColumn(ReportPageWords.ColSlots, "slots"), new ReportColumn(ReportPageWords.ColReaders, "reader"), new ReportColumn(ReportPageWords.ColPerHour, "cartridgesAnHour"),
                ],
                [.. benches.Select(bench => new object?[] { nameOf(bench.Bench), bench.Batches, bench.Worked.TotalHours, new Part(bench.Hands), bench.Slots is { } slots ? new Part(slots) : null, new Part(bench.Readers), bench.PerHour })]));
    }

    /// <summary>How far into their windows reads started.</summary>
    public static ReportSection Windows(IReadOnlyList<CartridgeTimes> cartridges)
    {
        var positions = cartridges.Select(Reads.PositionOf).OfType<double>().Order().ToList();
        var histogram = Reads.InWindows(cartridges);
        var inside = histogram.Total - histogram.Below - histogram.Above;
        var finding = positions.Count == 0 ? ReportPageWords.WindowsNone : Say.Of(
            inside == positions.Count ? ReportPageWords.WindowsFindingAll : ReportPageWords.WindowsFinding, inside, positions.Count, new Part((double)inside / positions.Count),
            new Part(Math.Clamp(Math.Ceiling(100 * Percentile.Of(positions, 0.5)) / 100, 0.01, 1)));
        List<(string Name, int Count, bool Stands)> classes =
        [
            (ReportPageWords.WindowEarly, histogram.Below, true),
            .. histogram.Counts.Select((count, at) => ($"{at * 10}–{(at + 1) * 10}", count, false)),
            (ReportPageWords.WindowLate, histogram.Above, true),
        ];
        return new ReportSection(
            "windows", ReportPageWords.WindowsTitle, finding, ReportPageWords.WindowsText,
            positions.Count == 0 ? null : ColumnChart.Render("windows", finding, [.. classes.Select(one => new Column(one.Name, one.Count, Say.Of(ReportPageWords.WindowSays, one.Stands ? one.Name : one.Name + " %", one.Count), Stands: one.Stands))], ReportPageWords.AxisWindow, ReportPageWords.UpReads),
            new ReportTable(
                [new ReportColumn(ReportPageWords.ColWindow, "partOfWindow", false), new ReportColumn(ReportPageWords.ColReads, "reads")],
                [.. classes.Select(one => new object?[] { one.Stands ? one.Name : one.Name + " %", one.Count })]));
    }

    /// <summary>With how much spare time steps began.</summary>
    public static ReportSection Spare(IReadOnlyList<CartridgeTimes> cartridges)
    {
        var seconds = cartridges.Select(one => one.Spare?.TotalSeconds).OfType<double>().Order().ToList();
        var histogram = Reads.Spare(cartridges);
        string Signed(double part) => new Minutes(Percentile.Of(seconds, part) / 60).ToString();
        var finding = seconds.Count == 0 ? ReportPageWords.SpareNone : Say.Of(ReportPageWords.SpareFinding, Signed(0.5), Signed(0.1));
        List<Column> columns =
        [
            new Column(ReportPageWords.SpareBelow, histogram.Below, Say.Of(ReportPageWords.WindowSays, ReportPageWords.SpareBelow, histogram.Below), Stands: true),
            .. histogram.Counts.Select((count, at) => new Column(Whole(histogram.From + (at * histogram.Width)), count, Say.Of(ReportPageWords.SpareSays, Whole(histogram.From + (at * histogram.Width)), Whole(histogram.From + ((at + 1) * histogram.Width)), count))),
            new Column(Whole(histogram.To) + " +", histogram.Above, Say.Of(ReportPageWords.WindowSays, ReportPageWords.SpareAbove, histogram.Above)),
        ];
        return new ReportSection(
            "spare", ReportPageWords.SpareTitle, finding, ReportPageWords.SpareText,
            seconds.Count == 0 ? null : ColumnChart.Render("spare", finding, columns, ReportPageWords.AxisSpare, ReportPageWords.UpCartridges, edges: true), Classes(histogram, ReportPageWords.ColCartridges, "cartridges"));
    }

    /// <summary>What was planned beside what was.</summary>
    public static ReportSection Planned(IReadOnlyList<CartridgeTimes> cartridges, IReadOnlyList<BatchUse> batches)
    {
        var found = PlannedAgainstReal.Of(cartridges, batches);
        var histogram = Histogram.Of(found.Batches, EarliestEnd, EndClass, EndClasses);
        var finding = found.Batches.Count == 0 ? ReportPageWords.PlannedNone : Say.Of(
            ReportPageWords.PlannedFinding, found.Batches.Count(later => later <= AsPlanned), found.Batches.Count, TimeSections.Text(Percentile.Of(found.Batches, 0.5)));
        List<Column> columns =
        [
            new Column("", histogram.Below, Say.Of(ReportPageWords.PlannedSays, ReportPageWords.PlannedBelow, Whole(histogram.From), histogram.Below)),
            .. histogram.Counts.Select((count, at) => new Column(Whole(histogram.From + (at * EndClass)), count, Say.Of(ReportPageWords.PlannedSays, Whole(histogram.From + (at * EndClass)), Whole(histogram.From + ((at + 1) * EndClass)), count))),
            new Column(Whole(histogram.To) + " +", histogram.Above, Say.Of(ReportPageWords.PlannedSays, Whole(histogram.To), ReportPageWords.PlannedAbove, histogram.Above)),
        ];
        return new ReportSection(
            "planned", ReportPageWords.PlannedTitle, finding, ReportPageWords.PlannedText,
            found.Batches.Count == 0 ? null : ColumnChart.Render("planned", finding, columns, ReportPageWords.AxisLater, ReportPageWords.UpBatches, [new ColumnMark((1 + (-EarliestEnd / EndClass)) / columns.Count, ReportPageWords.AsPlanned)], edges: true),
            new ReportTable(
                [new ReportColumn(ReportPageWords.ColStep, "step", false), new ReportColumn(ReportPageWords.ColCount, "count"), new ReportColumn(ReportPageWords.ColLaterMedian, "laterMedianMinutes"), new ReportColumn(ReportPageWords.ColLaterNinth, "laterNinthMinutes")],
                [.. new (string Name, Spread? Spread)[]
                {
                    (ReportPageWords.StepBatch, Spread.Of(found.Batches)), (ReportPageWords.StepMix, found.Mix), (ReportPageWords.StepLoad, found.Load), (ReportPageWords.StepMove, found.Move), (ReportPageWords.StepClear, found.Clear),
                }.Select(row => new object?[] { row.Name, row.Spread?.Count ?? 0, row.Spread is { } one ? new Minutes(one.Median) : null, row.Spread is { } other ? new Minutes(other.Ninth) : null })]));
    }

    private static ReportTable Classes(Histogram histogram, string head, string name) => new(
        [new ReportColumn(ReportPageWords.ColSpareFrom, "from"), new ReportColumn(ReportPageWords.ColSpareTo, "to"), new ReportColumn(head, name)],
        [
            [null, histogram.From, histogram.Below],
            .. histogram.Counts.Select((count, at) => new object?[] { histogram.From + (at * histogram.Width), histogram.From + ((at + 1) * histogram.Width), count }),
            [histogram.To, null, histogram.Above],
        ]);

    private static string Whole(double number) => number.ToString("0", CultureInfo.InvariantCulture).Replace('-', '−');
}
