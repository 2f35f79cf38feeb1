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

    [Fact]
    public async Task Inspector_FromTheCodeToTheEnd_ReadsAndChangesNothing()
    {
        await using var server = await ServerProcess.StartDemo(Cancel);
        var mara = await browser.Open(1280, 800);
        await server.SignIn(mara, "mara", Cancel);
        var (code, until) = await LetIn(mara, server);
        var ada = await browser.Open(1280, 800);
        await ComeIn(ada, server, code);
        List<string> faults = [];
        foreach (var path in Theirs)
        {
            await ada.GotoAsync(new Uri(server.Address, path).ToString());
            await ada.WaitForLoadStateAsync(LoadState.NetworkIdle);
            if (path != "wall")
                await Assertions.Expect(ada.Locator(".site-who")).ToContainTextAsync($"Read only until {until}");
            await ada.OnEach(ScreenSize.PhoneAndDesk, async size =>
            {
                await ada.Check(size, "inspector-" + path.Replace('/', '-'));
                if (size == ScreenSize.Desk && path != "wall")
                    Assert.True(
                        await ada.EvaluateAsync<int>("document.querySelector('.site-header').offsetHeight") < 90,
                        $"/{path}: where an inspector may go takes more than one row.");
                faults.AddRange((await ada.EvaluateAsync<string[]>(Changing)).Select(
                    one => $"/{path} at {size.Width}: {one}"));
            });
        }

        faults.AddRange(await OpenToAda(ada, server));
        Assert.True(faults.Count == 0, string.Join('\n', faults));

        // An administrator ends it: what stands open leads out by itself.
        await ada.GotoAsync(new Uri(server.Address, "decisions").ToString());
        await ada.WaitForSelectorAsync("[data-interactive=true]");
        await mara.TryOnPhone(mara.GetByLabel("End access of Ada Quist"));
        await mara.GetByLabel("End access of Ada Quist").ClickAsync();
        await mara.TryOnPhone(mara.Locator("#confirm-end .button-primary"));
        await mara.Locator("#confirm-end .button-primary").ClickAsync();
        await Assertions.Expect(ada.Locator("#sign-in-name")).ToBeVisibleAsync();
        await ada.TryOnPhone(ada.Locator("#sign-in-name"));
        // While there is a server still: a page that looks for one that is gone does not close.
        await ada.CloseAsync();
        await mara.CloseAsync();
    }

    /// <summary>On the page of the people: with which code she comes in, and until when she may read.</summary>
    private static async Task<(string Code, string Until)> LetIn(IPage mara, ServerProcess server)
    {
        await mara.GotoAsync(new Uri(server.Address, "people").ToString());
        await mara.WaitForSelectorAsync("[data-interactive=true]");
        await mara.Locator("#admit-name").FillAsync("Ada Quist");
        await mara.Locator("#admit-id").FillAsync("ada");
        var until = await mara.Locator("#admit-until").InputValueAsync();
        var let = mara.GetByRole(AriaRole.Button, new() { Name = "Let this person read" });
        await mara.LookAt("inspector-people", mara.Locator("#admit-name"), mara.Locator("#admit-id"), let);
        await let.ClickAsync();
        await Assertions.Expect(mara.Locator("[role=status]").First).ToContainTextAsync("Ada Quist may read");
        var code = await mara.Locator(".shown").First.InnerTextAsync();
        await Assertions.Expect(mara.Locator("main")).ToContainTextAsync($"read only until {until}");
        await mara.LookAt("inspector-code");
        return (code, until);
    }

    /// <summary>Sets a password with the code, and signs in.</summary>
    private static async Task ComeIn(IPage ada, ServerProcess server, string code)
    {
        await ada.GotoAsync(new Uri(server.Address, "welcome").ToString());
        await ada.TryOnPhone(ada.Locator("#welcome-name"), ada.Locator("#welcome-code"),
            ada.Locator("#welcome-password"), ada.Locator("main button"));
        await ada.Locator("#welcome-name").FillAsync("ada");
        await ada.Locator("#welcome-code").FillAsync(code);
        await ada.Locator("#welcome-password").FillAsync("violet ladder seventeen");
        await ada.Locator("main button").ClickAsync();
        await ada.GotoAsync(new Uri(server.Address, "sign-in").ToString());
        var enter = ada.GetByRole(AriaRole.Button, new() { Name = "Sign in", Exact = true }).First;
        await ada.TryOnPhone(ada.Locator("#sign-in-name"), ada.Locator("#sign-in-password"), enter);
        await ada.Locator("#sign-in-name").FillAsync("ada");
        await ada.Locator("#sign-in-password").FillAsync("violet ladder seventeen");
        await enter.ClickAsync();
        await ada.WaitForURLAsync(server.Address.ToString());
    }

    /// <summary>What is not theirs, and is open to her all the same.</summary>
    private static async Task<List<string>> OpenToAda(IPage ada, ServerProcess server)
    {
        List<string> open = [];
        using var client = new HttpClient(new HttpClientHandler { UseCookies = false, AllowAutoRedirect = false });
        client.DefaultRequestHeaders.Add("Cookie", string.Join("; ",
            (await ada.Context.CookiesAsync()).Select(cookie => $"{cookie.Name}={cookie.Value}")));
        foreach (var path in NotTheirs)
        {
            using var answer = await client.GetAsync(new Uri(server.Address, path), Cancel);
            if (answer.StatusCode != HttpStatusCode.Forbidden)
                open.Add($"/{path}: {answer.StatusCode}");
        }

        return open;
    }
}
