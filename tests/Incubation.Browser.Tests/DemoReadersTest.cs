using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>The demo whose readers send by wire, with a person at the bench.</summary>
public sealed class DemoReadersTest(Browser browser)
{
    // The demo's assay DB: 8 min of incubation, a window of 90 s, 40 s to read.
    private static readonly TimeSpan LoadedAgo = TimeSpan.FromSeconds(660);
    private static readonly TimeSpan MovedAgo = TimeSpan.FromSeconds(150);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task AReadEnds_ItsResultIsThereByWire_AndNobodyTypesIt()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R06"], Cancel, "--demo-readers");
        var api = new BenchByApi(server);
        await api.Say("start-batch", TimeSpan.Zero, Cancel);
        await api.Loaded("R06", 2, LoadedAgo, Cancel);
        await api.Say("read-started", MovedAgo, Cancel, "R06", reader: 1);

        var page = await browser.Open(server, "instruments");
        await Assertions.Expect(page.Locator("[data-instrument=wire-1]")).ToContainTextAsync("Demo reader 1");
        await Assertions.Expect(page.Locator("[data-instrument=wire-1] tbody tr")).ToHaveCountAsync(1);
        await Pictures.Keep(page, "demo-reader");
        await api.Say("cleared", TimeSpan.Zero, Cancel, "R06", reader: 1);
        var snapshot = await api.Snapshot(Cancel);
        Assert.Empty(snapshot["missingResults"]!.AsArray());
        Assert.Equal(1, snapshot["batch"]!["done"]!.GetValue<int>());
    }
}
