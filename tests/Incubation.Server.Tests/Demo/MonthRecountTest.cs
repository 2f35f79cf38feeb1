using System.Text.RegularExpressions;
using Incubation.Bench;
using Incubation.Clinic.Controls;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Batches;
using Incubation.Records.Export;
using Incubation.Records.Reports;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Controls;
using Incubation.Service.Programme;
using Incubation.Service.Record;
using Incubation.Service.Reports;
using Incubation.Service.StepTimes;
using Incubation.Service.Tests.Support;
using Incubation.Service.Text;
using Incubation.Service.WhatIf;
using Incubation.TestKit;
using Microsoft.Extensions.Time.Testing;
using NodaTime;

namespace Incubation.Server.Tests.Demo;

/// <summary>
/// The month of the demo, exported and read back by CsvHelper, gives every number of every report: what the pages show,
/// a clinic can count again with its export alone.
/// </summary>
public sealed partial class MonthRecountTest(MonthRecountTest.Month month) : IClassFixture<MonthRecountTest.Month>
{
    /// <summary>Half a thousandth of a minute is lost where the report's file rounds.</summary>
    private const double Rounded = 0.00051;

    /// <summary>The demo with its whole month, exported.</summary>
    public sealed class Month : IAsyncLifetime
    {
        private static readonly AssayCode Assay = new("DA");
        private static readonly BenchId Bench = new("bench-1");
        private static readonly Instant Now = Instant.FromUtc(2026, 11, 5, 7, 12, 30);
        private readonly string folder = Directory.CreateTempSubdirectory("incubation-recount-").FullName;
        private readonly DemoHouse house;

        public Month()
        {
            foreach (var file in Directory.GetFiles(ServerFactory.DemoFolder, "*.json"))
                File.Copy(file, Path.Combine(folder, Path.GetFileName(file)));
            house = new DemoHouse(Path.Combine(folder, "a.db"), folder, Now, month: true);
        }

        internal ClinicHost Clinic => house.Clinic;

        internal BenchClock Clock { get; private set; } = null!;

        internal ReportProjection Times { get; private set; } = null!;

        internal ReportBundle Reports { get; private set; } = null!;

        internal StepTimeView Steps { get; private set; } = null!;

        internal IReadOnlyList<ControlSummary> Controls { get; private set; } = null!;

        internal List<CsvLine> Lines { get; private set; } = [];

        internal List<CsvLine> Judgements { get; private set; } = [];

        internal List<CsvLine> Targets { get; private set; } = [];

        internal List<CsvLine> Means { get; private set; } = [];

        internal ControlsState ControlsState => house.Clinic.Log.Controls;

        internal IReadOnlyList<MeanLine> MeanLines { get; private set; } = [];

        internal List<CsvLine> Happenings { get; private set; } = [];

        /// <summary>What the record of each batch says that it discarded.</summary>
        internal List<int> DiscardedByBatch { get; private set; } = [];

        internal PastRecord Past { get; private set; } = null!;

        internal Recount Counted { get; private set; } = null!;

        public async ValueTask InitializeAsync()
        {
            await house.Opening.OpenAsync(CancellationToken.None);
            var book = new CartridgeProjection(house.File, house.Clinic.Log.Amended);
            var times = new ReportProjection(house.File, book);
            var clock = new BenchClock(new FakeTimeProvider(Now.ToDateTimeOffset()), 1);
            (Clock, Times) = (clock, times);
            var desk = new ReportService(times, book, house.Clinic, clock);
            var zone = house.Clinic.Facts.Zone;
            var found = desk.Make(null, new ReportSearch());
            Reports = desk.Make(null, new ReportSearch(Say.Day(found.Record!.From), Say.Day(found.Record.To)));
            Steps = new StepTimeService(times, book, house.Clinic, clock).Make(null, null, null);
            Controls = ControlSummary.Of(house.Clinic.Log.Controls.Lots.Values.SelectMany(lot => lot.Standing)
                .Where(run => run.At.InZone(zone) is { Year: 2026, Month: 10 }));
            Lines = CsvTable.Read(string.Concat(RecordExport.Lines(house.File, book, house.Clinic.Log.Controls,
                ExportForm.Csv, zone)).TrimStart(Csv.Mark[0]));
            var files = new ControlFiles(house.Clinic, book);
            Judgements = CsvTable.Read(string.Concat(files.Judgements(null, null)));
            Targets = CsvTable.Read(string.Concat(files.Targets()));
            var means = new MovingMeanService(house.Clinic, book, clock);
            Assert.Empty(means.Set(ControlsHouse.Ines, Assay, new MovingMeanForm
            {
                Weight = "0.15",
                Center = "12",
                Low = "8",
                High = "16",
            }));
            Means = CsvTable.Read(string.Concat(means.File(Assay, Bench)!));
            MeanLines = means.Of(Assay, Bench);
            Happenings = CsvTable.Read(string.Concat(HappeningCsv.Lines(house.File, book, zone,
                batch => HappeningText.Of(batch, zone, house.Clinic.Log.People))).TrimStart(Csv.Mark[0]));
            DiscardedByBatch = [.. book.Batches(Bench).Select(row => book.Batch(Bench, row.Number)!).Select(batch =>
                Regex.Match(new BatchSheet(batch, house.Clinic.Facts, house.Clinic.Log).Facts
                    .Single(fact => fact.Name == RecordWords.FactCounts).Value, "([0-9]+) discarded").Groups[1].Value)
                .Select(int.Parse)];
            var sheets = house.Clinic.Catalogue.Assays().Select(known => known.Assay).ToDictionary(one => one.Code);
            Past = PastRecord.Of(times.Cartridges(
                new ReportScope(Reports.Period.Start(zone), Reports.Period.End(zone))), Reports.Period.From,
                Reports.Period.To, sheets.GetValueOrDefault);
            Counted = new Recount(Lines, Reports.Period.From.ToDateOnly(), Reports.Period.To.ToDateOnly());
        }

        public async ValueTask DisposeAsync()
        {
            await house.DisposeAsync();
            Directory.Delete(folder, recursive: true);
        }
    }

    private Recount Counted => month.Counted;

    /// <summary>
    /// The findings in the demo's page are what the reports say, each number of which is counted again below.
    /// </summary>
    [Fact]
    public void Readme_OfTheDemo_SaysWhatTheReportsSay()
    {
        const string From = "<!-- The month's findings, written by MonthRecountTest. -->\n", To = "<!-- Their end. -->";
        var readme = CommittedFile.Read("demo/README.md");
        var (from, to) = (readme.IndexOf(From, StringComparison.Ordinal), readme.IndexOf(To, StringComparison.Ordinal));
        Assert.True(from >= 0 && to > from, "demo/README.md has no place for the month's findings.");
        string[] told = ["time-by-step", "time-by-hour", "time-by-priority", "discards", "requests", "use", "windows"];
        var lines = month.Reports.Sections.Where(section => told.Contains(section.Name))
            .Select(section => $"- {section.Title}: {section.Finding}\n").ToList();
        Assert.Equal(told.Length, lines.Count);
        Assert.Null(CommittedFile.Fault("demo/README.md",
            $"{readme[..(from + From.Length)]}{string.Concat(lines)}{readme[to..]}", typeof(MonthRecountTest)));
    }

    /// <summary>What the project's first page says that a bench may have at most is what one may have.</summary>
    [Fact]
    public void Readme_OfTheProject_SaysTheLimitsOfABench() => Assert.Contains(
        $"Limits: {BenchLimits.Hands} pairs of hands, {BenchLimits.Slots} slots and {BenchLimits.Readers} readers",
        CommittedFile.Read("README.md"), StringComparison.Ordinal);

    [Fact]
    public void Reports_OfTheMonth_AreAllCountedAgainHere() => Assert.Equal(
        [
            "day-by-step", "day-by-hour", "day-happened", "time-by-step", "time-by-hour", "time-by-priority",
            "time-by-assay", "time-by-lot", "time-by-bench", "discards", "discards-over-time", "requests", "use",
            "windows", "spare", "planned",
        ], month.Reports.Sections.Select(section => section.Name));

    [Fact]
    public void TimeByStep_CountedAgain_IsTheSame() => AssertSame(Counted.TimeBySteps(), Table("time-by-step"));

    [Fact]
    public void TimeByHour_CountedAgain_IsTheSame() => AssertSame(Counted.TimeByHour()
        .Select(hour => ($"{hour.Hour:00}", hour.Cells)), Table("time-by-hour"));

    [Fact]
    public void TimeByPriority_CountedAgain_IsTheSame() =>
        AssertSame(Counted.TimeByPriority(), Table("time-by-priority"));

    [Theory]
    [InlineData("time-by-assay", "assayName")]
    [InlineData("time-by-lot", "lot")]
    public void TimeBy_CountedAgain_IsTheSame(string section, string column)
    {
        var counted = Counted.TimeBy(column);
        var table = Table(section);
        Assert.Equal(counted.Count, table.Count);
        AssertSame(table.Select(line => (line[table[0].Names.First()], counted[line[table[0].Names.First()]])), table);
    }

    [Fact]
    public void TimeByBench_CountedAgain_IsTheSame() =>
        AssertSame([Assert.Single(Counted.TimeBy("bench")).Value], Table("time-by-bench"));

    [Fact]
    public void Discards_CountedAgain_AreTheSame()
    {
        var counted = Counted.Discards();
        Assert.True(counted.Count > 1);
        AssertSame(counted.Select(one => one.Cells), Table("discards"));
        Assert.Equal(counted[0].Reason, KebabCase.Of(Enum.GetValues<DiscardReason>().Single(reason =>
            BatchText.Reason(reason) == Table("discards")[0]["reason"])));
    }

    [Fact]
    public void DiscardsOverTime_CountedAgain_AreTheSame() => AssertSame(Counted.DiscardsOverTime()
        .Select(day => ($"{day.Day:yyyy-MM-dd}", day.Cells)), Table("discards-over-time"), except: "beyond");

    [Fact]
    public void Requests_CountedAgain_AreTheSame() =>
        AssertSame(Counted.Requests().Select(day => ($"{day.Day:yyyy-MM-dd}", day.Cells)), Table("requests"));

    /// <summary>
    /// Whoever says how many were discarded says the same: the record, batch by batch, and each report.
    /// </summary>
    [Fact]
    public void Discarded_OfTheMonth_IsOneNumberInEveryReportAndInTheRecord()
    {
        var discarded = month.Lines.Count(line => line["standing"] == "discarded");
        Assert.True(discarded > 9);
        Assert.Equal(discarded, Table("requests").Sum(line => line.Number("discarded")));
        Assert.Equal(discarded, Table("discards").Sum(line => line.Number("count")));
        Assert.Equal(discarded, Table("discards-over-time").Sum(line => line.Number("thrownAway")));
        Assert.Equal(discarded, month.DiscardedByBatch.Sum());
    }

    [Fact]
    public void Use_CountedAgain_IsTheSame() => AssertSame([Assert.Single(Counted.Use()).Value], Table("use"));

    [Fact]
    public void Windows_CountedAgain_AreTheSame() => AssertSame(Counted.Windows(), Table("windows"));

    [Fact]
    public void Spare_CountedAgain_IsTheSame() =>
        AssertSame(Counted.Spare(), [.. Table("spare")], except: "to");

    [Fact]
    public void Planned_CountedAgain_IsTheSame() => AssertSame(Counted.Planned(), Table("planned"));

    [Fact]
    public void LongestDay_CountedAgain_IsTheSameStepByStepAndHourByHour()
    {
        var day = Counted.LongestDay();
        Assert.Equal(day, month.Reports.Day!.Value.ToDateOnly());
        AssertSame(Counted.DaySteps(day), Table("day-by-step"));
        AssertSame(Counted.DayHours(day).Select(hour => ($"{hour.Hour:00}", hour.Cells)), Table("day-by-hour"));
    }

    /// <summary>A finding says no number that its own lines do not give.</summary>
    [Theory]
    [InlineData("day-by-step")]
    [InlineData("day-by-hour")]
    [InlineData("day-happened")]
    [InlineData("time-by-step")]
    [InlineData("time-by-hour")]
    [InlineData("time-by-priority")]
    [InlineData("time-by-assay")]
    [InlineData("time-by-lot")]
    [InlineData("time-by-bench")]
    [InlineData("discards")]
    [InlineData("discards-over-time")]
    [InlineData("requests")]
    [InlineData("use")]
    [InlineData("windows")]
    [InlineData("spare")]
    [InlineData("planned")]
    public void Finding_EveryNumberInIt_IsCountedAgain(string section)
    {
        var day = Counted.LongestDay();
        var (cells, words) = CountedOf(section, day);
        var countable = Recount.Countable(cells);
        // How sure an interval is, is no number of the record.
        var finding = words.Append("95 %").Aggregate(month.Reports.Sections.Single(one => one.Name == section).Finding,
            (text, word) => text.Replace(word, "", StringComparison.Ordinal));
        Assert.All(Regex.Matches(finding, "[0-9]+(:[0-9]{2})+|[0-9]+(\\.[0-9]+)?").Select(number => number.Value),
            number => Assert.True(countable.Contains(number), $"{number} in “{finding}”"));
    }

    /// <summary>What was counted for a finding, and names in it that hold digits.</summary>
    private (IEnumerable<double?[]> Cells, string[] Words) CountedOf(string section, DateOnly day)
    {
        string[] theDay = [$"{day:yyyy-MM-dd}"];
        double?[][] all = [Counted.Results()];
        return section switch
        {
            "day-by-step" => (Counted.DaySteps(day), theDay),
            "day-by-hour" => (Counted.DayHours(day).Select(hour => hour.Cells)
                .Append([Counted.DayHours(day).Sum(hour => hour.Cells[0])]), [.. theDay, .. Hours()]),
            "day-happened" => ([[Recount.Happened(month.Happenings, day).Count]], []),
            "time-by-step" => (Counted.TimeBySteps(), []),
            "time-by-hour" => (all.Concat(Counted.TimeByHour().Select(hour => hour.Cells)), Hours()),
            "time-by-priority" => (Counted.TimeByPriority(), []),
            "time-by-assay" => (Counted.TimeBy("assayName").Values, [.. Counted.TimeBy("assayName").Keys]),
            "time-by-lot" => (Counted.TimeBy("lot").Values, [.. Counted.TimeBy("lot").Keys]),
            "time-by-bench" => (Counted.TimeBy("bench").Values, ["Bench 1"]),
            "discards" => (Counted.Discards().Select(one => one.Cells).Append(Counted.Wasted()), []),
            "discards-over-time" => ([Counted.Wasted(), Counted.DaysBeyond()], [.. Counted.DiscardsOverTime()
                .Select(one => $"{one.Day:yyyy-MM-dd}")]),
            "requests" => ([Counted.RequestDays()], [.. Counted.Requests().Select(one => $"{one.Day:yyyy-MM-dd}")]),
            "use" => (Counted.Use().Values, []),
            "windows" => ([Counted.Reads()], []),
            "spare" => ([Counted.SpareTimes()], []),
            _ => (Counted.Planned().Append(Counted.AsPlanned()), []),
        };
    }

    private string[] Hours() => [.. Counted.TimeByHour().SelectMany(hour =>
        new[] { $"{hour.Hour:00}:00", $"{hour.Hour + 1:00}:00" })];

    [Fact]
    public void Happened_CountedAgain_IsTheSame()
    {
        var counted = Recount.Happened(month.Happenings, Counted.LongestDay());
        Assert.Equal(counted, Table("day-happened").Select(line => (line["at"], line["what"])));
        Assert.Contains(month.Happenings, line => line["event"] == "batch-started");
    }

    [Fact]
    public void WhatIf_TheRecordsOwnSide_CountedAgain_IsTheSame()
    {
        var past = month.Past;
        double?[] shown = [past.Times!.Median, past.Times.Ninth, past.Urgent?.Median, past.Urgent?.Ninth,
            past.MissedPerThousand, past.MissedPerThousandInterval.Low, past.MissedPerThousandInterval.High,
            past.Interruptions?.Share ?? 0];
        Assert.All(Counted.WhatIf().Zip(shown), pair => Assert.Equal(pair.First ?? -1, pair.Second ?? -1, 1e-6));
        Assert.True(past.MissedPerThousand > 0 && past.Interruptions is not null);
    }

    [Fact]
    public void StepTimes_CountedAgain_AreTheSame() =>
        AssertSame(Counted.StepTimes(), CsvTable.Read(string.Concat(month.Steps.Overview.Lines())), except: "step");

    [Fact]
    public void Controls_CountedAgain_AreTheSame()
    {
        var counted = Recount.Controls(month.Lines, 2026, 10);
        Assert.True(counted.Count >= 4);
        Assert.Equal(counted.Select(one => one.Of), month.Controls.Select(one =>
            $"{one.Assay} {one.Control.Lot} {one.Control.Level} {one.Bench}"));
        foreach (var (one, shown) in counted.Zip(month.Controls))
        {
            double?[] cells = [shown.Runs, shown.Accepted.Count == 0 ? null : shown.Accepted.Mean,
                shown.Accepted.StandardDeviation, shown.Accepted.CoefficientOfVariation, shown.Rejected,
                shown.Accepted.Count, shown.NotJudged];
            Assert.All(one.Cells.Zip(cells), pair => Assert.Equal(pair.First ?? -1, pair.Second ?? -1, 1e-9));
            Assert.Equal(one.Rules, string.Join(", ", shown.ByRule.Select(rule =>
                $"{KebabCase.Of(rule.Rule)} {rule.Count}").Order(StringComparer.Ordinal)));
        }
    }

    private List<CsvLine> Table(string name) => CsvTable.Read(string.Concat(
        month.Reports.Sections.Single(section => section.Name == name).Table.Lines()));

    private static void AssertSame(IEnumerable<(string Row, double?[] Cells)> counted, List<CsvLine> table,
        string? except = null)
    {
        var rows = counted.ToList();
        Assert.Equal(rows.Select(row => row.Row), table.Select(line => line[line.Names.First()]));
        AssertSame(rows.Select(row => row.Cells), table, except);
    }

    /// <summary>Every cell but the first of its row, which names it.</summary>
    private static void AssertSame(IEnumerable<double?[]> counted, List<CsvLine> table, string? except = null)
    {
        var rows = counted.ToList();
        Assert.Equal(rows.Count, table.Count);
        Assert.Contains(rows, row => row.Any(cell => cell > 0));
        foreach (var (row, line) in rows.Zip(table))
        {
            var names = line.Names.Skip(1).Where(name => name != except).ToList();
            Assert.Equal(names.Count, row.Length);
            foreach (var (cell, name) in row.Zip(names))
                Assert.True(cell is null ? !line.Has(name) : Math.Abs(cell.Value - line.Number(name)!.Value) <= Rounded,
                    $"{line[line.Names.First()]}, {name}: {cell} counted, {line[name]} shown");
        }
    }
}
