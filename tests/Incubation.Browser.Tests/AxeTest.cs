using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>What is asked of every page finds what is wrong on one that is.</summary>
public sealed class AxeTest(Browser browser)
{
    [Fact]
    public async Task Faults_OfAPageWithSome_AreNamedWithTheirPlace()
    {
        var page = await browser.Open(360, 740);
        await page.SetContentAsync("""
            <html lang="en"><title>A page</title>
            <img id="unnamed" src="data:,"><p style="color: #ccc; background: #fff">Pale</p></html>
            """);

        var wcag = await page.WcagFaults();
        Assert.Equal(["color-contrast", "image-alt"], wcag.Select(fault => fault.Id).Order(StringComparer.Ordinal));
        Assert.Contains(wcag, fault => fault.Targets.SequenceEqual(["#unnamed"]) && fault.Impact == "critical");
        // Good practice, of no level of WCAG: all content stands in landmarks.
        Assert.Contains(await page.AllFaults(), fault => fault.Id == "region");
    }

    [Fact]
    public async Task Faults_OfAPageWithAFrame_AreNotLookedForInItsOwnPartAlone()
    {
        var page = await browser.Open(360, 740);
        await page.SetContentAsync("<html lang='en'><title>A page</title><iframe title='Another'></iframe></html>");

        var refused = await Assert.ThrowsAsync<PlaywrightException>(page.WcagFaults);

        Assert.Contains("A frame", refused.Message, StringComparison.Ordinal);
    }
}
