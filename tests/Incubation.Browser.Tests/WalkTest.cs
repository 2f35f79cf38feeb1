using System.Text.Json.Nodes;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>A batch, start to finish, by nothing but what the screens say.</summary>
public sealed class WalkTest(Browser browser)
{
    private static readonly string[] ThreeOfTwoLots = ["R03", "R06", "R10"];

    [Fact]
    public async Task Aide_WhoOnlyDoesTheOneNextThing_ReadsEveryCartridgeInItsWindow()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var server = await ServerProcess.StartDemo(cancel, ThreeOfTwoLots, "--pace", "8");
        List<string> complaints = [];
        var page = await browser.Open(1280, 800, complaints);
        var wall = await browser.Open(1920, 1080, complaints);
        await server.SignIn(wall, "lena", cancel);
        await wall.GotoAsync(new Uri(server.Address, "wall").ToString());

        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        var steps = 0;
        while (await bench.DoNext())
            Assert.True(++steps < 60, "The batch does not come to an end.");
        // Three cartridges of two kinds: mix, load, move, clear, or mix, load, clear in the reader; and at least two
        // cards.
        Assert.InRange(steps, 11, 20);

        await Assertions.Expect(wall.Locator("body")).ToContainTextAsync("3 of 3 done");
        await EnterResults(page, server);
        var snapshot = await Snapshot(server, cancel);
        Assert.Equal(3, (int)snapshot["batch"]!["readInWindow"]!);
        Assert.Equal(0, (int)snapshot["batch"]!["readOutside"]!);
        Assert.Empty(snapshot["missingResults"]!.AsArray());
        Assert.Empty(complaints);
    }

    private static async Task EnterResults(IPage page, ServerProcess server)
    {
        await page.GotoAsync(new Uri(server.Address, "batch/bench-1").ToString());
        await page.WaitForSelectorAsync("[data-interactive='true']");
        var enter = page.Locator(".result-list button");
        for (var missing = await enter.CountAsync(); missing > 0; missing--)
        {
            await enter.First.ClickAsync();
            await page.Locator("#result-shown")
                .FillAsync(await page.Locator("#result-dialog .specimen-large").InnerTextAsync());
            await page.Locator("#result-value").FillAsync("4.20");
            await page.Locator("#result-dialog .button-primary").ClickAsync();
            await Assertions.Expect(page.Locator(".read-back")).ToContainTextAsync("4.20");
            await page.Locator("#result-save").ClickAsync();
            await Assertions.Expect(enter).ToHaveCountAsync(missing - 1);
        }
    }

    internal static async Task<JsonNode> Snapshot(ServerProcess server, CancellationToken cancel)
    {
        using var client = await server.ClientAs("lena", cancel);
        return JsonNode.Parse(await client.GetStringAsync(new Uri("api/v1/benches/bench-1", UriKind.Relative),
            cancel))!;
    }
}
