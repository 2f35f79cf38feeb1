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

/// <summary>
/// A held result stays on the list of what waits for a decision when its batch is closed and the next one begun, and
/// when the server is killed while the list stands open; only a decision takes it away.
/// </summary>
public sealed class DecisionsAfterTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task HeldResult_ItsBatchClosedAndTheServerKilled_StaysOnTheOpenListUntilItIsDecided()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R06"], Cancel);
        await Hold(server);
        var list = await browser.Open(1280, 800);
        await server.SignIn(list, "ines", Cancel);
        await Go(server, list, "decisions");
        var rows = list.Locator(".decision-list tbody tr");
        await Assertions.Expect(rows).ToHaveCountAsync(1);
        const string What = "the reader showed another specimen id";
        await Assertions.Expect(rows.Locator(".under").First).ToContainTextAsync(What);

        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "lena", Cancel);
        await Go(server, page, "batch/bench-1");
        await page.Locator("#close-batch").ClickAsync();
        await page.Locator("#confirm-close .dialog-actions .button-primary").ClickAsync();
        await Assertions.Expect(page.Locator("h1")).ToContainTextAsync("2");
        // The same one, now of a closed batch: its record is where it is decided.
        await Assertions.Expect(rows.Locator("a[href^='record/bench-1/1/release']")).ToHaveCountAsync(1);
        await Assertions.Expect(rows).ToHaveCountAsync(1);
        await Assertions.Expect(rows.Locator(".under").First).ToContainTextAsync(What);

        await server.Kill(Cancel);
        await Assertions.Expect(list.Locator(".connection-banner")).ToBeVisibleAsync();
        // What came to wait meanwhile stands on it too when the page is back by itself.
        RequireAComparison(server.DataFile);
        await server.Start(Cancel);
        await Assertions.Expect(rows).ToHaveCountAsync(2);
        await Assertions.Expect(list.Locator(".connection-banner")).ToBeHiddenAsync();
        await Assertions.Expect(rows.Filter(new() { HasText = What })).ToHaveCountAsync(1);
        foreach (var width in new[] { 360, 1280 })
        {
            await list.SetViewportSizeAsync(width, 800);
            Assert.Empty(await list.WcagFaults());
            Assert.True(await list.EvaluateAsync<int>("document.documentElement.scrollWidth") <= width);
            await Pictures.Keep(list, $"decisions-after-{width}");
        }

        await list.WaitForSelectorAsync("[data-interactive=true]");
        await rows.Locator("a[href^='record/bench-1/1/release']").ClickAsync();
        await list.WaitForSelectorAsync("[data-interactive=true] #release-why");
        await list.Locator("#release-why").FillAsync("The label was read again.");
        await list.Locator("#release-save").ClickAsync();
        await list.WaitForURLAsync(new Uri(server.Address, "record/bench-1/1").ToString());
        await Go(server, list, "decisions");
        await Assertions.Expect(rows).ToHaveCountAsync(1);
        await Assertions.Expect(rows.Filter(new() { HasText = What })).ToHaveCountAsync(0);
    }

    /// <summary>A result whose reader showed another specimen.</summary>
    private async Task Hold(ServerProcess server)
    {
        var api = new BenchByApi(server);
        await api.Say("start-batch", TimeSpan.Zero, Cancel);
        await api.Say("card-changed", TimeSpan.FromMinutes(10), Cancel, reader: 1, lot: "DB-L1");
        await api.Say("mixed", TimeSpan.FromMinutes(10), Cancel, "R06");
        await api.Say("loaded", TimeSpan.FromMinutes(10), Cancel, "R06", 1);
        await api.Say("read-started", TimeSpan.Zero, Cancel, "R06", reader: 1);
        await api.Say("cleared", TimeSpan.Zero, Cancel, "R06", reader: 1);
        var page = await browser.Open(1280, 800);
        await new BenchScreen(page).Open(server);
        await page.Locator("a.results").ClickAsync();
        await page.WaitForSelectorAsync("[data-interactive=true] .result-row");
        await page.Locator("[id^=shown-]").FillAsync("SP-999");
        await page.Locator("[id^=value-]").FillAsync("2.5");
        await page.Locator("[id^=value-]").PressAsync("Enter");
        await page.Locator(".result-back .button-primary").ClickAsync();
        await Assertions.Expect(page.Locator(".empty")).ToContainTextAsync("Nothing to enter");
    }

    private static async Task Go(ServerProcess server, IPage page, string path)
    {
        await page.GotoAsync(new Uri(server.Address, path).ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
    }

    /// <summary>A new kit lot that has to be compared comes in.</summary>
    private static void RequireAComparison(string path)
    {
        using var file = DataFile.Open(path);
        var clinic = ClinicLog.Open(file);
        var now = SystemClock.Instance.GetCurrentInstant();
        Assert.IsType<ClinicOutcome.Recorded>(clinic.Record(
            [
                new ClinicEvent.LotComparisonRequired(true),
                new ClinicEvent.StockReceived(StockKind.Kit, new LotCode("DA-L8"), new AssayCode("DA"),
                    now.InUtc().Date.PlusDays(300), 25, null, null),
            ],
            new Provenance(new ReportId(Guid.NewGuid().ToString("N")), now, now, new PersonId("ines"),
                new DeviceId("server"))));
    }
}
