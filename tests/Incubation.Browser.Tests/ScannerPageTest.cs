using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>A scanner is checked by the code on the page, with keys as scanners send them.</summary>
public sealed class ScannerPageTest(Browser browser)
{
    private const string Before = "CHECKyzYZaqAQwmWM0123456789-_/+:;.";

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task AScanner_IsToldWhatToSet_AndThatItIsSetUpRight()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06"]);
        var page = await browser.Open(800, 1280);
        await server.SignIn(page, "ines", Cancel);
        await page.GotoAsync(new Uri(server.Address, "devices").ToString());
        await page.Locator("a[href=scanner]").ClickAsync();
        await page.WaitForSelectorAsync(".scanner-code");
        await Good(page, "scanner-waiting");

        // Another layout, no separator, no end.
        await page.Keyboard.TypeAsync(Before.Replace('y', 'z') + "END");
        await Assertions.Expect(page.Locator(".scanner-found .is-wrong")).ToHaveCountAsync(3);
        await Assertions.Expect(page.Locator(".scanner-says")).ToHaveAttributeAsync("data-good", "false");
        await Good(page, "scanner-wrong");

        await page.Keyboard.TypeAsync(Before);
        await page.Keyboard.PressAsync("Control+]");
        await page.Keyboard.TypeAsync("END");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator(".scanner-says")).ToHaveAttributeAsync("data-good", "true");
        await Assertions.Expect(page.Locator(".scanner-found .is-good")).ToHaveCountAsync(5);
        await Good(page, "scanner-good");
    }

    private static async Task Good(IPage page, string name)
    {
        foreach (var (width, height) in new[] { (1280, 800), (360, 740), (800, 1280) })
        {
            await page.SetViewportSizeAsync(width, height);
            Assert.Empty(await page.WcagFaults());
            Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= width, name);
            await Pictures.Keep(page, $"{name}-{width}");
        }
    }
}
