using System.Text.Json.Nodes;
using Incubation.TestKit;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>Life differs from the plan, and a person says so on the bench page.</summary>
public sealed class LifePageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Conflict_OnTwoTablets_OneTapSettlesItOnBoth()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R01", "R02", "R06"], Cancel);
        var api = new BenchByApi(server);
        var (page, other) = (await browser.Open(1280, 800), await browser.Open(1280, 800));
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        await new BenchScreen(other).Open(server);
        await api.Loaded("R01", 1, TimeSpan.FromMinutes(2), Cancel);
        await api.Loaded("R02", 1, TimeSpan.FromMinutes(1), Cancel);

        var (question, same) = (page.Locator(".question"), other.Locator(".question"));
        await Assertions.Expect(question).ToBeVisibleAsync();
        await Assertions.Expect(same).ToBeVisibleAsync();
        Assert.Equal(await question.Locator(".question-open").InnerTextAsync(), await same.Locator(".question-open")
            .InnerTextAsync());
        await Pictures.Keep(page, "conflict");
        // Beside the alarm the question stands in one line.
        await question.Locator(".question-open").ClickAsync();
        await Pictures.Keep(page, "conflict-asked");
        // Each answer opens the next dialog only after it was taken: each is waited for by its words.
        await page.Locator("dialog[open]").GetByText("its read started at").ClickAsync();
        await page.Locator("dialog[open]").GetByText("Just now").ClickAsync();

        await Assertions.Expect(question).ToBeHiddenAsync();
        await Assertions.Expect(same).ToBeHiddenAsync();
        Assert.Empty((await api.Snapshot(Cancel))["questions"]!.AsArray());
    }

    [Fact]
    public async Task Away_ThenCorrection_StandInTheRecord()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R03", "R06"], Cancel, "--pace", "4");
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        Assert.True(await bench.DoNext());

        await Choose(page, "A report was wrong…");
        await Pictures.Keep(page, "correct");
        await page.Locator("dialog[open] .dialog-choices button").First.ClickAsync();
        await page.Locator("dialog[open]").GetByText("It was at another time").ClickAsync();
        await page.Locator("dialog[open]").GetByText("20 s ago").ClickAsync();
        // After two minutes of the bench's time it is asked why.
        await Until(async limit =>
        {
            await SaySoIfAsked(page, "tapped late");
            return (await Events(server, limit)).Any(one => (string?)one!["type"] == "accounts-revised");
        });

        await Choose(page, "I must step away…");
        await page.Locator("dialog[open]").GetByText("30 min", new() { Exact = true }).ClickAsync();
        var anyway = page.GetByText("Go anyway");
        var away = page.Locator(".also-list");
        await Assertions.Expect(anyway.Or(away.GetByText("away until"))).ToBeVisibleAsync();
        if (await anyway.IsVisibleAsync())
            await anyway.ClickAsync();
        await Assertions.Expect(away).ToContainTextAsync("away until");
        await Pictures.Keep(page, "away");
        await away.GetByText("Back").ClickAsync();
        await Assertions.Expect(away).Not.ToContainTextAsync("away until");
    }

    [Fact]
    public async Task PowerCut_InTheMiddle_SaysHowLongAndAsksForTheCard()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R01", "R02"], Cancel);
        var api = new BenchByApi(server);
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        await api.Say("card-changed", TimeSpan.Zero, Cancel, reader: 1, lot: "DA-L1");
        await api.Loaded("R01", 1, TimeSpan.FromMinutes(2), Cancel);

        await server.Kill(Cancel);
        await server.Start(Cancel);

        var question = page.Locator(".question");
        await Assertions.Expect(question).ToBeVisibleAsync();
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        await Pictures.Keep(page, "power-cut");
        var kinds = (await api.Snapshot(Cancel))["questions"]!.AsArray().Select(one => (string?)one!["kind"]).ToList();
        Assert.Contains("power-cut", kinds);
        Assert.Contains("card-in-doubt", kinds);
    }

    private static async Task Choose(IPage page, string line)
    {
        await page.Locator(".problem").ClickAsync();
        await Pictures.Keep(page, "problem");
        await page.Locator("dialog[open]").GetByText(line).ClickAsync();
    }

    private static async Task SaySoIfAsked(IPage page, string words)
    {
        var input = page.Locator("dialog[open] input[type=text]");
        if (await input.CountAsync() == 0)
            return;
        await input.FillAsync(words);
        await page.Locator("dialog[open] .dialog-main").ClickAsync();
    }

    private static async Task<JsonArray> Events(ServerProcess server, CancellationToken limit)
    {
        using var supervisor = await server.ClientAs("ines", limit);
        return JsonNode.Parse(await supervisor.GetStringAsync(
            new Uri("api/v1/benches/bench-1/events?limit=500", UriKind.Relative), limit))!["events"]!.AsArray();
    }

    private static async Task Until(Func<CancellationToken, Task<bool>> holds)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(Cancel);
        limit.CancelAfter(Patience.Usual);
        using var pause = new PeriodicTimer(TimeSpan.FromMilliseconds(100));
        while (!await holds(limit.Token))
            await pause.WaitForNextTickAsync(limit.Token);
    }
}
