using Bunit;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Server.Doors;
using Incubation.Server.Pages.Stock;
using Incubation.Server.Tests.Demo;
using Incubation.Service.Stock;
using Incubation.Service.Tests.Support;
using Incubation.TestKit;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Pages;

/// <summary>The page of lots, without a browser.</summary>
public sealed class LotsPageTest : BunitContext, IAsyncLifetime
{
    private readonly AideInFront front = new();
    private StockHouse? house;

    public LotsPageTest() => JSInterop.Mode = JSRuntimeMode.Loose;

    private StockHouse House => house!;

    public async ValueTask InitializeAsync()
    {
        house = await StockHouse.OpenAsync();
        Services.AddSingleton(House.Clinic);
        Services.AddSingleton(House.Room);
        Services.AddSingleton(House.Desk);
        Services.AddSingleton<ICurrentActor>(front);
        SetRendererInfo(new RendererInfo("Server", isInteractive: true));
    }

    protected override async ValueTask DisposeAsyncCore()
    {
        await base.DisposeAsyncCore();
        if (house is not null)
            await house.DisposeAsync();
    }

    [Fact]
    public void Render_NoLots_SaysWhatToDo() =>
        Assert.Contains("No lots received yet.", Render<LotsPage>().Markup, StringComparison.Ordinal);

    [Fact]
    public async Task Scan_ThenTheRestByHand_IsReceivedAndListed()
    {
        var page = Render<LotsPage>();
        await page.Find("#lot-scan").ChangeAsync(new() { Value = "(01)00844588003288(17)270430(10)DA-7(21)S-1" });
        await page.Find(".scan-field").SubmitAsync();
        Assert.Equal("DA-7", page.Find("#lot-lot").GetAttribute("value"));
        Assert.True(string.IsNullOrEmpty(page.Find("#lot-scan").GetAttribute("value")));
        await page.Find("#lot-assay").ChangeAsync(new() { Value = "DA" });
        await page.Find("#lot-count").ChangeAsync(new() { Value = "25" });
        await page.Find("form.add-request").SubmitAsync();
        Assert.Contains("Received: kit DA-7, 25, until 2027-04-30.", page.Find(".page-status").TextContent,
            StringComparison.Ordinal);
        Assert.Equal(3, page.FindAll("tbody tr").Count);
        Assert.True(string.IsNullOrEmpty(page.Find("#lot-lot").GetAttribute("value")));
    }

    [Fact]
    public async Task Scan_Garbage_FaultBesideTheFieldAndEverythingStays()
    {
        var page = Render<LotsPage>();
        await page.Find("#lot-lot").ChangeAsync(new() { Value = "DA-7" });
        await page.Find("#lot-scan").ChangeAsync(new() { Value = "<b>hello</b>" });
        await page.Find(".scan-field").SubmitAsync();
        Assert.Contains("is not a GS1 code", page.Find("#lot-scan-fault").TextContent, StringComparison.Ordinal);
        Assert.Equal("<b>hello</b>", page.Find("#lot-scan").GetAttribute("value"));
        Assert.Equal("DA-7", page.Find("#lot-lot").GetAttribute("value"));
    }

    [Fact]
    public async Task Receive_SomethingMissing_FaultsBesideTheFields()
    {
        var page = Render<LotsPage>();
        await page.Find("form.add-request").SubmitAsync();
        Assert.Equal("lot-lot-fault", page.Find("#lot-lot").GetAttribute("aria-describedby"));
        Assert.Contains("Something is missing or wrong", page.Find(".page-alert").TextContent,
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task Change_Quarantine_AskedWhyAndRecorded()
    {
        House.Receive("DA-L1", StockHouse.Today.PlusDays(90), 5);
        var page = Render<LotsPage>();
        await page.Find("button[aria-label='Change kit DA-L1']").ClickAsync(new());
        await page.Find("input[value='Quarantine']").ChangeAsync(new() { Value = "Quarantine" });
        await page.Find("#lot-deeds form").SubmitAsync();
        Assert.Equal("Give a reason in a few words.", page.Find("#lot-deed-why-fault").TextContent);
        await page.Find("#lot-deed-why").ChangeAsync(new() { Value = "wet" });
        await page.Find("#lot-deeds form").SubmitAsync();
        Assert.NotNull(House.Clinic.Log.Stock.Find(StockKind.Kit, new Model.LotCode("DA-L1"))!.Quarantine);
        Assert.Contains("in quarantine: wet", page.Find("table").TextContent, StringComparison.Ordinal);
    }

    /// <summary>What was done is not said above what is wrong now: neither of a lot, nor of a reorder point.</summary>
    [Fact]
    public async Task News_OfBefore_IsGoneWhenSomethingIsFaulty()
    {
        front.Who = StockHouse.Somebody(Role.Supervisor);
        House.Receive("DA-L1", StockHouse.Today.PlusDays(90), 5);
        var page = Render<LotsPage>();
        async Task AskAbout(string deed)
        {
            await page.Find("button[aria-label='Change kit DA-L1']").ClickAsync(new());
            await page.Find($"input[value='{deed}']").ChangeAsync(new() { Value = deed });
            await page.Find("#lot-deeds form").SubmitAsync();
        }

        await AskAbout("Open");
        Assert.NotEqual("", page.Find(".page-status").TextContent.Trim());
        await AskAbout("Quarantine");
        Assert.NotEqual("", page.Find("#lot-deed-why-fault").TextContent);
        Assert.Equal("", page.Find(".page-status").TextContent.Trim());

        await page.Find("#reorder-least").ChangeAsync(new() { Value = "3" });
        await page.Find("form:has(#reorder-least)").SubmitAsync();
        Assert.NotEqual("", page.Find(".page-status").TextContent.Trim());
        await page.Find("#reorder-least").ChangeAsync(new() { Value = "none" });
        await page.Find("form:has(#reorder-least)").SubmitAsync();
        Assert.NotEqual("", page.Find("#reorder-least-fault").TextContent);
        Assert.Equal("", page.Find(".page-status").TextContent.Trim());
    }

    /// <summary>
    /// Every number and word of both tables, counted again from their files alone, read by CsvHelper.
    /// </summary>
    [Fact]
    public async Task Lots_EachRowOfThePage_IsCountedAgainFromTheirFiles()
    {
        front.Who = StockHouse.Somebody(Role.Supervisor);
        House.Receive("DA-L1", StockHouse.Today.PlusDays(90), 40);
        House.Receive("DA-L1", StockHouse.Today.PlusDays(90), 5);
        House.Receive("DA-L2", StockHouse.Today.PlusDays(9), 7);
        House.Receive("DA-L3", StockHouse.Today.PlusDays(60), 11);
        House.Receive("DA-L4", StockHouse.Today.PlusDays(-1), 13);
        House.Say(new ClinicEvent.StockQuarantined(StockKind.Kit, new LotCode("DA-L3"), "=wet"));
        House.Say(new ClinicEvent.StockReceived(StockKind.Control, new LotCode("CTRL-7"), null,
            StockHouse.Today.PlusDays(200), 4, null, null));
        House.Say(new ClinicEvent.StockCounted(StockKind.Kit, new LotCode("DA-L1"), 42, "three fell"));
        House.Say(new ClinicEvent.ReorderPointSet(StockKind.Kit, StockHouse.Assay, 43));
        House.Say(new ClinicEvent.ReorderPointSet(StockKind.Control, null, 4));
        House.Say(new ClinicEvent.StockFinished(StockKind.ReaderCard, new LotCode("DA-L4")));
        var files = new StockFiles(House.Clinic, House.Room, House.Clock);
        var lots = CsvTable.Read(string.Concat(files.Lots()));
        var points = CsvTable.Read(string.Concat(files.ReorderPoints()));

        var page = Render<LotsPage>();
        await page.Find("#lot-shown").ChangeAsync(new() { Value = nameof(StockShown.All) });
        Assert.Equal(13, lots.Count);
        Assert.Equal(
            lots.Select(line => string.Join(" | ", line["lot"], Words[line["kind"]], line["assay"], line["lastDay"],
                line["lastReceived"][..10], line["left"].Length == 0 ? "–" : line["left"], line["standing"]))
                .Order(StringComparer.Ordinal),
            Rows(page, "lots-title").Select(row => string.Join(" | ", row.Take(7))).Order(StringComparer.Ordinal));
        Assert.All(lots, line => Assert.Equal(line.Number("left"), line.Number("counted") - line.Number("used")));
        var kit = lots.Single(line => line["kind"] == "kit" && line["lot"] == "DA-L1");
        Assert.Equal(("2", "45", "42", "0", "42"), (kit["deliveries"], kit["received"], kit["counted"], kit["used"],
            kit["left"]));
        Assert.Equal(("'=wet", "no"), lots.Where(line => line.Has("quarantined"))
            .Select(line => (line["quarantineWords"], line["mayBeUsed"])).Single());

        double Sum(CsvLine point, string counts) => lots.Where(line => line["kind"] == point["kind"]
            && line["assay"] == point["assay"] && line["reorderCounts"] == counts)
            .Sum(line => Math.Max(0, line.Number("left") ?? 0));
        Assert.Equal([("kit", 42d, 7d, "yes"), ("control", 4d, 0d, "no")],
            points.Select(point => (point["kind"], Sum(point, "yes"), Sum(point, "soon"), point["order"])));
        Assert.Equal(
            points.Select(point => string.Join(" | ", point["order"] == "yes" ? "order" : "enough",
                Sum(point, "yes"), point["least"], Sum(point, "soon"))),
            Rows(page, "reorder-title").Select(row => string.Join(" | ", row.Skip(1).Take(4))));
        Assert.Equal(["stock.csv", "stock/reorder.csv"],
            page.FindAll("a[download]").Select(link => link.GetAttribute("href")));
    }

    /// <summary>Who may not save reports finds no link.</summary>
    [Fact]
    public void Files_ForAnAide_AreNotOffered() => Assert.Empty(Render<LotsPage>().FindAll("a[download]"));

    /// <summary>The room's README says of every column what it holds.</summary>
    [Fact]
    public void Files_EachColumn_StandsInTheReadme()
    {
        var readme = CommittedFile.Read("src/Incubation.Records/README.md");
        var from = readme.IndexOf("## Lots and reorder points as CSV", StringComparison.Ordinal);
        var section = readme[from..readme.IndexOf("\n## ", from + 1, StringComparison.Ordinal)];
        var files = new StockFiles(House.Clinic, House.Room, House.Clock);
        Assert.All(files.Lots().First().Trim().Split(',').Concat(files.ReorderPoints().First().Trim().Split(',')),
            name => Assert.Contains($"`{name.Trim('"')}`", section, StringComparison.Ordinal));
    }

    private static readonly Dictionary<string, string> Words = new()
    {
        ["kit"] = "kit",
        ["buffer"] = "buffer",
        ["reader-card"] = "reader card",
        ["control"] = "control material",
    };

    private static IEnumerable<List<string>> Rows(IRenderedComponent<LotsPage> page, string section) =>
        page.FindAll($"section[aria-labelledby={section}] tbody tr")
            .Select(row => row.Children.Select(cell => cell.TextContent.Trim()).ToList());

    [Fact]
    public async Task Sort_ByLotTwice_TurnsTheOrderRound()
    {
        House.Receive("DA-L1", StockHouse.Today.PlusDays(90), 5);
        House.Receive("DA-L2", StockHouse.Today.PlusDays(9), 5);
        var page = Render<LotsPage>();
        await page.FindAll("button.sort")[0].ClickAsync(new());
        Assert.Equal("DA-L1", page.Find("tbody th").TextContent);
        await page.FindAll("button.sort")[0].ClickAsync(new());
        Assert.Equal("DA-L2", page.Find("tbody th").TextContent);
        Assert.Equal("descending", page.FindAll("thead th")[0].GetAttribute("aria-sort"));
    }
}
