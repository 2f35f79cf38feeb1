using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>The server is killed in the middle of a batch, and comes back.</summary>
public sealed class ReconnectTest(Browser browser)
{
    [Fact]
    public async Task Page_WhoseServerIsKilled_KeepsCountingAndFindsItsWayBackByItself()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var server = await ServerProcess.StartDemo(cancel, ["R03", "R06"], "--pace", "4");
        var page = await browser.Open(800, 1280);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        Assert.True(await bench.DoNext());
        var before = await WalkTest.Snapshot(server, cancel);

        await server.Kill(cancel);
        await page.WaitForSelectorAsync(".bench-line[data-line='alone']");
        var clock = await page.Locator(".clock-text").InnerTextAsync();
        await Assertions.Expect(page.Locator(".clock-text")).Not.ToHaveTextAsync(clock);
        await Assertions.Expect(page.Locator(".bench-alone")).ToBeVisibleAsync();

        await server.Start(cancel);
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        var after = await WalkTest.Snapshot(server, cancel);
        Assert.Equal(before["slots"]!.ToJsonString(), after["slots"]!.ToJsonString());
        Assert.Equal(before["offers"]![0]!["key"]!.ToString(), after["offers"]![0]!["key"]!.ToString());
        Assert.True(await bench.DoNext());
    }
}
