using System.Text.Json.Nodes;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// Whatever truly happened is told from where one stands: from an alarm, and by a press on a lane, with two presses and
/// one time.
/// </summary>
public sealed class TellingsPageTest(Browser browser)
{
    /// <summary>Less than a fingertip is no target (WCAG 2.2, 2.5.8).</summary>
    private const float LeastTarget = 24;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task LostLoad_ToldFromItsAlarm_IsBackWithItsWindow_AndItsSlotIsCorrectedAtTheLane()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R06"], Cancel);
        var api = new BenchByApi(server);
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        // Mixed, loaded at once, and called away: the load was never told.
        await api.Say("mixed", TimeSpan.FromMinutes(6), Cancel, "R06");
        await page.WaitForSelectorAsync(".alarm[data-priority='high']");

        await page.Locator(".alarm [data-action='tell']").ClickAsync();
        await Choose(page, "It was loaded");
        await Choose(page, "Slot 3: free");
        await Choose(page, "5 min ago");
        await Assertions.Expect(page.Locator(".alarm")).ToBeHiddenAsync();
        var slot = await InSlot(api, 3, "R06");
        Assert.NotNull(slot["closes"]);
        Assert.Empty(slot["marks"]!.AsArray());
        await Assertions.Expect(page.Locator(".bench-left")).ToContainTextAsync("slot 3");

        // It lies in slot 2, as somebody sees who stands before it.
        var lane = page.Locator(".lane-place[data-place='slot/2']");
        var box = (await lane.BoundingBoxAsync())!;
        Assert.True(box.Height >= LeastTarget && box.Width >= LeastTarget, $"{box.Width} × {box.Height}");
        Assert.Equal("Slot 2: free. Tell what is there", await lane.GetAttributeAsync("aria-label"));
        await lane.FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await Choose(page, "Something else is in here");
        await Choose(page, "SP-005");
        await InSlot(api, 2, "R06");
        await Assertions.Expect(lane).ToHaveAttributeAsync("aria-label", "Slot 2: SP-005. Tell what is there");
        await Assertions.Expect(page.Locator("dialog[open]")).ToHaveCountAsync(0);
    }

    private static async Task Choose(IPage page, string words) =>
        await page.Locator("dialog[open] .dialog-choices button").Filter(new() { HasText = words }).ClickAsync();

    private static async Task<JsonNode> InSlot(BenchByApi api, int slot, string request)
    {
        while (true)
        {
            var place = (await api.Snapshot(Cancel))["slots"]![slot - 1]!;
            if ((string?)place["request"] == request)
                return place;
            Cancel.ThrowIfCancellationRequested();
        }
    }
}
