using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>Beside the reader: row after row by the keyboard alone.</summary>
public sealed class ResultsPageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Rows_TypedOneAfterTheOther_NeedNoMouse()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R06", "R01"], Cancel);
        var api = new BenchByApi(server);
        await api.Say("start-batch", TimeSpan.Zero, Cancel);
        await ReadAsync(api, "R06", "DB-L1", 1, TimeSpan.FromMinutes(10));
        await ReadAsync(api, "R01", "DA-L1", 2, TimeSpan.FromMinutes(20));

        List<string> complaints = [];
        var page = await browser.Open(1280, 800, complaints);
        await new BenchScreen(page).Open(server);
        await page.Locator("a.results").ClickAsync();
        await page.WaitForSelectorAsync("[data-interactive=true]");
        var rows = page.Locator(".result-row");
        await Assertions.Expect(rows).ToHaveCountAsync(2);
        foreach (var (width, height) in new[] { (800, 1280), (360, 740), (1280, 800) })
        {
            await page.SetViewportSizeAsync(width, height);
            await Good(page, $"results-{width}", width);
        }

        // At 1280 a row is one line, and the keyboard stands in the first.
        var (shown, value) = (await Box(rows.First, "shown"), await Box(rows.First, "value"));
        Assert.Equal(shown.Y, value.Y, 1f);
        await Assertions.Expect(rows.First.Locator("[id^=shown-]")).ToBeFocusedAsync();
        var names = await rows.Locator(".specimen").AllInnerTextsAsync();
        await Scanned(page, rows.First);
        await Type(page, names[0], "1,50");
        await Assertions.Expect(rows).ToHaveCountAsync(1);
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("1.50");
        await Assertions.Expect(rows.First.Locator("[id^=shown-]")).ToBeFocusedAsync();

        // Another specimen on the display: read back in the row, and a second Enter saves it, held.
        await Type(page, "SP-999", "2.5");
        await Assertions.Expect(page.Locator(".result-back .button-primary")).ToBeFocusedAsync();
        // The next tube's scan does not answer for the person.
        await ScanAtDialogTest.ScanAsync(page, "SP-001");
        await Assertions.Expect(rows.First.Locator("[data-scan-says]")).ToContainTextAsync("Answer this first");
        await Assertions.Expect(page.Locator(".result-back")).ToBeVisibleAsync();
        await Good(page, "results-back", 1280);
        await page.SetViewportSizeAsync(360, 740);
        await Good(page, "results-back-360", 360);
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator(".empty")).ToContainTextAsync("Nothing to enter");
        await Good(page, "results-none", 360);
        Assert.Empty((await api.Snapshot(Cancel))["missingResults"]!.AsArray());
        Assert.Empty(complaints);
    }

    /// <summary>Read in its window, so long ago, and taken out.</summary>
    private static async Task ReadAsync(BenchByApi api, string request, string lot, int slot, TimeSpan ago)
    {
        await api.Say("card-changed", ago, Cancel, reader: 1, lot: lot);
        await api.Say("mixed", ago, Cancel, request);
        await api.Say("loaded", ago, Cancel, request, slot);
        await api.Say("read-started", TimeSpan.Zero, Cancel, request, reader: 1);
        await api.Say("cleared", TimeSpan.Zero, Cancel, request, reader: 1);
    }

    /// <summary>A tube that is scanned at the value is its id on the reader; the second time it is said.</summary>
    private static async Task Scanned(IPage page, ILocator row)
    {
        var (shown, value) = (row.Locator("[id^=shown-]"), row.Locator("[id^=value-]"));
        await value.FillAsync("2.0");
        await value.FocusAsync();
        await ScanAtDialogTest.ScanAsync(page, "10023004");
        await Assertions.Expect(shown).ToHaveValueAsync("10023004");
        await Assertions.Expect(value).ToHaveValueAsync("2.0");
        await Assertions.Expect(value).ToBeFocusedAsync();
        await ScanAtDialogTest.ScanAsync(page, "10023004");
        await Assertions.Expect(row.Locator("[data-scan-says]")).ToContainTextAsync("That was a scan, not a value.");
        await Assertions.Expect(value).ToHaveValueAsync("2.0");
        await Assertions.Expect(page.Locator(".result-back")).ToHaveCountAsync(0);
        await Good(page, "results-scan", 1280);
        await page.Locator("h1").FocusAsync();
        await ScanAtDialogTest.ScanAsync(page, "10023004");
        await Assertions.Expect(page.Locator(".results-page > [data-scan-says]"))
            .ToContainTextAsync("Nothing is taken from that scan.");
        await value.FillAsync("");
        await shown.FillAsync("");
        await Assertions.Expect(page.Locator("[data-scan-says]:not(:empty)")).ToHaveCountAsync(0);
    }

    /// <summary>
    /// The identity as quickly as keys can come, the value as quickly as a hand: nothing waits for the server.
    /// </summary>
    private static async Task Type(IPage page, string shown, string value)
    {
        await page.Keyboard.TypeAsync(shown);
        await page.Keyboard.PressAsync("Enter");
        await page.Keyboard.TypeAsync(value, new() { Delay = 100 });
        await page.Keyboard.PressAsync("Enter");
    }

    private static async Task<LocatorBoundingBoxResult> Box(ILocator row, string field) =>
        (await row.Locator($"[id^={field}-]").BoundingBoxAsync())!;

    private static async Task Good(IPage page, string name, int width)
    {
        Assert.Empty(await page.WcagFaults());
        Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= width, name);
        await Pictures.Keep(page, name);
    }
}
