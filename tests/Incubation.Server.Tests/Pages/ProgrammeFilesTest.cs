using System.Globalization;
using AngleSharp.Dom;
using Bunit;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Clinic;
using Incubation.Server.Doors;
using Incubation.Server.Pages.Controls;
using Incubation.Server.Tests.Demo;
using Incubation.Service.Commands;
using Incubation.Service.Controls;
using Incubation.Service.Programme;
using Incubation.Service.Record;
using Incubation.Service.Stock;
using Incubation.Service.Tests.Support;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging.Abstractions;

namespace Incubation.Server.Tests.Pages;

/// <summary>
/// What the pages of controls and of the control programme show, counted again from their files alone: read by
/// CsvHelper, with arithmetic of its own.
/// </summary>
public sealed partial class ProgrammeFilesTest : BunitContext, IAsyncLifetime
{
    private static readonly CultureInfo Invariant = CultureInfo.InvariantCulture;
    private ProgrammeHouse? programme;

    private ProgrammeHouse Programme => programme!;

    private ControlsHouse House => Programme.House;

    public async ValueTask InitializeAsync()
    {
        programme = await ProgrammeHouse.OpenAsync();
        JSInterop.Mode = JSRuntimeMode.Loose;
        Services.AddSingleton(House.Clinic);
        Services.AddSingleton(House.Desk);
        Services.AddSingleton(House.Clock);
        Services.AddSingleton(new StockSettings(30));
        Services.AddSingleton(Programme.Means);
        Services.AddSingleton(Programme.Comparisons);
        Services.AddSingleton(Programme.Proficiency);
        Services.AddSingleton(new AccessLog(House.Clinic, House.Clock,
            new WriteBudget(House.Clock, WriteBudget.UsualRate), NullLogger<AccessLog>.Instance));
        Services.AddSingleton<ICurrentActor>(new Ines());
        SetRendererInfo(new RendererInfo("Server", isInteractive: true));
    }

    protected override async ValueTask DisposeAsyncCore()
    {
        await base.DisposeAsyncCore();
        if (programme is not null)
            await programme.DisposeAsync();
    }

    /// <summary>
    /// Controls that drift, leap, are amended, set aside and put right, under rules that change: each number and each
    /// word of the table behind the chart, and the chart's own lines.
    /// </summary>
    [Theory]
    [InlineData(1)]
    [InlineData(5)]
    [InlineData(3)]
    public void Controls_EachRowOfThePage_IsCountedAgainFromTheirFile(int seed)
    {
        PlayControls(new Random(seed));
        var file = Read(new ControlFiles(House.Clinic, Programme.Book).Judgements("DA", "bench-1"));
        var judged = ControlRecount.Of(file);
        Assert.All(judged, one => one.AssertAsInFile());
        foreach (var rule in Enum.GetValues<ControlRule>())
            Assert.Contains(judged, one => one.Rules.Contains(KebabCase.Of(rule), StringComparison.Ordinal));
        Assert.Contains(judged, one => one.Verdict == "set-aside");
        Assert.Contains(judged, one => one.Line["superseded"] == "yes");

        var page = Render<ControlsPage>();
        foreach (var level in new[] { "1", "2" })
        {
            page.Find("#pick-control").Change($"{level}/CTRL-7");
            var shown = judged.Where(one => one.Line["controlLevel"] == level)
                .OrderBy(one => one.Line.Time("takenOut")).ThenBy(one => one.Line.Number("revision")).TakeLast(60)
                .Reverse().ToList();
            Assert.Equal(60, shown.Count);
            page.WaitForAssertion(() => Assert.Equal(shown.Select(RowOf),
                page.FindAll("[aria-labelledby=chart-title] tbody tr")
                    .Select(row => string.Join(" | ", row.Children.Select(cell => cell.TextContent.Trim())))));
            var first = shown[0].Line;
            Assert.Superset(Enumerable.Range(-3, 7).Select(at => Plain(decimal.Parse(first["chartMean"], Invariant)
                    + (at * decimal.Parse(first["chartDeviation"], Invariant)))).ToHashSet(),
                page.FindAll("[aria-labelledby=chart-title] .cc-soft").Select(text => text.TextContent).ToHashSet());
        }
    }

    [Fact]
    public async Task MovingMean_EachRowOfThePage_IsCountedAgainFromItsFile()
    {
        Assert.Empty(Programme.Means.Set(ControlsHouse.Ines, ControlsHouse.Da, new MovingMeanForm
        {
            Weight = "0,3",
            Center = "10",
            Low = "8",
            High = "12.5",
        }));
        foreach (var (at, value) in new[] { "12", "7.25", "<0.5", "31", "11", "2" }.Index())
            await Programme.Run($"SP-{at}", ControlsHouse.Kit, value);
        var file = Read(Programme.Means.File(ControlsHouse.Da, ControlsHouse.BenchOne)!);
        var mean = decimal.Parse(file[0]["center"], Invariant);
        var counted = new List<string>();
        foreach (var line in file)
        {
            var weight = decimal.Parse(line["weight"], Invariant);
            mean = (mean * (1 - weight)) + (decimal.Parse(line["value"], Invariant) * weight);
            Assert.Equal((double)mean, line.Number("mean")!.Value, 1e-9);
            var isInside = mean >= decimal.Parse(line["low"], Invariant)
                && mean <= decimal.Parse(line["high"], Invariant);
            Assert.Equal(isInside ? "inside" : "outside", line["verdict"]);
            counted.Add($"{Berlin(line.Time("read")!.Value)} | {((double)mean).ToString("G4", Invariant)} | "
                + (isInside ? ProgrammePageWords.MeanInside : ProgrammePageWords.MeanOutside));
        }

        Assert.Equal(["12", "7.25", "31", "11", "2"], file.Select(line => line["value"]));
        var page = Render<ControlsPage>();
        page.WaitForAssertion(() => Assert.Equal(counted.AsEnumerable().Reverse(),
            page.FindAll("[aria-labelledby=mean-heading] tbody tr")
                .Select(row => string.Join(" | ", row.Children.Select(cell => cell.TextContent.Trim())))));
        Assert.Equal(["controls/moving-mean.csv?assay=DA&bench=bench-1"],
            page.FindAll("[aria-labelledby=mean-heading] a[download]").Select(link => link.GetAttribute("href")));
    }

    /// <summary>What the page should say of a control, cell by cell.</summary>
    private static string RowOf(ControlRecount.Judged one)
    {
        var line = one.Line;
        var verdict = one.Verdict switch
        {
            "accepted" => one.Rules.Length == 0 ? "accepted" : "accepted, with a warning",
            "rejected" => "rejected",
            "set-aside" => "set aside: its result waits for a supervisor",
            _ => "not judged",
        };
        string[] standing = [verdict, line["superseded"] == "yes" ? "superseded" : "",
            line["cause"] == "amended" ? "result amended" : ""];
        var rules = one.Rules.Split(' ', StringSplitOptions.RemoveEmptyEntries)
            .Select(rule => rule.Split(':'))
            .Select(rule => rule.Length == 1 ? Names[rule[0]]
                : $"{Names[rule[0]]} with {rule[1].Replace("+", ", ", StringComparison.Ordinal)}").ToList();
        return string.Join(" | ", Berlin(line.Time("takenOut")!.Value), line["request"], line["kitLot"], line["shown"],
            one.Z is { } z ? z.ToString("+0.00;−0.00;0.00", Invariant) : "–",
            string.Join(" · ", standing.Where(part => part.Length > 0)),
            rules.Count > 0 ? string.Join("; ", rules) : one.Verdict == "rejected" ? ControlsWords.BeyondRange : "–");
    }

    private static readonly Dictionary<string, string> Names = new()
    {
        ["one-two-s"] = "1-2s",
        ["one-three-s"] = "1-3s",
        ["two-two-s"] = "2-2s",
        ["r-four-s"] = "R-4s",
        ["four-one-s"] = "4-1s",
        ["ten-x"] = "10x",
    };

    private void PlayControls(Random random)
    {
        Assert.True(House.Desk.SetTargetAsync(ControlsHouse.Ines, ControlsHouse.Da, "CTRL-7", 1, "200", "4").Result
            .Count == 0);
        Assert.True(House.Desk.SetTargetAsync(ControlsHouse.Ines, ControlsHouse.Da, "CTRL-7", 2, "250", "5").Result
            .Count == 0);
        var drift = 0;
        for (var number = 0; number < 300; number++)
        {
            House.Time.Advance(TimeSpan.FromMinutes(random.Next(1, 400)));
            if (random.Next(14) == 0)
                drift = random.Next(-8, 9);
            var lot = new LotCode(number < 120 ? "DA-L1" : "DA-L2");
            var level = random.Next(1, 3);
            var at = House.Clock.Now;
            Judge(new ControlRun(new RequestId($"C{number:000}"), ControlsHouse.BenchOne, 1 + (number / 2),
                ControlsHouse.Da, lot, new ControlMaterial(new LotCode("CTRL-7"), level), 0, at, at, "", null, null, [],
                ControlVerdict.NotJudged), level, drift, random);
            ChangeSomething(lot, random);
        }
    }

    /// <summary>A value near the target, or none; as the reader shows it.</summary>
    private void Judge(ControlRun run, int level, int drift, Random random)
    {
        var (mean, deviation) = level == 1 ? (200, 4) : (250, 5);
        var shown = random.Next(25) switch
        {
            0 => ">500",
            1 => "",
            < 7 => Plain(mean + (deviation * (random.Next(2) == 0 ? 2.5m : -2.5m))),
            _ => Plain(mean + (deviation * (drift + random.Next(-9, 10)) / 4m)),
        };
        decimal? value = decimal.TryParse(shown, Invariant, out var number) ? number : null;
        Record(new ClinicEvent.ControlJudged(House.Clinic.Log.Controls.Of(run.Lot).Judged(run with
        {
            Shown = shown,
            Value = value,
            JudgedAt = House.Clock.Now,
            Target = House.Clinic.Log.Controls.TargetAt(run.Assay, run.Control, run.At),
        }, House.Clinic.Log.Controls.RulesOf(run.Assay))));
    }

    private void ChangeSomething(LotCode lot, Random random)
    {
        House.Time.Advance(TimeSpan.FromSeconds(30));
        var history = House.Clinic.Log.Controls.Of(lot);
        var earlier = history.Present.ElementAt(random.Next(history.Present.Count()));
        switch (random.Next(16))
        {
            case 0:
                Judge(earlier with { Cause = JudgementCause.Amended }, earlier.Control.Level, 0, random);
                break;
            case 1 when earlier.Verdict != ControlVerdict.SetAside:
                Record(new ClinicEvent.ControlJudged(history.SetAside(earlier, House.Clock.Now,
                    JudgementCause.NotToBeJudged)));
                break;
            case 2 when history.AwaitingAction.Count > 0:
                Record(new ClinicEvent.CorrectiveActionTaken(lot,
                    [.. history.AwaitingAction.Select(run => run.Request)], "An old vial.", "A new vial."));
                break;
            case 3:
                Record(new ClinicEvent.ControlRulesSet(ControlsHouse.Da, ControlRules.All.With(
                    (ControlRule)random.Next(6), random.Next(3) > 0)));
                break;
        }
    }

    private void Record(ClinicEvent happened) => Assert.IsType<ClinicOutcome.Recorded>(
        House.Clinic.Log.Record(happened, House.Provenance()));

    private static List<CsvLine> Read(IEnumerable<string> lines) => CsvTable.Read(string.Concat(lines));

    private static string Plain(decimal value) => value.ToString("0.######", Invariant);

    private static string Berlin(DateTimeOffset at) => TimeZoneInfo.ConvertTime(at,
        TimeZoneInfo.FindSystemTimeZoneById("Europe/Berlin")).ToString("yyyy-MM-dd HH:mm:ss", Invariant);

    private sealed class Ines : ICurrentActor
    {
        public ValueTask<Actor?> GetAsync() => new(ControlsHouse.Ines);
    }
}
