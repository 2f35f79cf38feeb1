using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>A batch played again from its record.</summary>
public sealed class PlayPageTest(Browser browser)
{
    // The demo's assay DB: 8 min of incubation, a window of 90 s.
    private static readonly TimeSpan WindowClosed = TimeSpan.FromMinutes(11);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Play_ABatchWithALoss_SaysWhatWasDueAndWhyItWasLost()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R06", "R10"], Cancel);
        var api = new BenchByApi(server);
        await api.Say("start-batch", TimeSpan.Zero, Cancel);
        await api.Loaded("R06", 2, WindowClosed, Cancel);
        await api.Say("discarded", TimeSpan.Zero, Cancel, "R06", reason: "window-closed");
        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "ines", Cancel);
        await page.GotoAsync(new Uri(server.Address, "record/bench-1/1").ToString());
        await page.GetByRole(AriaRole.Link, new() { Name = "Replay" }).ClickAsync();

        var lines = page.Locator(".play-list li");
        await Assertions.Expect(lines.Filter(new() { HasText = "loaded in slot 2" })).ToHaveCountAsync(1);
        await Assertions.Expect(page.Locator(".play-due li").First).Not.ToHaveTextAsync("Nothing.");
        await Assertions.Expect(page.Locator(".play-lanes svg")).ToBeVisibleAsync();
        // At its moment the loss stands there, with its cause.
        await page.Locator(".play-list li[data-kind='report'] button").Filter(new() { HasText = "loaded in slot 2" })
            .ClickAsync();
        await Assertions.Expect(page.Locator(".play-list li[aria-current]")).ToContainTextAsync("loaded in slot 2");
        await page.Locator(".play-on").ClickAsync();
        await Assertions.Expect(page.Locator(".play-wrong")).ToContainTextAsync("window");
        await Pictures.Keep(page, "play");

        // By keyboard alone: to the beginning, and on.
        var scrub = page.Locator(".play-scrub");
        await scrub.FocusAsync();
        await page.Keyboard.PressAsync("Home");
        await Assertions.Expect(page.Locator(".play-clock")).ToContainTextAsync(", 0:00 after");
        await page.Locator(".play-speed select").SelectOptionAsync("100");
        await page.Locator(".play-run").ClickAsync();
        await Assertions.Expect(page.Locator(".play-clock")).Not.ToContainTextAsync(", 0:00 after");
        await Assertions.Expect(page.Locator(".play-run")).ToHaveTextAsync("Play");
        await page.Locator(".play-filter input").UncheckAsync();
        await Assertions.Expect(page.Locator(".play-list li[data-kind='plan']").First).ToBeHiddenAsync();
    }

    /// <summary>Pictures to be looked at, in the folder INCUBATION_PICTURES. Run by name only.</summary>
    [Fact(Explicit = true)]
    public async Task Play_AMorning_IsKept()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, null, "--pace", "100", "--autopilot");
        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "ines", Cancel);
        await page.GotoAsync(new Uri(server.Address, "batch/bench-1").ToString());
        await Assertions.Expect(page.Locator("body")).ToContainTextAsync("12 of 12 done");
        await page.GotoAsync(new Uri(server.Address, "record/bench-1/1/play").ToString());
        await page.WaitForSelectorAsync(".play-lanes svg");
        await page.Locator(".play-list li[data-kind='report']").Nth(20).Locator("button").ClickAsync();
        await page.WaitForTimeoutAsync(1500);
        foreach (var (width, height) in new[] { (1280, 800), (360, 740) })
        {
            await page.SetViewportSizeAsync(width, height);
            await page.EvaluateAsync("scrollTo(0, 0)");
            await page.ScreenshotAsync(
                new()
                {
                    Path = Path.Combine(Environment.GetEnvironmentVariable("INCUBATION_PICTURES")!,
                    $"play-{width}.png"),
                    FullPage = true
                });
        }
    }
}
