using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>The README's pictures, taken from the running demo. Run by tests/screenshots.sh only.</summary>
public sealed class Screenshots(Browser browser)
{
    private static readonly (string Path, int Width, int Height, string Name)[] Pictures =
    [
        ("bench/bench-1", 1280, 800, "bench.png"),
        ("bench/bench-1", 800, 1280, "bench-portrait.png"),
        ("bench/bench-1", 360, 740, "bench-phone.png"),
        ("wall", 1920, 1080, "wall.png"),
        ("batch/bench-1", 1280, 800, "batch.png"),
    ];

    [Fact(Explicit = true)]
    public async Task Pages_InTheMiddleOfABatch_AreKept()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var server = await ServerProcess.StartDemo(cancel, null, "--autopilot", "--pace", "10");
        var folder = Directory.CreateDirectory(Path.Combine(Repository.Demo, "screenshots")).FullName;
        var page = await browser.Open(1280, 800);
        await new BenchScreen(page).Open(server);
        await page.WaitForFunctionAsync("() => /^[3-9] of 12/.test(document.querySelector('.bench-headline').innerText)", null, new() { Timeout = 240_000 });
        foreach (var (path, width, height, name) in Pictures)
        {
            await page.SetViewportSizeAsync(width, height);
            await page.GotoAsync(new Uri(server.Address, path).ToString());
            await page.WaitForSelectorAsync("svg");
            if (path.StartsWith("bench", StringComparison.Ordinal))
                await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
            await page.WaitForLoadStateAsync(Microsoft.Playwright.LoadState.NetworkIdle);
            await page.ScreenshotAsync(new() { Path = Path.Combine(folder, name) });
        }
    }
}
