using Xunit;
using Xunit.Sdk;

namespace Incubation.Browser.Tests;

/// <summary>A look at a stage finds what is wrong on one screen alone.</summary>
public sealed class StagesTest(Browser browser)
{
    private const string Page = """
        <!doctype html><html lang="en"><title>A page</title><style>
          .wide { width: 500px }
          @media (width < 700px) { .over { position: fixed; inset: 0 } }
        </style><main><h1>A page</h1><button>Next</button><p class="KIND">More.</p></main></html>
        """;

    [Fact]
    public async Task LookAt_WhatIsTooWideForAPhone_FailsThere()
    {
        var page = await browser.Open(1280, 800);
        await page.SetContentAsync(Page.Replace("KIND", "wide", StringComparison.Ordinal));

        var fault = await Assert.ThrowsAsync<TrueException>(() => page.LookAt("a page"));

        Assert.Contains("a page scrolls sideways at 360", fault.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task LookAt_WhatIsNextCoveredOnAPhone_FailsThere()
    {
        var page = await browser.Open(1280, 800);
        await page.SetContentAsync(Page.Replace("KIND", "over", StringComparison.Ordinal));
        await page.LookAt("a page");
        await page.GetByText("Next").ClickAsync();
        // It stays covered: nothing comes of more patience.
        page.SetDefaultTimeout(500);

        await Assert.ThrowsAsync<TimeoutException>(() => page.LookAt("a page", page.GetByText("Next")));

        Assert.Equal(360, page.ViewportSize!.Width);
    }
}
