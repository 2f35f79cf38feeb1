using System.Text.Json;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>Orders from elsewhere: by a list into the worklist, by scan of the tube or together onto a bench.</summary>
public sealed class WorklistPageTest(Browser browser)
{
    private static readonly string[] Few = ["R06"];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task FifteenOrders_ByAList_TwelveTubesByScan_TheOthersTogether()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, Few);
        List<string> complaints = [];
        var page = await browser.Open(1280, 800, complaints);
        await server.SignIn(page, "lena", Cancel);
        await OpenWorklistAsync(page, server);

        // A list with a fault is shown, and nothing of it is taken; corrected, all of it waits, once.
        var list = "order,specimen,assay,priority,comment\n" + string.Concat(Enumerable.Range(1, 15).Select(tube =>
            $"N-{tube},T-{5000 + tube},{(tube % 2 == 0 ? "DA" : "DC")},{(tube == 7 ? "urgent" : "")},"
            + (tube == 3 ? "Fasting.\n" : "\n")));
        var sheet = page.Locator("dialog.rack[open]");
        await page.Locator("[data-order-file]").ClickAsync();
        await sheet.Locator("textarea").FillAsync(list.Replace("DA", "XX", StringComparison.Ordinal));
        await Assertions.Expect(sheet.GetByRole(AriaRole.Status)).ToContainTextAsync("To correct: 7");
        await Assertions.Expect(sheet.Locator(".rack-save")).ToBeDisabledAsync();
        await sheet.Locator("textarea").FillAsync(list);
        await Assertions.Expect(sheet.Locator(".rack-save")).ToHaveTextAsync("Put all 15 into the worklist");
        await Pictures.Keep(page, "worklist-list-1280");
        await sheet.Locator(".rack-save").ClickAsync();
        await Assertions.Expect(sheet.GetByRole(AriaRole.Status)).ToContainTextAsync("15 new, 0 already there");
        await sheet.Locator("textarea").FillAsync(list);
        await sheet.Locator(".rack-save").ClickAsync();
        await Assertions.Expect(sheet.GetByRole(AriaRole.Status)).ToContainTextAsync("0 new, 15 already there");
        await sheet.Locator(".rack-close").FocusAsync();
        await ScanAtDialogTest.ScanAsync(page, "T-5015");
        await Assertions.Expect(sheet.GetByRole(AriaRole.Alert))
            .ToHaveTextAsync("Nothing is taken from that scan. Scan tubes at a bench.");
        await page.Keyboard.PressAsync("Escape");
        await Assertions.Expect(page.Locator("#orders-wait")).ToHaveTextAsync("15 orders wait");

        // At the bench the scan of the tube is enough: nothing is chosen, and one press adds all of them.
        var rack = new RackScreen(page);
        await page.GotoAsync(new Uri(server.Address, "batch/bench-1").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await rack.Open();
        for (var tube = 1; tube <= 12; tube++)
            await rack.Scan($"T-{5000 + tube}");
        await Assertions.Expect(rack.Sheet.Locator(".rack-comment")).ToHaveTextAsync("Fasting.");
        await Assertions.Expect(rack.Sheet.Locator(".rack-urgent-mark")).ToHaveCountAsync(1);
        await Assertions.Expect(rack.Sheet.Locator(".rack-facts", new() { HasText = "order list · N-" }))
            .ToHaveCountAsync(12);
        await Assertions.Expect(rack.Sheet.Locator(".rack-row-asked")).ToHaveCountAsync(0);
        await Pictures.Keep(page, "worklist-rack-1280");
        await rack.Press(rack.Add);
        await Assertions.Expect(rack.Said).ToContainTextAsync("12 tubes are on the bench.");
        await Assertions.Expect(rack.Sheet.Locator(".rack-labels")).ToHaveTextAsync("Print 12 labels");
        await Pictures.Keep(page, "rack-labels-1280");
        var labels = await page.Context.RunAndWaitForPageAsync(() => rack.Sheet.Locator(".rack-labels").ClickAsync());
        await Assertions.Expect(labels.Locator(".cartridge-label")).ToHaveCountAsync(12);
        await Pictures.Keep(labels, "labels-just-added");
        await labels.CloseAsync();
        Assert.Equal((12, 2), (rack.Scans, rack.Presses));
        Assert.InRange(rack.Seconds, 0, RackScreen.MostForTwelve);

        // The others from the page, but for one that is cancelled with a reason.
        await OpenWorklistAsync(page, server);
        await Assertions.Expect(page.Locator("#orders-wait")).ToHaveTextAsync("3 orders wait");
        await page.GetByRole(AriaRole.Button, new() { Name = "Cancel order N-15 for T-5015" }).ClickAsync();
        await Assertions.Expect(page.Locator("#cancel-why")).ToBeFocusedAsync();
        await ScanAtDialogTest.ScanAsync(page, "T-5015");
        await Assertions.Expect(page.Locator(".panel [data-scan-says]"))
            .ToHaveTextAsync("That was a scan, not a reason. Nothing is cancelled.");
        await Assertions.Expect(page.Locator("#cancel-why")).ToHaveValueAsync("");
        await Pictures.Keep(page, "worklist-cancel-scan");
        await page.GetByRole(AriaRole.Button, new() { Name = "Keep it" }).FocusAsync();
        await ScanAtDialogTest.ScanAsync(page, "T-5015");
        await Assertions.Expect(page.Locator("#orders-wait")).ToHaveTextAsync("3 orders wait");
        await page.Locator("#cancel-why").FillAsync("Ordered by mistake.");
        await page.GetByRole(AriaRole.Button, new() { Name = "Cancel the order" }).ClickAsync();
        await Assertions.Expect(page.Locator("#orders-wait")).ToHaveTextAsync("2 orders wait");
        await page.GetByRole(AriaRole.Button, new() { Name = "Choose all" }).ClickAsync();
        await Pictures.Keep(page, "worklist-1280");
        await page.GetByRole(AriaRole.Button, new() { Name = "Put 2 on the bench" }).ClickAsync();
        await Assertions.Expect(page.Locator("#orders-wait")).ToHaveTextAsync("No order waits");
        await Assertions.Expect(page.GetByText("cancelled: Ordered by mistake.")).ToBeVisibleAsync();
        await page.SetViewportSizeAsync(360, 740);
        await Pictures.Keep(page, "worklist-360");
        await MenuAsync(page);
        Assert.Equal(Enumerable.Range(5001, 14).Select(tube => $"T-{tube} {(tube % 2 == 0 ? "DA" : "DC")}"),
            await OnBenchAsync(page, server));
        Assert.Empty(complaints);
    }

    /// <summary>On a phone the pages stand behind one word, and the head leaves the room to the page.</summary>
    private static async Task MenuAsync(IPage page)
    {
        var link = page.GetByRole(AriaRole.Link, new() { Name = "Who waits" });
        await Assertions.Expect(link).ToBeHiddenAsync();
        Assert.InRange(
            await page.EvaluateAsync<int>("document.querySelector('.site-header').offsetHeight"), 1, 80);
        await page.GetByText("Menu", new() { Exact = true }).ClickAsync();
        await Assertions.Expect(link).ToBeVisibleAsync();
        Assert.Empty(await RackPageTest.FaultsAsync(page, 360));
        await Pictures.Keep(page, "worklist-360-menu");
    }

    private static async Task OpenWorklistAsync(IPage page, ServerProcess server)
    {
        await page.GotoAsync(new Uri(server.Address, "worklist").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
    }

    /// <summary>The orders that are on a bench, by what other programs are told.</summary>
    private static async Task<IReadOnlyList<string>> OnBenchAsync(IPage page, ServerProcess server)
    {
        var answer = await page.APIRequest.GetAsync(
            new Uri(server.Address, "api/v1/worklist?state=on-bench").ToString());
        using var json = JsonDocument.Parse(await answer.TextAsync());
        return [.. json.RootElement.GetProperty("orders").EnumerateArray()
            .Select(one => $"{one.GetProperty("specimen").GetString()} {one.GetProperty("assay").GetString()}")];
    }
}
