using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// A supervisor writes a draft with a slip in it, mends it, and another approves it; a file is looked at and taken in.
/// </summary>
public sealed class AssaysTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Assay_WrittenByOneAndApprovedByAnother_IsInUse()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R01"]);
        var ines = await OfficeAsync(server, "ines");
        await OpenAsync(ines, server, "assays/DA/draft");
        await ines.Locator("#sheet-Incubation").FillAsync("15 pieces");
        await ines.Locator("#save-draft").ClickAsync();
        await Assertions.Expect(ines.Locator("#sheet-Incubation-fault")).ToContainTextAsync("15:00");
        await Assertions.Expect(ines.Locator("#sheet-Incubation")).ToBeFocusedAsync();
        await Pictures.Keep(ines, "assay-draft-fault");
        await ines.Locator("#sheet-Incubation").FillAsync("16 min");
        await ines.Locator("#sheet-Incubation").PressAsync("Tab");
        await Assertions.Expect(ines.Locator("#sheet-Incubation-understood")).ToHaveTextAsync("= 16 min");
        await Pictures.Keep(ines, "assay-draft");
        await ines.Locator("#sheet-LoadText").FillAsync("73 µL; <script>alert(1)</script>");
        await ines.Locator("#save-draft").ClickAsync();
        await Assertions.Expect(ines.Locator("#draft")).ToContainTextAsync("another supervisor must approve it");
        await Assertions.Expect(ines.Locator("#approve")).ToHaveCountAsync(0);

        var mara = await OfficeAsync(server, "mara");
        await OpenAsync(mara, server, "assays/DA");
        await Assertions.Expect(mara.Locator("#draft tbody tr")).ToHaveCountAsync(2);
        await Pictures.Keep(mara, "assay-approve");
        await Assertions.Expect(mara.Locator("#approve")).ToBeDisabledAsync();
        foreach (var part in await mara.Locator("#compared input").AllAsync())
            await part.CheckAsync();
        await mara.Locator("#approve").ClickAsync();
        await mara.Locator("#confirm-approve .button-primary").ClickAsync();
        await Assertions.Expect(mara.Locator(".page-status")).ToContainTextAsync("version 2");
        await Pictures.Keep(mara, "assay");

        await OpenAsync(mara, server, "assays");
        await mara.Locator("#import-file").SetInputFilesAsync(new FilePayload
        {
            Name = "assays.json",
            MimeType = "application/json",
            Buffer =
                System.Text.Encoding.UTF8.GetBytes(
                    (await File.ReadAllTextAsync(Path.Combine(Repository.Demo, "assays.json"), Cancel))
                    .Replace("\"PT15M\",\n      \"readWindow\"", "\"soon\",\n      \"readWindow\"",
                        StringComparison.Ordinal)),
        });
        await Assertions.Expect(mara.Locator("#import-look")).ToContainTextAsync("3 assays can be imported");
        await Assertions.Expect(mara.Locator("#import-look")).ToContainTextAsync("$.assays[0].incubation");
        await Pictures.Keep(mara, "assays-import");
        await mara.Locator("#import-take").ClickAsync();
        await Assertions.Expect(mara.Locator("main table")).ToContainTextAsync("needs approval");
        await Pictures.Keep(mara, "assays");
    }

    private async Task<IPage> OfficeAsync(ServerProcess server, string person)
    {
        var page = await browser.Open(1280, 900);
        await server.SignIn(page, person, Cancel);
        return page;
    }

    private static async Task OpenAsync(IPage page, ServerProcess server, string address)
    {
        await page.GotoAsync(new Uri(server.Address, address).ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
    }
}
