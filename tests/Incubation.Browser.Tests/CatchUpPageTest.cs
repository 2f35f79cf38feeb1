using System.Text.Json;
using System.Text.Json.Nodes;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>Somebody comes back after a lost hour and says, place by place, what was done.</summary>
public sealed class CatchUpPageTest(Browser browser)
{
    private static readonly string[] Steps = ["loaded", "read-started", "cleared"];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Absence_OfTwentyMinutes_IsToldOnOnePageThatIsLoadedAgainInTheMiddle()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R01", "R02", "R03"], Cancel);
        var api = new BenchByApi(server);
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        var specimens = await Specimens(api);
        await api.Say("card-changed", TimeSpan.Zero, Cancel, reader: 1, lot: "DA-L1");
        await Loaded(api, "R01", 1, TimeSpan.FromSeconds(180));
        await Loaded(api, "R02", 2, TimeSpan.FromSeconds(60));
        await api.Say("mixed", TimeSpan.Zero, Cancel, "R03");
        await server.Kill(Cancel);
        await Later(server, TimeSpan.FromMinutes(30 + 20));
        await server.Start(Cancel);
        // A clock that jumps is no outage: the page begins with the time as it is.
        await page.ReloadAsync();
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        var before = await Events(server);

        await page.Locator(".catch-up-offer .catch-up-go").ClickAsync();
        var panel = page.Locator(".catch-up");
        await Pictures.Keep(page, "catch-up");
        // Alarms go on beside it.
        await Assertions.Expect(page.Locator(".alarm")).ToBeVisibleAsync();
        await Say(panel, "Slot 1", $"{specimens["R01"]} was read and cleared");
        await Say(panel, "Slot 2", $"{specimens["R02"]} was read and cleared");

        await page.ReloadAsync();
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        await Assertions.Expect(Place(panel, "Slot 1").Locator(".catch-up-said")).ToContainTextAsync("cleared");
        await Say(panel, $"On the table: {specimens["R03"]}", $"{specimens["R03"]} is loaded");
        await Assertions.Expect(panel.Locator(".catch-up-done")).ToHaveAttributeAsync("aria-disabled", "true");
        while (await panel.Locator(".catch-up-guess").CountAsync() > 0)
            await panel.Locator(".catch-up-guess").First.ClickAsync();
        await Assertions.Expect(panel.Locator(".catch-up-summary li")).Not.ToHaveCountAsync(0);
        Assert.DoesNotContain((await Events(server)).Skip(before.Count), one => Steps.Contains((string?)one!["type"]));
        await Pictures.Keep(page, "catch-up-summary");
        foreach (var (width, height, layout) in ((int, int, string)[])
            [(1280, 800, "wide"), (800, 1280, "portrait"), (360, 740, "narrow")])
        {
            await page.SetViewportSizeAsync(width, height);
            await Pictures.Keep(page, $"catch-up-{width}");
            // The lanes are drawn anew for the new width, and their buttons laid over them.
            await page.WaitForSelectorAsync($"svg.lanes-{layout}");
            await page.WaitForFunctionAsync("() => [...document.querySelectorAll('.lane-place')]"
                + ".map(place => place.getBoundingClientRect().top).sort((one, other) => one - other)"
                + ".every((top, at, tops) => at === 0 || top - tops[at - 1] < 1 || top - tops[at - 1] >= 24)");
            Assert.Empty((await page.WcagFaults()).Select(fault => $"{width}: {fault}"));
            Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= width);
        }

        await page.SetViewportSizeAsync(1280, 800);
        await panel.Locator(".catch-up-done").ClickAsync();
        await Assertions.Expect(panel).ToBeHiddenAsync();
        await Assertions.Expect(page.Locator(".question")).ToBeHiddenAsync();
        var after = (await Events(server)).Skip(before.Count).ToList();
        var told = after.ConvertAll(one => (string)one!["type"]!);
        Assert.Equal(5, told.Count(kind => Steps.Contains(kind)));
        // One after the other, without a plan between them.
        var (first, last) = (told.FindIndex(kind => Steps.Contains(kind)),
            told.FindLastIndex(kind => Steps.Contains(kind)));
        Assert.DoesNotContain("plan-adopted", told[first..last]);
        // Both were guessed inside their windows: a word against the clock, and nothing else is held against them.
        var reads = after.FindAll(one => (string?)one!["type"] == "read-started");
        Assert.Equal(2, reads.Count);
        Assert.All(reads, read => Assert.Equal(["stated-in-time"],
            read!["payload"]!["deviations"]!.AsArray().Select(deviation => (string)deviation!)));
        Assert.Null(await page.EvaluateAsync<string?>("localStorage.getItem('incubation.catch-up.bench-1')"));
    }

    private static async Task Loaded(BenchByApi api, string request, int slot, TimeSpan ago)
    {
        await api.Say("mixed", ago + TimeSpan.FromSeconds(30), Cancel, request);
        await api.Say("loaded", ago, Cancel, request, slot);
    }

    private static ILocator Place(ILocator panel, string title) => panel.Locator(".catch-up-place").Filter(
        new() { Has = panel.Page.GetByRole(AriaRole.Heading, new() { Name = title, Exact = true }) });

    private static async Task Say(ILocator panel, string title, string answer)
    {
        var place = Place(panel, title);
        await place.GetByText("It is otherwise…").ClickAsync();
        await place.GetByRole(AriaRole.Button, new() { Name = answer }).ClickAsync();
        await Assertions.Expect(place.Locator(".catch-up-said")).ToContainTextAsync(answer);
    }

    /// <summary>The server's clock goes on by so much while it is down.</summary>
    private static Task Later(ServerProcess server, TimeSpan ahead)
    {
        var now = TimeProvider.System.GetUtcNow();
        return File.WriteAllTextAsync(Path.ChangeExtension(server.DataFile, ".clock.json"),
            JsonSerializer.Serialize(new { Real = now, Server = now + ahead, Rate = 1.0 }), Cancel);
    }

    private static async Task<Dictionary<string, string>> Specimens(BenchByApi api) =>
        (await api.Snapshot(Cancel))["labels"]!.AsArray()
            .ToDictionary(label => (string)label!["request"]!, label => (string)label!["specimen"]!);

    private static async Task<JsonArray> Events(ServerProcess server)
    {
        using var supervisor = await server.ClientAs("ines", Cancel);
        return JsonNode.Parse(await supervisor.GetStringAsync(
            new Uri("api/v1/benches/bench-1/events?limit=500", UriKind.Relative), Cancel))!["events"]!.AsArray();
    }
}
