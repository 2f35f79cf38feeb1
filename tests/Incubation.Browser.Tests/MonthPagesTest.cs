using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>Pages behind which a month lies: they stay short, and nothing of them is lost.</summary>
public sealed class MonthPagesTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    /// <summary>The page of the controls was 16,000 px high for the results that are to be reviewed.</summary>
    [Fact]
    public async Task Controls_ManyReleasedResults_TheNewestInSightAndTheRestByDay()
    {
        await using var server = await ServerProcess.StartMonth(Cancel);
        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "mara", Cancel);
        await page.GotoAsync(new Uri(server.Address, "controls").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");

        await Pictures.Keep(page, "month-header");
        Assert.True(await page.EvaluateAsync<int>("document.querySelector('.site-header').offsetHeight") < 90,
            "What an administrator may go to takes more than one row.");
        var folded = page.Locator("details.earlier-released");
        Assert.True(await folded.CountAsync() > 1);
        // Of each lot that is to be reviewed the newest twenty are in sight, whatever the month brought.
        var lots = await folded.EvaluateAllAsync<int>("all => new Set(all.map(one => one.parentElement)).size");
        Assert.InRange(await page.EvaluateAsync<int>("document.documentElement.scrollHeight"), 0, 4400 + 1100 * lots);
        await Pictures.Keep(page, "month-controls", whole: true);

        // By the keyboard, and on paper.
        var row = folded.First.Locator("tbody tr").First;
        await Assertions.Expect(row).ToBeHiddenAsync();
        await folded.First.Locator("summary").FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(row).ToBeVisibleAsync();
        await page.Keyboard.PressAsync("Enter");
        await page.EmulateMediaAsync(new() { Media = Media.Print });
        Assert.True(await row.EvaluateAsync<bool>("one => one.checkVisibility({ contentVisibilityAuto: true })"));
        await page.EmulateMediaAsync(new() { Media = Media.Screen });
        Assert.Empty(await page.WcagFaults());

        // The rest of what an administrator looks after is one press away.
        await page.Locator(".nav-group > summary").ClickAsync();
        await Pictures.Keep(page, "month-navigation");
        await page.Locator(".nav-group a[href=keys]").ClickAsync();
        await page.WaitForURLAsync("**/keys");
        await page.CloseAsync();
    }
}
