using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// Alarms on the bench page and on the wall, at the real pace: what was done is reported as done some minutes ago.
/// </summary>
public sealed class AlarmPageTest(Browser browser)
{
    // The demo's assay DB: 8 min of incubation, a window of 90 s.
    private static readonly TimeSpan Incubation = TimeSpan.FromMinutes(8);
    private static readonly TimeSpan Window = TimeSpan.FromSeconds(90);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task WindowInDanger_Paused_SeenAndReadFromTheAlarm()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R06"], Cancel);
        var api = new BenchByApi(server);
        var page = await browser.Open(1280, 800);
        await Begun(page, server);
        await api.Say("card-changed", TimeSpan.Zero, Cancel, reader: 1, lot: "DB-L1");
        // A stated time is trusted to 5 s: the window closes in 29 s, and a move must begin 30 s before that.
        await api.Loaded("R06", 2, Incubation + Window - TimeSpan.FromSeconds(34), Cancel);

        var alarm = page.Locator(".alarm");
        await page.WaitForSelectorAsync(".alarm[data-priority='medium']");
        await Assertions.Expect(alarm.Locator(".alarm-title")).ToContainTextAsync("Slot 2");
        await Assertions.Expect(alarm.Locator(".alarm-wall")).ToContainTextAsync("wall screen");
        var sound = page.Locator(".bench-sound");
        await Assertions.Expect(sound).ToHaveTextAsync("Pause sound 2 min");
        await sound.ClickAsync();
        await Assertions.Expect(sound).ToContainTextAsync("Sound paused");
        await sound.ClickAsync();
        await Assertions.Expect(sound).ToHaveTextAsync("Pause sound 2 min");

        await alarm.Locator("[data-action='acknowledge']").ClickAsync();
        await Assertions.Expect(alarm).ToHaveAttributeAsync("data-seen", "true");
        await Assertions.Expect(sound).ToHaveTextAsync("sound on");
        // A line now; what can be done about it stands in the list that it opens.
        await Assertions.Expect(alarm.Locator("[data-action='read-started']")).ToHaveCountAsync(0);
        await alarm.Locator(".alarm-all").ClickAsync();
        await page.Locator(".alarm-items [data-action='read-started']").ClickAsync();
        await Assertions.Expect(alarm).ToBeHiddenAsync();
        await Assertions.Expect(page.Locator(".alarm-list")).ToBeHiddenAsync();
        await Assertions.Expect(page.Locator(".card-title")).ToContainTextAsync("lear");

        var snapshot = await api.Snapshot(Cancel);
        Assert.Equal("R06", (string?)snapshot["readers"]![0]!["request"]);
        Assert.Equal(1, (int)snapshot["batch"]!["readInWindow"]!);
    }

    [Fact]
    public async Task WindowClosed_NobodySeesIt_GoesToTheWallUntilSomebodyDoes()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R06", "R01"], Cancel);
        var api = new BenchByApi(server);
        var page = await browser.Open(1280, 800);
        var wall = await Wall(server);
        await Begun(page, server);
        await api.Loaded("R06", 2, Incubation + Window + TimeSpan.FromMinutes(2), Cancel);

        await page.WaitForSelectorAsync(".alarm[data-priority='high']");
        await Assertions.Expect(page.Locator(".alarm-wall")).ToHaveTextAsync("Also on the wall screen");
        await Assertions.Expect(wall.Locator(".wall-alarm")).ToBeVisibleAsync();
        await Assertions.Expect(wall.Locator(".wall-alarm")).ToContainTextAsync("Slot 2");
        // Its age is that of the closed window, not of the plan that gave the cartridge up.
        await Assertions.Expect(page.Locator(".alarm-count")).ToContainTextAsync(":");

        // Two alarms of one cartridge, one after the other.
        while (await page.Locator(".alarm[data-seen='false']").CountAsync() > 0)
            await page.Locator(".alarm [data-action='acknowledge']").ClickAsync();
        await Assertions.Expect(wall.Locator(".wall-alarm")).ToBeHiddenAsync();
        await page.Locator(".alarm .alarm-all").ClickAsync();
        await Assertions.Expect(page.Locator(".alarm-items [data-action='discard']")).ToBeVisibleAsync();
    }

    [Fact]
    public async Task Start_NotHeard_CountsAsNoScreenUntilItIs()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06", "R01"]);
        var api = new BenchByApi(server);
        var page = await browser.Open(1280, 800);
        var wall = await Wall(server);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Big.ClickAsync();
        var dialog = page.Locator("dialog[open]");
        await Assertions.Expect(dialog).ToContainTextAsync("Did you hear it?");
        await Assertions.Expect(dialog.Locator("a.dialog-link"))
            .ToHaveAttributeAsync("href", "benches/bench-1/run-sheet");
        await dialog.Locator(".hear-no").ClickAsync();
        await Assertions.Expect(dialog).ToContainTextAsync("Turn the volume up");
        Assert.Equal("preparing", (string?)(await api.Snapshot(Cancel))["batch"]!["phase"]);
        await dialog.Locator(".hear-without").ClickAsync();
        await Assertions.Expect(page.Locator(".bench-sound")).ToHaveTextAsync("Sound not heard");
        await page.WaitForSelectorAsync(".card[data-phase='now']");
        await api.Say("mixed", TimeSpan.Zero, Cancel, "R06");

        await Assertions.Expect(wall.Locator(".wall-alarm")).ToContainTextAsync("No screen can be seen and heard");
        await page.Locator(".bench-sound").ClickAsync();
        await dialog.Locator(".hear-yes").ClickAsync();
        await Assertions.Expect(page.Locator(".bench-sound")).ToHaveTextAsync("sound on");
        await Assertions.Expect(wall.Locator(".wall-alarm")).ToBeHiddenAsync();
        // It may have passed unseen: it stands, silent, until somebody has seen it.
        await Assertions.Expect(page.Locator(".alarm-word")).ToContainTextAsync("passed");
        await page.Locator(".alarm [data-action='acknowledge']").ClickAsync();
        await Assertions.Expect(page.Locator(".alarm")).ToBeHiddenAsync();
    }

    private async Task<IPage> Wall(ServerProcess server)
    {
        var wall = await browser.Open(1920, 1080);
        await server.SignIn(wall, "lena", Cancel);
        await wall.GotoAsync(new Uri(server.Address, "wall").ToString());
        return wall;
    }

    private static async Task Begun(IPage page, ServerProcess server)
    {
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
    }
}
