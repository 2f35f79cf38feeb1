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
    /// <summary>
    /// Ends of batches beside their plans, in classes of five minutes from twenty earlier to an hour later.
    /// </summary>
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
            .. benches.SelectMany(bench =>
                new (string What, double? Part)[] { (ReportsWords.UseHands, bench.Hands),
                    (ReportsWords.UseSlots, bench.Slots), (ReportsWords.UseReaders, bench.Readers) }
                .Where(one => one.Part is not null)
                .Select(one =>
                    (benches.Count == 1 ? one.What : Say.Of(ReportsWords.UseRow, nameOf(bench.Bench), one.What),
                        one.Part!.Value))),
        ];
        var finding = parts.Count == 0
            ? ReportsWords.UseNone
            : Say.Of(ReportsWords.UseFinding, parts.MaxBy(one => one.Part).Name,
                new Part(Math.Round(parts.Max(one => one.Part), 2)));
        return new ReportSection(
            "use", ReportsWords.UseTitle, finding, ReportsWords.UseText,
            parts.Count == 0
                ? null
                : BarChart.Render("use", finding,
                    [.. parts.Select(one => new Bar(one.Name, 100 * one.Part, new Part(one.Part).ToString()))],
                    BarBeside.Nothing, ReportsWords.AxisPercent),
            new ReportTable(
                [
                    new ReportColumn(ReportsWords.Bench, "bench", false),
                        new ReportColumn(ReportsWords.ColBatches, "batches"),
                        new ReportColumn(ReportsWords.ColWorked, "hoursWorked"),
                        new ReportColumn(ReportsWords.ColHands, "hands"),
                    new ReportColumn(ReportsWords.ColSlots, "slots"),
                        new ReportColumn(ReportsWords.ColReaders, "reader"),
                        new ReportColumn(ReportsWords.ColPerHour, "cartridgesAnHour"),
                ],
                [.. benches.Select(bench =>
                    new object?[] { nameOf(bench.Bench), bench.Batches, bench.Worked.TotalHours, new Part(bench.Hands),
                        bench.Slots is { } slots ? new Part(slots) : null, new Part(bench.Readers), bench.PerHour })]));
    }

    /// <summary>How far into their windows reads started.</summary>
    public static ReportSection Windows(IReadOnlyList<CartridgeTimes> cartridges)
    {
        var positions = cartridges.Select(Reads.PositionOf).OfType<double>().Order().ToList();
        var histogram = Reads.InWindows(cartridges);
        var inside = histogram.Total - histogram.Below - histogram.Above;
        var finding = positions.Count == 0 ? ReportsWords.WindowsNone : Say.Of(
            inside == positions.Count ? ReportsWords.WindowsFindingAll : ReportsWords.WindowsFinding, inside,
                positions.Count, new Part((double)inside / positions.Count),
            new Part(Math.Clamp(Math.Ceiling(100 * Percentile.Of(positions, 0.5)) / 100, 0.01, 1)));
        List<(string Name, int Count, bool Stands)> classes =
        [
            (ReportsWords.WindowEarly, histogram.Below, true),
            .. histogram.Counts.Select((count, at) => ($"{at * 10}–{(at + 1) * 10}", count, false)),
            (ReportsWords.WindowLate, histogram.Above, true),
        ];
        return new ReportSection(
            "windows", ReportsWords.WindowsTitle, finding, ReportsWords.WindowsText,
            positions.Count == 0
                ? null
                : ColumnChart.Render("windows", finding,
                    [.. classes.Select(one =>
                        new Column(one.Name, one.Count,
                            Say.Of(ReportsWords.WindowSays, one.Stands ? one.Name : one.Name + " %", one.Count),
                            Stands: one.Stands))], ReportsWords.AxisWindow, ReportsWords.UpReads),
            new ReportTable(
                [new ReportColumn(ReportsWords.ColWindow, "partOfWindow", false),
                    new ReportColumn(ReportsWords.ColReads, "reads")],
                [.. classes.Select(one => new object?[] { one.Stands ? one.Name : one.Name + " %", one.Count })]));
    }

    /// <summary>With how much spare time steps began.</summary>
    public static ReportSection Spare(IReadOnlyList<CartridgeTimes> cartridges)
    {
        var seconds = cartridges.Select(one => one.Spare?.TotalSeconds).OfType<double>().Order().ToList();
        var histogram = Reads.Spare(cartridges);
        string Signed(double part) => new Minutes(Percentile.Of(seconds, part) / 60).ToString();
        var finding = seconds.Count == 0
            ? ReportsWords.SpareNone : Say.Of(ReportsWords.SpareFinding, Signed(0.5), Signed(0.1));
        List<Column> columns =
        [
            new Column(ReportsWords.SpareBelow, histogram.Below,
                Say.Of(ReportsWords.WindowSays, ReportsWords.SpareBelow, histogram.Below), Stands: true),
            .. histogram.Counts.Select((count, at) =>
                new Column(Whole(histogram.From + (at * histogram.Width)), count,
                    Say.Of(ReportsWords.SpareSays, Whole(histogram.From + (at * histogram.Width)),
                        Whole(histogram.From + ((at + 1) * histogram.Width)),
                        Say.Counted(count, ReportsWords.CartridgeOne, ReportsWords.CartridgeMany)))),
            new Column(Whole(histogram.To) + " +", histogram.Above,
                Say.Of(ReportsWords.WindowSays, ReportsWords.SpareAbove, histogram.Above)),
        ];
        return new ReportSection(
            "spare", ReportsWords.SpareTitle, finding, ReportsWords.SpareText,
            seconds.Count == 0
                ? null
                : ColumnChart.Render("spare", finding, columns, ReportsWords.AxisSpare, ReportsWords.UpCartridges,
                    edges: true), Classes(histogram, ReportsWords.ColCartridges, "cartridges"));
    }

    /// <summary>What was planned beside what was.</summary>
    public static ReportSection Planned(IReadOnlyList<CartridgeTimes> cartridges, IReadOnlyList<BatchUse> batches)
    {
        var found = PlannedAgainstReal.Of(cartridges, batches);
        var histogram = Histogram.Of(found.Batches, EarliestEnd, EndClass, EndClasses);
        var finding = found.Batches.Count == 0 ? ReportsWords.PlannedNone : Say.Of(
            ReportsWords.PlannedFinding, found.Batches.Count(later => later <= AsPlanned), found.Batches.Count,
                TimeSections.Text(Percentile.Of(found.Batches, 0.5)));
        List<Column> columns =
        [
            new Column("", histogram.Below,
                Say.Of(ReportsWords.PlannedSays, ReportsWords.PlannedBelow, Whole(histogram.From),
                    Batches(histogram.Below))),
            .. histogram.Counts.Select((count, at) =>
                new Column(Whole(histogram.From + (at * EndClass)), count,
                    Say.Of(ReportsWords.PlannedSays, Whole(histogram.From + (at * EndClass)),
                        Whole(histogram.From + ((at + 1) * EndClass)), Batches(count)))),
            new Column(Whole(histogram.To) + " +", histogram.Above,
                Say.Of(ReportsWords.PlannedSays, Whole(histogram.To), ReportsWords.PlannedAbove,
                    Batches(histogram.Above))),
        ];
        return new ReportSection(
            "planned", ReportsWords.PlannedTitle, finding, ReportsWords.PlannedText,
            found.Batches.Count == 0
                ? null
                : ColumnChart.Render("planned", finding, columns, ReportsWords.AxisLater, ReportsWords.UpBatches,
                    [new ColumnMark((1 + (-EarliestEnd / EndClass)) / columns.Count, ReportsWords.AsPlanned)],
                    edges: true),
            new ReportTable(
                [new ReportColumn(ReportsWords.ColStep, "step", false),
                    new ReportColumn(ReportsWords.ColCount, "count"),
                    new ReportColumn(ReportsWords.ColLaterMedian, "laterMedianMinutes"),
                    new ReportColumn(ReportsWords.ColLaterNinth, "laterNinthMinutes")],
                [.. new (string Name, Spread? Spread)[]
                {
                    (ReportsWords.StepBatch, Spread.Of(found.Batches)), (ReportsWords.StepMix, found.Mix),
                        (ReportsWords.StepLoad, found.Load), (ReportsWords.StepMove, found.Move),
                        (ReportsWords.StepClear, found.Clear),
                }.Select(row => new object?[] { row.Name, row.Spread?.Count ?? 0, row.Spread is { } one
                    ? new Minutes(one.Median) : null, row.Spread is { } other ? new Minutes(other.Ninth) : null })]));
    }

    private static ReportTable Classes(Histogram histogram, string head, string name) => new(
        [new ReportColumn(ReportsWords.ColSpareFrom, "from"), new ReportColumn(ReportsWords.ColSpareTo, "to"),
            new ReportColumn(head, name)],
        [
            [null, histogram.From, histogram.Below],
            .. histogram.Counts.Select((count, at) =>
                new object?[] { histogram.From + (at * histogram.Width), histogram.From + ((at + 1) * histogram.Width),
                    count }),
            [histogram.To, null, histogram.Above],
        ]);

    private static string Whole(double number) => number.ToString("0", CultureInfo.InvariantCulture).Replace('-', '−');

    private static string Batches(int count) => Say.Counted(count, ReportsWords.BatchOne, ReportsWords.BatchMany);
}
