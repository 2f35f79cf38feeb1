using Bunit;
using Incubation.Bench;
using Incubation.Clinic.Programme;
using Incubation.Model.Controls;
using Incubation.Server.Pages.Programme;
using Incubation.Server.Tests.Demo;
using Incubation.Service.Programme;
using Incubation.Service.Tests.Support;

namespace Incubation.Server.Tests.Pages;

/// <content>Comparisons of lots and rounds of proficiency testing.</content>
public sealed partial class ProgrammeFilesTest
{
    /// <summary>
    /// Of the record and typed, one amended since, one that does not count: every difference, their mean and what comes
    /// of it.
    /// </summary>
    [Theory]
    [InlineData(nameof(DifferenceUnit.Percent), "5", "2")]
    [InlineData(nameof(DifferenceUnit.Percent), "9.9", "2")]
    [InlineData(nameof(DifferenceUnit.Units), "1.2", "3")]
    [InlineData(nameof(DifferenceUnit.Units), "4", "4")]
    public async Task Comparison_EachNumberOfItsPages_IsCountedAgainFromItsFiles(string unit, string largest,
        string specimens)
    {
        await PlayComparison(unit, largest, specimens);
        var one = Programme.Comparisons.Find(1)!;
        var pairs = Read(Programme.Comparisons.File(one));
        var all = Assert.Single(Read(Programme.Comparisons.File()));
        decimal Number(CsvLine line, string name) => decimal.Parse(line[name], Invariant);
        var percent = all["differenceUnit"] == "percent";
        var shownUnit = percent ? "%" : all["unit"];
        var (rows, counted) = (new List<string>(), new List<decimal>());
        foreach (var line in pairs)
        {
            var far = Number(line, "newValue") - Number(line, "oldValue");
            far = percent ? far / Number(line, "oldValue") * 100 : far;
            Assert.Equal((double)far, line.Number("difference")!.Value, 1e-6);
            var isBeyond = Math.Abs(far) > Number(line, "largest");
            Assert.Equal(isBeyond ? "yes" : "no", line["beyond"]);
            if (!line.Has("removed"))
                counted.Add(far);
            rows.Add(string.Join(" | ", line["specimen"].TrimStart('\''), Signed(far),
                Plain(Number(line, "oldValue")), Plain(Number(line, "newValue")),
                string.Join(" · ", new[]
                {
                    line.Has("removed") ? $"does not count: {line["removed"]}" : "",
                    isBeyond ? "beyond the limit" : "",
                    line.Has("changed") ? $"amended since to {line["changed"]}" : "",
                }.Where(part => part.Length > 0))));
        }

        Assert.Equal(4, rows.Count);
        Assert.Contains(pairs, line => line["changed"] == "44");
        var mean = counted.Sum() / counted.Count;
        var (word, verdict) = counted.Count < Number(all, "specimensNeeded") ? ("too-few", "too few specimens")
            : Math.Abs(mean) <= Number(all, "largest") ? ("within", "within the limit")
            : ("beyond", "beyond the limit");
        Assert.Equal((word, (double)counted.Count), (all["verdict"], all.Number("specimens")!.Value));
        Assert.Equal((double)mean, all.Number("meanDifference")!.Value, 1e-6);

        var page = Render<ComparisonPage>(with => with.Add(shown => shown.Number, 1));
        var table = page.WaitForElement("[aria-labelledby=pairs-title] tbody").Children;
        // The first cell says below the specimen where its results come from; the last has a button.
        Assert.Equal(rows, table.Select(row => string.Join(" | ", row.Children.Take(5)
            .Select(cell => cell.FirstChild?.TextContent.Trim()))));
        var facts = page.FindAll(".record-facts dd").Select(fact => fact.TextContent.Trim()).ToList();
        Assert.Equal(($"{Signed(mean)} {shownUnit}", verdict), (facts[1], facts[2]));
        Assert.Contains($"up to {Plain(Number(all, "largest"))} {shownUnit}, at least {all["specimensNeeded"]} ",
            facts[0], StringComparison.Ordinal);
        var list = Render<ComparisonsPage>().FindAll("tbody tr")[0].Children.Select(cell => cell.TextContent.Trim())
            .ToList();
        Assert.Equal([$"{Signed(mean)} {shownUnit}", $"{counted.Count} / {all["specimensNeeded"]}", verdict],
            list[1..4]);
    }

    /// <summary>What was done is not said above what is wrong now.</summary>
    [Fact]
    public async Task Comparison_APairRemovedWithoutAReason_TakesTheLastSuccessAway()
    {
        await PlayComparison(nameof(DifferenceUnit.Percent), "5", "2");
        var page = Render<ComparisonPage>(with => with.Add(shown => shown.Number, 1));
        page.WaitForElement("#pair-label");
        foreach (var (field, value) in new[] { ("label", "stored 3"), ("old", "20"), ("new", "21") })
            await page.Find($"#pair-{field}").ChangeAsync(new() { Value = value });
        await page.Find("form:has(#pair-label)").SubmitAsync();
        Assert.NotEqual("", page.Find(".page-status").TextContent.Trim());

        await page.FindAll("[aria-labelledby=pairs-title] tbody button")[0].ClickAsync(new());
        await page.Find("form:has(#pair-why)").SubmitAsync();
        Assert.NotEqual("", page.Find("#pair-why-fault").TextContent);
        Assert.Equal("", page.Find(".page-status").TextContent.Trim());
    }

    [Fact]
    public async Task Proficiency_EachNumberOfItsPages_IsInItsFile()
    {
        await PlayRounds();
        var file = Read(Programme.Proficiency.File());
        var lines = file.Where(line => line["round"] == "1").ToList();
        var page = Render<ProficiencyRoundPage>(with => with.Add(round => round.Number, 1));
        page.WaitForElement("tbody tr");
        Assert.Equal(lines.Select(line => string.Join(" | ", line["specimen"], line["assay"], Or(line["value"]),
                Or(line["reported"]), Or(line["grade"]), line.Has("target") ? Plain(decimal.Parse(line["target"],
                    Invariant)) : "–")),
            page.FindAll("tbody tr").Select(row => string.Join(" | ", row.Children.Take(6)
                .Select(cell => cell.FirstChild!.TextContent.Trim()))));
        Assert.Equal([("4.2", "satisfactory"), ("8", "unsatisfactory")],
            lines.Select(line => (line["reported"], line["grade"])));
        Assert.Equal([lines[0]["due"], lines[0]["status"]],
            page.FindAll(".record-facts dd").Take(2).Select(fact => fact.TextContent.Trim()));
        var cancelled = file.Single(line => line["round"] == "2");
        Assert.Contains($"{cancelled["cancelled"]} · {cancelled["cancelledBy"]} · "
            + Berlin(cancelled.Time("cancelledAt")!.Value),
            Render<ProficiencyRoundPage>(with => with.Add(round => round.Number, 2)).WaitForElement(".record-facts")
                .TextContent, StringComparison.Ordinal);

        var list = Render<ProficiencyPage>();
        Assert.Equal(file.GroupBy(line => line["round"]).Reverse().Select(round =>
                $"{round.First()["due"]} | {round.Count()} | {round.First()["status"]}"),
            list.FindAll("tbody tr").Select(row => string.Join(" | ", row.Children.Skip(1)
                .Select(cell => cell.TextContent.Trim()))));
    }

    private async Task PlayComparison(string unit, string largest, string specimens)
    {
        Programme.ReceiveNew();
        var kit = ControlsHouse.Kit;
        await Programme.Run("SP-1", kit, "10");
        await Programme.Run("SP-1", ProgrammeHouse.NewKit, "10.7");
        await Programme.Run("SP-2", kit, "40");
        var amended = await Programme.Run("SP-2", ProgrammeHouse.NewKit, "41");
        var (number, faults) = await Programme.Comparisons.BeginAsync(ControlsHouse.Ines, new ComparisonForm
        {
            Assay = "DA",
            New = "DA-L2",
            Old = "DA-L1",
            Largest = largest,
            Unit = unit,
            Specimens = specimens,
        });
        Assert.Empty(faults);
        foreach (var pair in Programme.Comparisons.Offered(Programme.Comparisons.Find(number!.Value)!))
            Assert.True((await Programme.Comparisons.AddAsync(ControlsHouse.Ines, 1, pair)).IsDone);
        foreach (var (label, old, now) in new[] { ("=stored", "3", "3.7"), ("stored 2", "20", "90") })
            Assert.Empty(await Programme.Comparisons.EnterAsync(ControlsHouse.Ines, 1,
                new PairForm { Label = label, Old = old, New = now }));
        Assert.True((await Programme.Comparisons.RemoveAsync(ControlsHouse.Ines, 1, 4, "Typed wrongly.")).IsDone);
        await House.Must(new BenchCommand.AmendResult(amended.Id, new ShownResult.Value("44"), "Read again."));
    }

    /// <summary>A round that is run, reported and graded, and one that is not run.</summary>
    private async Task PlayRounds()
    {
        var desk = Programme.Proficiency;
        foreach (var specimens in new[] { "PT-1, PT-2", "PT-9" })
        {
            var form = new RoundForm
            {
                Programme = "Invented programme",
                Name = specimens,
                Specimens = specimens,
                Due = "2026-03-09",
            };
            form.Assays.Add("DA");
            Assert.Empty(desk.Receive(ControlsHouse.Ines, form).Faults);
        }

        Assert.True(desk.Cancel(ControlsHouse.Ines, 2, "The vials came broken.").IsDone);
        Assert.True((await desk.AddAsync(ControlsHouse.Ines, 1, "bench-1")).IsDone);
        await House.Must(new BenchCommand.StartBatch());
        foreach (var (cartridge, value) in House.State.Cartridges.Zip(["4.2", "8"]))
        {
            await House.RunThrough(cartridge);
            await House.Must(new BenchCommand.ResultEntered(cartridge.Id, new ShownResult.Value(value)));
        }

        Assert.True(desk.Report(ControlsHouse.Ines, 1, "On its portal.").IsDone);
        var items = desk.Find(1)!.Items;
        Assert.Empty(desk.Grade(ControlsHouse.Ines, 1, items[0], new GradeForm { Target = "4,30" }));
        Assert.Empty(desk.Grade(ControlsHouse.Ines, 1, items[1], new GradeForm
        {
            Grade = nameof(ProficiencyGrade.Unsatisfactory),
            Note = "The bottle was old.",
        }));
    }

    private static string Signed(decimal value) => value.ToString("+0.##;−0.##;0", Invariant);

    private static string Or(string text) => text.Length > 0 ? text : "–";
}
