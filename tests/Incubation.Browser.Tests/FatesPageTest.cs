using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// Nobody falls off the list: the bench says that something is open, the batch page asks what becomes of each before it
/// closes, and who still waits stands on a page that keeps up by itself.
/// </summary>
public sealed class FatesPageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Close_WithOpenRequests_IsAskedForEachAndNobodyIsForgotten()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06", "R01", "R02"]);
        var api = new BenchByApi(server);
        await api.Say("start-batch", TimeSpan.Zero, Cancel);
        foreach (var request in new[] { "R06", "R01" })
        {
            await api.Say("mixed", TimeSpan.Zero, Cancel, request);
            await api.Say("discarded", TimeSpan.Zero, Cancel, request, reason: "dropped");
        }

        var list = await browser.Open(1280, 800);
        await server.SignIn(list, "ines", Cancel);
        await list.GotoAsync(new Uri(server.Address, "waiting").ToString());
        await list.WaitForSelectorAsync("[data-interactive=true]");
        await Assertions.Expect(list.Locator("#waiting-now")).ToHaveTextAsync("3 requests without a value");
        await Assertions.Expect(list.GetByText("open: nobody has said")).ToHaveCountAsync(2);
        await list.LookAt("waiting");

        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "lena", Cancel);
        await page.GotoAsync(new Uri(server.Address, "batch/bench-1").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await Assertions.Expect(page.Locator(".batch-headline")).ToContainTextAsync("2 open, without a value");
        await CloseAsync(page);

        // The list kept up by itself.
        await Assertions.Expect(list.Locator("#waiting-now")).ToHaveTextAsync("2 requests without a value");
        await Assertions.Expect(list.Locator("main")).ToContainTextAsync("ended without a value: No specimen is left");
        await list.LookAt("waiting-after");
        await list.GotoAsync(new Uri(server.Address, "record/bench-1/1").ToString());
        await Assertions.Expect(list.Locator("#record-without-value + .table-frame")).ToContainTextAsync(
            "repeat in the next batch");
        await list.LookAt("record-without-value");
    }

    /// <summary>One request is given up, the other is carried on, and the batch closes.</summary>
    private static async Task CloseAsync(IPage page)
    {
        await page.TryOnPhone(page.Locator("#close-batch"));
        await page.Locator("#close-batch").ClickAsync();
        var close = page.Locator("#confirm-close .dialog-actions .button-primary");
        await Assertions.Expect(close).ToBeDisabledAsync();
        var give = page.GetByRole(AriaRole.Button, new() { Name = "End without a value…: SP-005" });
        await page.LookAt("close-open", give);

        // With a reason, and meant. By the keyboard alone.
        await give.FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator("#give-up-do")).ToBeDisabledAsync();
        await page.Locator("#give-up-confirmed").FocusAsync();
        await page.Keyboard.PressAsync("Space");
        await page.LookAt("close-give-up", page.Locator("#give-up-confirmed"), page.Locator("#give-up-do"));
        await page.Locator("#give-up-do").FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator(".close-said")).ToContainTextAsync("has ended without a value");
        await Assertions.Expect(page.Locator(".close-said")).ToBeFocusedAsync();

        await page.TryOnPhone(page.Locator("#carry-all"));
        await page.Locator("#carry-all").ClickAsync();
        await Assertions.Expect(page.Locator("#open-title")).ToHaveCountAsync(0);
        await Assertions.Expect(close).ToBeEnabledAsync();
        await page.LookAt("close-settled", close);
        await close.ClickAsync();
        await Assertions.Expect(page.Locator("h1")).ToContainTextAsync("Batch 2");
        await Assertions.Expect(page.Locator("tbody")).ToContainTextAsync("from batch 1");
        await page.LookAt("next-batch");
    }
}
