using System.Text.Json;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>Where the clinic demands it, the scan of a cartridge's label is the report.</summary>
public sealed class LabelsWayPageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Load_WhereLabelsAreDemanded_IsReportedByAScanOfTheRightOne()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06", "R07"], "--pace", "8",
            "--Incubation:LabelScans", "demanded");
        List<string> complaints = [];
        var page = await browser.Open(1280, 800, complaints);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        // A mix is told by the button: there is nothing to scan yet.
        await Assertions.Expect(page.Locator(".card-scan")).ToBeHiddenAsync();
        await bench.DoNext();
        await Assertions.Expect(bench.Title).ToContainTextAsync("Load");
        await Assertions.Expect(page.Locator(".card-scan")).ToHaveTextAsync("Scan its label when it is done.");
        var title = await bench.Title.InnerTextAsync();
        var labels = (await Snapshot(page)).GetProperty("labels").EnumerateArray().ToDictionary(
            label => label.GetProperty("specimen").GetString()!, label => label.GetProperty("code").GetString()!);
        var (specimen, right) = labels.Single(label => title.Contains(label.Key, StringComparison.Ordinal));
        var (otherSpecimen, wrong) = labels.Single(label => label.Key != specimen);

        await Assertions.Expect(bench.Big).ToHaveAttributeAsync("aria-disabled", "false");
        await bench.Big.ClickAsync();
        await Assertions.Expect(page.Locator(".notice-text")).ToHaveTextAsync($"Scan the label of {specimen} first.");
        await Pictures.Keep(page, "labels-way-first");
        await StockPagesTest.ScanAsync(page, wrong);
        await Assertions.Expect(page.Locator(".notice-text")).ToHaveTextAsync(
            $"This is {otherSpecimen}; the plan's next is {specimen}.");
        await Assertions.Expect(bench.Big).ToHaveAttributeAsync("aria-disabled", "true");
        // It was not mixed yet: it cannot be the one that was loaded.
        await Assertions.Expect(page.Locator(".notice-actions button")).ToHaveCountAsync(1);
        await Pictures.Keep(page, "labels-way-wrong");

        await StockPagesTest.ScanAsync(page, right);
        await Assertions.Expect(bench.Title).Not.ToHaveTextAsync(title);
        await Assertions.Expect(page.Locator(".notice[role=alert]")).ToBeHiddenAsync();
        var report = (await Snapshot(page)).GetProperty("reports").EnumerateArray().First();
        Assert.Equal("loaded", report.GetProperty("kind").GetString());
        Assert.Empty(complaints);
    }

    private static async Task<JsonElement> Snapshot(IPage page) => JsonDocument.Parse(
        await page.EvaluateAsync<string>("async () => await (await fetch('api/v1/benches/bench-1')).text()"))
        .RootElement;
}
