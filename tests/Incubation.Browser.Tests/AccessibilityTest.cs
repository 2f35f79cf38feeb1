using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// Every page, before and during a batch, at two sizes: WCAG 2.2 A and AA by axe, and nothing that scrolls sideways.
/// </summary>
public sealed class AccessibilityTest(Browser browser)
{
    private static readonly string[] Pages = ["", "bench/bench-1", "batch/bench-1", "results/bench-1",
        "benches/bench-1/run-sheet", "benches/bench-1/labels", "lots", "wall", "waiting", "decisions", "bench/nowhere",
        "no-such-page", "controls",
        "controls/summary", "comparisons", "proficiency",
        "record", "record/bench-1/1", "record/bench-1/1/play", "record/bench-1/1/amend?request=R01", "reports",
        "reports?from=2001-01-01&to=2001-01-02", "retention", "second-look", "record-check",
        "people", "people/ines", "devices", "instruments", "results-by-wire", "panels", "worklist", "temperatures",
        "scanner", "connections",
        "keys", "clinic-log", "benches/new", "what-if", "step-times", "assays", "assays/new", "assays/DA",
        "assays/DA/draft", "me", "me/passkeys", "me/sign-ins", "sign-in", "welcome",
        "enrol", "record/unchecked"];

    /// <summary>The pages that a batch changes.</summary>
    private static readonly string[] PagesOfABatch = ["", "bench/bench-1", "batch/bench-1",
        "benches/bench-1/run-sheet", "record/bench-1/1", "record/bench-1/1/play", "wall", "waiting", "decisions"];

    private static readonly (int Width, int Height)[] Sizes = [(1280, 800), (360, 740)];

    /// <summary>How wide the page is, once it has been drawn for its size.</summary>
    private const string Breadth = """
        async () => {
          await new Promise(drawn => requestAnimationFrame(() => requestAnimationFrame(drawn)));
          return document.documentElement.scrollWidth;
        }
        """;

    [Fact]
    public async Task Pages_BeforeAndDuringABatch_HaveNoViolation()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var server = await ServerProcess.StartDemo(cancel);
        var faults = await FaultsOn(server, Pages);
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        faults.AddRange(await FaultsOn(server, PagesOfABatch));
        Assert.True(faults.Count == 0, string.Join('\n', faults));
    }

    [Fact]
    public async Task SetUp_OnAnEmptyFolder_HasNoViolation()
    {
        await using var server = await ServerProcess.StartEmpty(TestContext.Current.CancellationToken);
        foreach (var (width, height) in Sizes)
        {
            var page = await browser.Open(width, height);
            await page.GotoAsync(server.Address.ToString());
            Assert.EndsWith("/set-up", page.Url, StringComparison.Ordinal);
            await page.Locator("#set-up-code").FillAsync("AAAA-BBBB-CCCC");
            await page.Locator("#set-up-clinic").FillAsync("North Clinic");
            await page.Locator("#set-up-name").FillAsync("Olga");
            await page.Locator("#set-up-id").FillAsync("olga");
            await page.Locator("#set-up-password").FillAsync("violet ladder seventeen");
            await page.Locator("main button").ClickAsync();
            await page.WaitForSelectorAsync("#set-up-code-fault");
            Assert.Empty(await page.WcagFaults());
            Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= width);
        }
    }

    private async Task<List<string>> FaultsOn(ServerProcess server, string[] pages)
    {
        List<string> faults = [];
        var page = await browser.Open(Sizes[0].Width, Sizes[0].Height);
        await server.SignIn(page, "mara", TestContext.Current.CancellationToken);
        foreach (var path in pages)
        {
            await page.SetViewportSizeAsync(Sizes[0].Width, Sizes[0].Height);
            await page.GotoAsync(new Uri(server.Address, path).ToString());
            await page.WaitForLoadStateAsync(LoadState.Load);
            if (path == "bench/bench-1")
                await page.WaitForSelectorAsync(".lanes-frame svg");
            foreach (var (width, height) in Sizes)
            {
                await page.SetViewportSizeAsync(width, height);
                faults.AddRange((await page.WcagFaults()).Select(fault => $"/{path} at {width}×{height}: {fault}"));
                if (await page.EvaluateAsync<int>(Breadth) > width)
                    faults.Add($"/{path} at {width}×{height} scrolls sideways.");
            }
        }

        return faults;
    }
}
