using Bunit;
using Incubation.Clinic.People;
using Incubation.Clinic.Stock;
using Incubation.Server.Doors;
using Incubation.Server.Pages.Stock;
using Incubation.Service.Tests.Support;
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
