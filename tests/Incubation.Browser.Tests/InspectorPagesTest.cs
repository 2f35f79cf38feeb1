using System.Net;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// Somebody who inspects: let in on the page of the people, in with the code, through every page that is theirs, where
/// nothing can be pressed that changes something, and out when an administrator says so.
/// </summary>
public sealed class InspectorPagesTest(Browser browser)
{
    private static readonly string[] Theirs = ["wall", "", "record", "record/bench-1/1",
        "record/bench-1/1/play", "controls",
        "controls/summary", "comparisons", "proficiency", "lots", "assays", "assays/DA", "decisions", "reports",
        "step-times", "clinic-log", "clock"];

    private static readonly string[] NotTheirs = ["bench/bench-1", "batch/bench-1", "benches/bench-1/labels",
        "waiting", "record/bench-1/1/amend?request=R01", "record/unchecked", "assays/new", "assays/DA/draft",
        "what-if", "benches/new", "people", "devices", "keys", "second-look", "retention", "record-check", "me"];

    /// <summary>What may be pressed and asked there: it prints, sorts, turns pages, shows other rows.</summary>
    private const string Changing = """
        () => [...document.querySelectorAll('main button, main form, main input[type=file]')]
          .filter(one => !one.matches('[data-print], .sort, .pager button, form[method=get], form[method=get] button')
            && !one.closest('.play, fieldset[disabled]') && !one.querySelector('fieldset[disabled]')
            && one.checkVisibility())
          .map(one => one.tagName + ' ' + one.textContent.trim())
        """;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData(1280, 800)]
    [InlineData(360, 740)]
    public async Task Inspector_FromTheCodeToTheEnd_ReadsAndChangesNothing(int width, int height)
    {
        await using var server = await ServerProcess.StartDemo(Cancel);
        var mara = await browser.Open(width, height);
        await server.SignIn(mara, "mara", Cancel);
        await mara.GotoAsync(new Uri(server.Address, "people").ToString());
        await mara.WaitForSelectorAsync("[data-interactive=true]");
        await mara.Locator("#admit-name").FillAsync("Ada Quist");
        await mara.Locator("#admit-id").FillAsync("ada");
        var until = await mara.Locator("#admit-until").InputValueAsync();
        await AssertSound(mara, $"inspector-people-{width}", width);
        await mara.GetByRole(AriaRole.Button, new() { Name = "Let this person read" }).ClickAsync();
        await Assertions.Expect(mara.Locator("[role=status]").First).ToContainTextAsync("Ada Quist may read");
        var code = await mara.Locator(".shown").First.InnerTextAsync();
        await Assertions.Expect(mara.Locator("main")).ToContainTextAsync($"read only until {until}");
        await AssertSound(mara, $"inspector-code-{width}", width);

        var ada = await browser.Open(width, height);
        await ada.GotoAsync(new Uri(server.Address, "welcome").ToString());
        await ada.Locator("#welcome-name").FillAsync("ada");
        await ada.Locator("#welcome-code").FillAsync(code);
        await ada.Locator("#welcome-password").FillAsync("violet ladder seventeen");
        await ada.Locator("main button").ClickAsync();
        await ada.GotoAsync(new Uri(server.Address, "sign-in").ToString());
        await ada.Locator("#sign-in-name").FillAsync("ada");
        await ada.Locator("#sign-in-password").FillAsync("violet ladder seventeen");
        await ada.GetByRole(AriaRole.Button, new() { Name = "Sign in", Exact = true }).First.ClickAsync();
        await ada.WaitForURLAsync(server.Address.ToString());
        List<string> faults = [];
        foreach (var path in Theirs)
        {
            await ada.GotoAsync(new Uri(server.Address, path).ToString());
            await ada.WaitForLoadStateAsync(LoadState.NetworkIdle);
            if (path != "wall")
                await Assertions.Expect(ada.Locator(".site-who")).ToContainTextAsync($"Read only until {until}");
            await AssertSound(ada, $"inspector-{path.Replace('/', '-')}-{width}", width);
            if (width == 1280 && path != "wall")
                Assert.True(await ada.EvaluateAsync<int>("document.querySelector('.site-header').offsetHeight") < 90,
                    $"/{path}: where an inspector may go takes more than one row.");
            faults.AddRange((await ada.EvaluateAsync<string[]>(Changing)).Select(one => $"/{path}: {one}"));
        }

        using var client = new HttpClient(new HttpClientHandler { UseCookies = false, AllowAutoRedirect = false });
        client.DefaultRequestHeaders.Add("Cookie", string.Join("; ",
            (await ada.Context.CookiesAsync()).Select(cookie => $"{cookie.Name}={cookie.Value}")));
        foreach (var path in NotTheirs)
        {
            using var answer = await client.GetAsync(new Uri(server.Address, path), Cancel);
            if (answer.StatusCode != HttpStatusCode.Forbidden)
                faults.Add($"/{path}: {answer.StatusCode}");
        }

        Assert.True(faults.Count == 0, string.Join('\n', faults));

        // An administrator ends it: what stands open leads out by itself.
        await ada.GotoAsync(new Uri(server.Address, "decisions").ToString());
        await ada.WaitForSelectorAsync("[data-interactive=true]");
        await mara.GetByLabel("End access of Ada Quist").ClickAsync();
        await mara.Locator("#confirm-end .button-primary").ClickAsync();
        await Assertions.Expect(ada.Locator("#sign-in-name")).ToBeVisibleAsync();
        // While there is a server still: a page that looks for one that is gone does not close.
        await ada.CloseAsync();
        await mara.CloseAsync();
    }

    private static async Task AssertSound(IPage page, string name, int width)
    {
        await Pictures.Keep(page, name);
        Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= width,
            name + " scrolls sideways");
        Assert.Empty((await page.WcagFaults()).Select(fault => $"{name}: {fault}"));
    }
}
