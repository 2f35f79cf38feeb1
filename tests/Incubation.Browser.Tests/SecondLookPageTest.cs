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

    [Fact]
    public async Task Amendment_FromTheSwitchToTheDecision()
    {
        // In the demo's month batches are closed, with their results.
        await using var server = await ServerProcess.StartMonth(Cancel);
        var mara = await browser.Open(1280, 800);
        await server.SignIn(mara, "mara", Cancel);
        await Go(mara, server, "second-look");
        await mara.TryOnPhone(mara.Locator("#second-switch"));
        await mara.Locator("#second-switch").ClickAsync();
        await mara.LookAt("second-ask", mara.Locator("#confirm-second .button-primary"));
        await mara.Locator("#confirm-second .button-primary").ClickAsync();
        await Assertions.Expect(mara.Locator("[role=status]").First).ToContainTextAsync("On. An amendment waits");
        await mara.LookAt("second-look");

        var ines = await browser.Open(1280, 800);
        await server.SignIn(ines, "ines", Cancel);
        await Enter(ines, server);
        await ines.LookAt("second-read-back", ines.Locator("#amend-save"));
        await ines.Locator("#amend-save").ClickAsync();
        await ines.WaitForURLAsync("**/record/bench-1/1");
        await Assertions.Expect(ines.Locator("main")).ToContainTextAsync("not confirmed yet");
        await ines.LookAt("second-record-waits");

        await Go(mara, server, "decisions");
        var decide = mara.GetByText("Confirm or decline the amendment").First;
        await mara.LookAt("second-decisions", decide);
        await decide.ClickAsync();
        await mara.WaitForSelectorAsync("#second-why");
        await mara.WaitForSelectorAsync("[data-interactive=true]");
        await mara.Locator("#second-why").FillAsync("The memory of the reader says so");
        await mara.LookAt("second-decide", mara.Locator("#second-why"), mara.Locator("#second-confirm"));
        await mara.Locator("#second-confirm").ClickAsync();
        await mara.WaitForURLAsync("**/record/bench-1/1");
        await Assertions.Expect(mara.Locator("main")).ToContainTextAsync("entered by Ines, confirmed by Mara");
        await mara.LookAt("second-record");
    }

    /// <summary>In a hurry: the link is pressed before the page's line to the server stands.</summary>
    private static async Task Enter(IPage ines, ServerProcess server)
    {
        var line = await HeldLine.Of(ines);
        await ines.GotoAsync(new Uri(server.Address, "record/bench-1/1").ToString());
        await line.Begun;
        var amend = ines.Locator("a.record-amend[href*='/amend?']").First;
        await ines.TryOnPhone(amend);
        await amend.ClickAsync();
        await ines.WaitForURLAsync("**/amend?*");
        line.Release();
        await ines.WaitForSelectorAsync("[data-interactive=true]");
        await ines.TryOnPhone(ines.Locator("#amend-value"), ines.Locator("#amend-reason"), ines.Locator("#amend-why"),
            ines.Locator("#amend-next"));
        await ines.Locator("#amend-value").FillAsync("7.7");
        await ines.Locator("#amend-reason").SelectOptionAsync("typed");
        await ines.Locator("#amend-why").FillAsync("A digit was missed");
        await ines.Locator("#amend-next").ClickAsync();
        await Assertions.Expect(ines.Locator("main")).ToContainTextAsync("held until another supervisor confirms");
    }

    private static async Task Go(IPage page, ServerProcess server, string path)
    {
        await page.GotoAsync(new Uri(server.Address, path).ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
    }
}
