using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Clinic;
using Microsoft.Playwright;
using NodaTime;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>The pages of the control programme, as a supervisor uses them.</summary>
public sealed class ProgrammePagesTest(Browser browser, ProgrammePagesTest.Demo demo)
    : IClassFixture<ProgrammePagesTest.Demo>
{
    private static readonly AssayCode Assay = new("DA");
    private static readonly LotCode Next = new("DA-L8");

    private readonly ServerProcess server = demo.Server;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task ALotIsComparedTypedAndAccepted()
    {
        var page = await browser.Open(server, "comparisons");
        await Good(page, "comparisons-none");
        await page.Locator("#compare-new").SelectOptionAsync(Next.Value);
        await page.Locator("#compare-old").SelectOptionAsync("DA-L1");
        await page.Locator("#compare-largest").FillAsync("10");
        await page.Locator("#compare-specimens").FillAsync("2");
        await page.Locator("#compare-specimens").PressAsync("Enter");
        // What is filled in before the page's line stands is gone when it does.
        await page.WaitForSelectorAsync("[data-interactive=true] #pair-label");
        foreach (var (label, old, now) in new[] { ("stored 1", "10", "10.5"), ("stored 2", "40", "46") })
        {
            await page.Locator("#pair-label").FillAsync(label);
            await page.Locator("#pair-old").FillAsync(old);
            await page.Locator("#pair-new").FillAsync(now);
            await page.Locator("#pair-new").PressAsync("Enter");
            await Assertions.Expect(page.Locator("main table").First).ToContainTextAsync(label);
        }

        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("+10 %");
        await Good(page, "comparison");
        await page.Locator("#settle-why").FillAsync("The mean is within the limit.");
        await page.GetByRole(AriaRole.Button, new() { Name = $"Accept lot {Next}" }).ClickAsync();
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("is accepted");
        await page.EmulateMediaAsync(new() { Media = Media.Print });
        await Pictures.Keep(page, "comparison-print");
        await page.EmulateMediaAsync(new() { Media = Media.Screen });
        await page.GotoAsync(new Uri(server.Address, "comparisons").ToString());
        await Assertions.Expect(page.Locator("main table")).ToContainTextAsync("within the limit");
        await Good(page, "comparisons");
    }

    [Fact]
    public async Task ARoundIsReceivedAndPutOnTheBatch()
    {
        var page = await browser.Open(server, "proficiency");
        await page.Locator("#round-programme").FillAsync("Invented programme");
        await page.Locator("#round-name").FillAsync("2026-A");
        await page.Locator("#round-due").FillAsync("2030-01-01");
        await page.Locator("#round-specimens").FillAsync("PT-1, PT-2");
        await page.Locator("#round-assay-DA").CheckAsync();
        await Good(page, "proficiency-form");
        await page.Locator("#round-specimens").PressAsync("Enter");
        await page.WaitForSelectorAsync("[data-interactive=true] #round-how");
        await Assertions.Expect(page.Locator("main table")).ToContainTextAsync("not requested");
        await page.GetByRole(AriaRole.Button, new() { Name = "Add to the batch" }).ClickAsync();
        await Assertions.Expect(page.Locator("main table")).ToContainTextAsync("on the batch");
        await Good(page, "proficiency-round");
        await page.Locator("#round-how").FillAsync("On its portal.");
        await page.Locator("#round-how").PressAsync("Enter");
        await Assertions.Expect(page.Locator("#round-how-fault")).ToContainTextAsync("has no result");
        await page.GotoAsync(new Uri(server.Address, "proficiency").ToString());
        await Assertions.Expect(page.Locator("main table")).ToContainTextAsync("run and report");
        await Good(page, "proficiency");
    }

    [Fact]
    public async Task WhatIsBelowItsNumber_IsOrderedOnThePageAndAtHome()
    {
        var page = await browser.Open(server, "lots");
        await page.Locator("#reorder-least").FillAsync("50000");
        await page.Locator("#reorder-least").PressAsync("Enter");
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("is ordered below 50000");
        await Good(page, "reorder");
        await page.GotoAsync(server.Address.ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await Good(page, "reorder-home");
    }

    [Fact]
    public async Task AMovingMean_IsSetBesideTheControlsChart()
    {
        await using var month = await ServerProcess.StartMonth(Cancel);
        var page = await browser.Open(month, "controls");
        foreach (var (field, value) in new[] { ("center", "10"), ("low", "8"), ("high", "12"), ("weight", "0.2") })
            await page.Locator($"#mean-{field}").FillAsync(value);
        await page.Locator("#mean-weight").PressAsync("Enter");
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("The moving mean is saved");
        await Assertions.Expect(page.Locator("[aria-labelledby=mean-heading] .control-chart")).ToHaveCountAsync(1);
        await Good(page, "moving-mean");
    }

    /// <summary>
    /// The lot that is compared has come in. A comparison, a round and a least number are apart from each other.
    /// </summary>
    public sealed class Demo() : OneServer(cancel => ServerProcess.StartDemo(cancel), async (server, cancel) =>
    {
        await server.Kill(cancel);
        ReceiveNext(server.DataFile);
        await server.Start(cancel);
    });

    /// <summary>No rule of WCAG is broken, and nothing lies off the edge of a phone.</summary>
    private static async Task Good(IPage page, string name)
    {
        await Pictures.KeepWhole(page, name);
        Assert.Empty(await page.WcagFaults());
        await page.SetViewportSizeAsync(360, 740);
        Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= 360);
        await page.SetViewportSizeAsync(1280, 800);
    }

    private static void ReceiveNext(string path)
    {
        using var file = DataFile.Open(path);
        var clinic = ClinicLog.Open(file);
        var now = SystemClock.Instance.GetCurrentInstant();
        var until = now.InUtc().Date.PlusDays(300);
        foreach (var kind in new[] { StockKind.Kit, StockKind.Buffer, StockKind.ReaderCard })
            Assert.IsType<ClinicOutcome.Recorded>(clinic.Record(
                new ClinicEvent.StockReceived(kind, Next, Assay, until, 25, null, null),
                new Provenance(new ReportId(Guid.NewGuid().ToString("N")), now, now, new PersonId("ines"),
                    new DeviceId("server"))));
    }
}
