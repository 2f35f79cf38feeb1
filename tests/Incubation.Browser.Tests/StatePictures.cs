using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// Pictures of the bench page in each alarm state and alone, to be looked at: in the folder INCUBATION_PICTURES. Run by
/// name only.
/// </summary>
public sealed class StatePictures(Browser browser)
{
    private static readonly (int Width, int Height, string Name)[] Sizes = [(1280, 800, ""), (800, 1280, "-portrait"),
        (360, 740, "-phone")];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact(Explicit = true)]
    public async Task BenchPage_InEachAlarmState_IsKept()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R06", "R01", "R02", "R04"], Cancel);
        var api = new BenchByApi(server);
        var page = await browser.Open(1280, 800);
        var wall = await browser.Open(1920, 1080);
        await server.SignIn(wall, "lena", Cancel);
        await wall.GotoAsync(new Uri(server.Address, "wall").ToString());
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await Sheet(page, server, "run-sheet-before");
        await page.GotoAsync(new Uri(server.Address, "bench/bench-1").ToString());
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        await bench.Big.ClickAsync();
        await Keep(page, "hear");
        await page.Locator(".hear-no").ClickAsync();
        await Keep(page, "hear-not");
        await page.Locator(".hear-yes, .hear-without").First.ClickAsync();
        await page.WaitForSelectorAsync(".card[data-phase='now']");
        await api.Say("card-changed", TimeSpan.Zero, Cancel, reader: 1, lot: "DB-L1");
        await api.Loaded("R01", 1, TimeSpan.FromMinutes(3), Cancel);
        await api.Loaded("R02", 3, TimeSpan.FromMinutes(5), Cancel);
        await api.Loaded("R04", 5, TimeSpan.FromMinutes(1), Cancel);
        await api.Loaded("R06", 2, TimeSpan.FromSeconds(480 + 90 - 34), Cancel);
        await page.WaitForSelectorAsync(".alarm[data-priority='medium']");
        await Keep(page, "medium");
        await page.Locator(".alarm [data-action='acknowledge']").ClickAsync();
        await Keep(page, "medium-seen");
        await page.WaitForSelectorAsync(".alarm[data-priority='high']");
        await Keep(page, "high");
        await page.Locator(".bench-sound").ClickAsync();
        await Keep(page, "high-paused");
        await api.Say("loaded", TimeSpan.FromMinutes(3), Cancel, "R01", 3);
        await Keep(page, "astray-and-more");
        await wall.WaitForSelectorAsync(".wall-card[data-priority='high']");
        await Picture(wall, "wall-high");
        await Sheet(page, server, "run-sheet-running");
        await page.GotoAsync(new Uri(server.Address, "bench/bench-1").ToString());
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        while (await page.Locator(".alarm[data-seen='false']").CountAsync() > 0)
            await page.Locator(".alarm [data-action='acknowledge']").ClickAsync();
        await Keep(page, "all-seen");
        await server.Kill(Cancel);
        await page.WaitForSelectorAsync(".bench-line[data-line='alone']");
        await Keep(page, "alone");
        await page.ReloadAsync();
        await page.WaitForSelectorAsync(".bench-line[data-line='alone']");
        await Keep(page, "alone-loaded-again");
        await Picture(wall, "wall-alone");
    }

    private static async Task Sheet(IPage page, ServerProcess server, string name)
    {
        await page.GotoAsync(new Uri(server.Address, "benches/bench-1/run-sheet").ToString());
        await Picture(page, name);
        // A sheet of A4, at 96 px an inch.
        await page.SetViewportSizeAsync(794 - 83, 1123 - 83);
        await page.EmulateMediaAsync(new() { Media = Media.Print });
        await Picture(page, name + "-printed");
        await page.EmulateMediaAsync(new() { Media = Media.Screen });
        await page.SetViewportSizeAsync(1280, 800);
    }

    private static async Task Keep(IPage page, string name)
    {
        foreach (var (width, height, suffix) in Sizes)
        {
            await page.SetViewportSizeAsync(width, height);
            await page.WaitForTimeoutAsync(400);
            await Picture(page, name + suffix);
        }

        await page.SetViewportSizeAsync(1280, 800);
    }

    private static Task Picture(IPage page, string name) =>
        page.ScreenshotAsync(new() { Path = Path.Combine(Folder(), name + ".png") });

    private static string Folder() =>
        Directory.CreateDirectory(Environment.GetEnvironmentVariable("INCUBATION_PICTURES") ?? "pictures").FullName;
}
