using System.Globalization;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>The page on which a bench is tried before it is built: filled in, stopped half way, answered.</summary>
public sealed class WhatIfPageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Question_LikeToday_IsStoppedAndThenAnswered()
    {
        await using var server = await ServerProcess.StartWorking(Cancel);
        var page = await browser.Open(1280, 1400);
        await server.SignIn(page, "ines", Cancel);
        await page.GotoAsync(new Uri(server.Address, "what-if").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");

        await page.Locator("#what-run").ClickAsync();
        await Assertions.Expect(page.Locator(".field-fault")).ToContainTextAsync("There is no demand");
        await NoViolation(page);

        var (from, to) = (DateTime.UtcNow.AddDays(-1), DateTime.UtcNow.AddDays(1));
        await page.Locator("#what-from").FillAsync(from.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture));
        await page.Locator("#what-to").FillAsync(to.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture));
        await page.Locator("#what-past").ClickAsync();
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("Filled in");
        await page.Locator("#what-run").ClickAsync();
        await page.Locator("#what-cancel").ClickAsync();
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("Stopped");
        await Assertions.Expect(page.Locator("#answer-title")).ToHaveCountAsync(0);

        // A small bench says as much about the page; what it says is held to larger ones elsewhere.
        await page.Locator("#what-slots").FillAsync("2");
        await page.Locator("#what-sweep").FillAsync("2");
        await page.Locator("#what-run").ClickAsync();
        await Assertions.Expect(page.Locator("#answer-title")).ToBeVisibleAsync(new() { Timeout = 600_000 });
        await Assertions.Expect(page.Locator("section").Filter(new() { Has = page.Locator("#answer-title") }))
            .ToContainTextAsync("Bottleneck");
        await Assertions.Expect(page.Locator("img.sweep")).ToBeVisibleAsync();
        Assert.True(await page.Locator("img.sweep").EvaluateAsync<int>("picture => picture.naturalWidth") > 0);
        await page.Locator("main summary").ClickAsync();
        await Assertions.Expect(page.Locator("details table tbody tr")).ToHaveCountAsync(2);
        await NoViolation(page);
        await Pictures.Keep(page, "what-if");
        await page.SetViewportSizeAsync(360, 740);
        Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= 360);
    }

    private static async Task NoViolation(IPage page) =>
        Assert.Empty(await page.WcagFaults());
}
