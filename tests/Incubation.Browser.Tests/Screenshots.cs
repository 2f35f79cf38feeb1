using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using Microsoft.Playwright;
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

    private static readonly (string Path, int Height, string Name)[] MonthPages =
    [
        ("reports", 1500, "reports.png"),
        ("record/bench-1/{batch}/play", 1200, "play.png"),
        ("step-times", 1300, "step-times.png"),
        ("what-if", 1500, "what-if.png"),
    ];

    [Fact(Explicit = true)]
    public async Task Pages_InTheMiddleOfABatch_AreKept()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var server = await ServerProcess.StartDemo(cancel, null, "--autopilot", "--pace", "15");
        var folder = Directory.CreateDirectory(Path.Combine(Repository.Demo, "screenshots")).FullName;
        // All of them stand open before that: on a busy machine the batch would be over when the last is loaded.
        List<(IPage Page, string Name)> open = [];
        foreach (var (path, width, height, name) in Pictures)
        {
            var page = await browser.Open(width, height);
            if (open.Count == 0)
                await new BenchScreen(page).Open(server);
            else
                await server.SignIn(page, "lena", cancel);
            await page.GotoAsync(new Uri(server.Address, path).ToString());
            await page.WaitForSelectorAsync("svg");
            if (path.StartsWith("bench", StringComparison.Ordinal))
                await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
            open.Add((page, name));
        }

        await open[0].Page.WaitForFunctionAsync(
            "() => /^[3-9] of 12/.test(document.querySelector('.bench-headline').innerText)", null,
            new() { Timeout = 240_000 });
        foreach (var (page, name) in open)
            await page.ScreenshotAsync(new() { Path = Path.Combine(folder, name) });
    }

    /// <summary>What a supervisor sees of the demo's invented month.</summary>
    [Fact(Explicit = true)]
    public async Task Office_AfterAMonth_IsKept()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var server = await ServerProcess.StartMonth(cancel);
        var folder = Directory.CreateDirectory(Environment.GetEnvironmentVariable("INCUBATION_PICTURES")
            ?? Path.Combine(Repository.Demo, "screenshots")).FullName;
        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "ines", cancel);
        var lost = await LastLossAsync(server, cancel);
        foreach (var (path, height, name) in MonthPages)
        {
            await page.SetViewportSizeAsync(1280, height);
            await page.GotoAsync(new Uri(server.Address,
                path.Replace("{batch}", $"{lost.Batch}", StringComparison.Ordinal)).ToString());
            await page.WaitForLoadStateAsync(LoadState.NetworkIdle);
            switch (name)
            {
                case "play.png":
                    await page.Locator(".play-list li button").Nth(lost.Moment).ClickAsync();
                    await page.WaitForSelectorAsync(".play-wrong li:not(.play-none)");
                    await page.EvaluateAsync("scrollTo(0, 0)");
                    break;
                case "what-if.png":
                    await page.WaitForSelectorAsync(".what-if[data-interactive='true']");
                    await page.Locator("#what-past").ClickAsync();
                    await Assertions.Expect(page.Locator(".page-status"))
                        .ToContainTextAsync("Filled in");
                    // As many slots as the bench has: twice as many take minutes more, on a busy machine many.
                    await page.Locator("#what-sweep").FillAsync("8");
                    await page.Locator("#what-run").ClickAsync();
                    await page.WaitForSelectorAsync("#what-progress");
                    await page.WaitForSelectorAsync("#answer-title", new() { Timeout = 1_800_000 });
                    await page.Locator("#answer-title").EvaluateAsync("answer => answer.scrollIntoView()");
                    break;
                default:
                    break;
            }

            await page.ScreenshotAsync(new() { Path = Path.Combine(folder, name) });
        }
    }

    /// <summary>
    /// The month's last batch in which a cartridge was lost, and the moment in it at which that stood there, before it
    /// was discarded: which those are changes with what the month is invented by.
    /// </summary>
    private static async Task<(int Batch, int Moment)> LastLossAsync(ServerProcess server, CancellationToken cancel)
    {
        using var client = await server.ClientAs("ines", cancel);
        async Task<JsonElement?> GetAsync(string path)
        {
            using var answer = await client.GetAsync(
                new Uri($"api/v1/benches/bench-1/batches/{path}", UriKind.Relative), cancel);
            if (answer.StatusCode == HttpStatusCode.NotFound)
                return null;
            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
            return await answer.Content.ReadFromJsonAsync<JsonElement>(cancel);
        }

        (int Batch, int Moment)? last = null;
        for (var batch = 1; await GetAsync($"{batch}/moments") is { } recorded; batch++)
            foreach (var moment in recorded.GetProperty("moments").EnumerateArray())
                if (moment.GetProperty("kind").GetString() == "trouble"
                    && moment.GetProperty("index").GetInt32() - 1 is var before
                    && await GetAsync($"{batch}/moments/{before}") is { } shown
                    && shown.GetProperty("losses").GetArrayLength() > 0)
                    last = (batch, before);
        return last ?? throw new InvalidOperationException("No cartridge is lost in the demo's month.");
    }
}
