using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// From the switch to the decision: an amendment of a closed batch is entered, stands on the list, is confirmed
/// by another supervisor, and the record shows both.
/// </summary>
public sealed class SecondLookPageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public static TheoryData<int, int> Sizes => new() { { 1280, 800 }, { 360, 740 } };

    [Theory]
    [MemberData(nameof(Sizes))]
    public async Task Amendment_FromTheSwitchToTheDecision(int width, int height)
    {
        // In the demo's month batches are closed, with their results.
        await using var server = await ServerProcess.StartMonth(Cancel);
        var mara = await browser.Open(width, height);
        await server.SignIn(mara, "mara", Cancel);
        await Go(mara, server, "second-look");
        await mara.Locator("#second-switch").ClickAsync();
        await AssertSound(mara, $"second-ask-{width}");
        await mara.Locator("#confirm-second .button-primary").ClickAsync();
        await Assertions.Expect(mara.Locator("[role=status]").First).ToContainTextAsync("On. An amendment waits");
        await AssertSound(mara, $"second-look-{width}");

        var ines = await browser.Open(width, height);
        await server.SignIn(ines, "ines", Cancel);
        // In a hurry: the link is pressed before the page's line to the server stands.
        var line = await HeldLine.Of(ines);
        await ines.GotoAsync(new Uri(server.Address, "record/bench-1/1").ToString());
        await line.Begun;
        await ines.Locator("a.record-amend[href*='/amend?']").First.ClickAsync();
        await ines.WaitForURLAsync("**/amend?*");
        line.Release();
        await ines.WaitForSelectorAsync("[data-interactive=true]");
        await ines.Locator("#amend-value").FillAsync("7.7");
        await ines.Locator("#amend-reason").SelectOptionAsync("typed");
        await ines.Locator("#amend-why").FillAsync("A digit was missed");
        await ines.Locator("#amend-next").ClickAsync();
        await Assertions.Expect(ines.Locator("main")).ToContainTextAsync("held until another supervisor confirms");
        await AssertSound(ines, $"second-read-back-{width}");
        await ines.Locator("#amend-save").ClickAsync();
        await ines.WaitForURLAsync("**/record/bench-1/1");
        await Assertions.Expect(ines.Locator("main")).ToContainTextAsync("not confirmed yet");
        await AssertSound(ines, $"second-record-waits-{width}");

        await Go(mara, server, "decisions");
        await AssertSound(mara, $"second-decisions-{width}");
        await mara.GetByText("Confirm or decline the amendment").First.ClickAsync();
        await mara.WaitForSelectorAsync("#second-why");
        await mara.WaitForSelectorAsync("[data-interactive=true]");
        await mara.Locator("#second-why").FillAsync("The memory of the reader says so");
        await AssertSound(mara, $"second-decide-{width}");
        await mara.Locator("#second-confirm").ClickAsync();
        await mara.WaitForURLAsync("**/record/bench-1/1");
        await Assertions.Expect(mara.Locator("main")).ToContainTextAsync("entered by Ines, confirmed by Mara");
        await AssertSound(mara, $"second-record-{width}");
    }

    private static async Task Go(IPage page, ServerProcess server, string path)
    {
        await page.GotoAsync(new Uri(server.Address, path).ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
    }

    private static async Task AssertSound(IPage page, string name)
    {
        Assert.True(await page.EvaluateAsync<bool>(
            "() => document.documentElement.scrollWidth <= document.documentElement.clientWidth"), name);
        await Pictures.Keep(page, name);
        Assert.Empty((await page.WcagFaults()).Select(fault => $"{name}: {fault}"));
    }
}
