using System.Text.Json.Nodes;
using Microsoft.Data.Sqlite;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// What becomes of a tap whose report is not recorded: it stays where it is not lost, and says so.
/// </summary>
public sealed class AnswersPageTest(Browser browser, AnswersPageTest.Shared shared)
    : IClassFixture<AnswersPageTest.Shared>
{
    private static readonly (int Width, int Height)[] Sizes = [(1280, 800), (360, 740)];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task LogThatCannotBeWritten_TheReportStaysOnTheTabletAndIsRecordedLater()
    {
        var server = shared.Server;
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        await Assertions.Expect(bench.Title).ToContainTextAsync("Mix");
        var said = page.Locator(".bench-alone");
        Assert.DoesNotContain("mixed", await Events(server));

        await using (await HoldFile(server))
        {
            await bench.Big.ClickAsync();
            await Assertions.Expect(said).ToContainTextAsync("cannot write to its data file", Patient);
            await Assertions.Expect(said).ToContainTextAsync("keeps your report");
            await Assertions.Expect(bench.Line).ToHaveAttributeAsync("data-line", "connected");
            await KeepPictures(page, "answer-not-now");
            await page.ReloadAsync();
            await Assertions.Expect(said).ToContainTextAsync("keeps your report", Patient);
            Assert.DoesNotContain("mixed", await Events(server));
        }

        await Assertions.Expect(said).ToBeHiddenAsync(new() { Timeout = 60_000 });
        await Assertions.Expect(bench.Title).ToContainTextAsync("Load");
        Assert.Single(await Events(server), kind => kind == "mixed");
    }

    [Fact]
    public async Task RefusedForGood_StaysInSightUntilItWasSeen()
    {
        var server = shared.Server;
        var page = await browser.Open(1280, 800);
        await new BenchScreen(page).Open(server);
        var now = (await new BenchByApi(server).Snapshot(Cancel))["serverTime"]!.GetValue<string>();
        await page.EvaluateAsync("([at]) => localStorage.setItem('incubation.outbox.bench-1', JSON.stringify([1, 2]"
            + ".map(n => ({ id: `r${n}`, kind: 'loaded', request: `R90${n}`, slot: n, at, stated: false, "
            + "device: 'tablet-1', person: 'lena', locked: false }))))", new[] { now });

        await page.ReloadAsync();
        var lines = page.Locator(".refused-list li");
        await Assertions.Expect(lines).ToHaveCountAsync(2);
        await Assertions.Expect(lines.First).ToContainTextAsync("R901 loaded · Slot 1");
        await Assertions.Expect(lines.First).ToContainTextAsync("lena");
        await Assertions.Expect(page.Locator(".bench-alone")).ToBeHiddenAsync();
        await KeepPictures(page, "answer-refused");
        await AssertNoViolation(page);

        await page.ReloadAsync();
        await Assertions.Expect(lines).ToHaveCountAsync(2);
        await lines.First.Locator("button").ClickAsync();
        await Assertions.Expect(lines).ToHaveCountAsync(1);
        await lines.First.Locator("button").ClickAsync();
        await Assertions.Expect(page.Locator(".refused")).ToBeHiddenAsync();
    }

    [Fact]
    public async Task ReportAfterItsBatchWasClosed_WaitsForASupervisorWhoDecides()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06"]);
        var api = new BenchByApi(server);
        await api.Say("start-batch", TimeSpan.Zero, Cancel);
        await api.Say("mixed", TimeSpan.Zero, Cancel, "R06");
        await api.Say("discarded", TimeSpan.Zero, Cancel, "R06", reason: "dropped");
        await api.Say("give-up", TimeSpan.Zero, Cancel, "R06", words: "no specimen left", anyway: true);
        await api.Say("close-batch", TimeSpan.Zero, Cancel);
        await api.Say("loaded", TimeSpan.Zero, Cancel, "R06", 2);

        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "ines", Cancel);
        var late = page.Locator(".late-reports a");
        // Where a supervisor's day begins.
        await page.GotoAsync(server.Address.ToString());
        await Assertions.Expect(late).ToContainTextAsync("SP-005 loaded in slot 2");
        await KeepPictures(page, "late-home");
        await AssertNoViolation(page);
        await page.GotoAsync(new Uri(server.Address, "record").ToString());
        await Assertions.Expect(late).ToContainTextAsync("SP-005 loaded in slot 2");
        await KeepPictures(page, "late-list");
        await AssertNoViolation(page);
        await late.ClickAsync();
        await page.WaitForSelectorAsync("[data-interactive='true']");
        await KeepPictures(page, "late-decide");
        await AssertNoViolation(page);
        await page.Locator("#late-why").FillAsync("Dropped before it was loaded: a wrong tap.");
        await page.Locator("#late-note").ClickAsync();

        await Assertions.Expect(page.Locator("#record-happenings + .table-frame")).ToContainTextAsync(
            "noted and changes nothing");
        await Assertions.Expect(late).ToHaveCountAsync(0);
        await KeepPictures(page, "late-record");
    }

    [Fact]
    public async Task KeptForTooLong_IsThrownAwayAndSaysSo()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06"]);
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await page.WaitForFunctionAsync(
            "async () => (await caches.match('/bench/bench-1')) !== undefined && navigator.serviceWorker.controller "
            + "!== null");
        await server.Kill(Cancel);
        await page.WaitForSelectorAsync(".bench-line[data-line='alone']");
        await page.EvaluateAsync("() => { const key = 'incubation.last.bench-1'; const kept = JSON.parse("
            + "localStorage.getItem(key)); kept.wall -= 37 * 3600 * 1000; localStorage.setItem(key, "
            + "JSON.stringify(kept)); }");

        await page.ReloadAsync();

        await Assertions.Expect(bench.Title).ToContainTextAsync("Too long without", Patient);
        await Assertions.Expect(page.Locator(".lanes-frame svg")).ToHaveCountAsync(0);
        Assert.Null(await page.EvaluateAsync<string?>("() => localStorage.getItem('incubation.last.bench-1')"));
        await KeepPictures(page, "kept-too-old");
    }

    /// <summary>One starts a batch there; what the other says is refused, whether there is one or not.</summary>
    public sealed class Shared() : OneServer(cancel => ServerProcess.StartDemo(cancel, ["R06"]));

    /// <summary>A write waits five seconds for another program that holds the file, and is tried again.</summary>
    private static LocatorAssertionsToContainTextOptions Patient => new() { Timeout = 60_000 };

    private static async Task AssertNoViolation(IPage page) => Assert.Empty(await page.WcagFaults());

    private static async Task KeepPictures(IPage page, string name)
    {
        foreach (var (width, height) in Sizes)
        {
            await page.SetViewportSizeAsync(width, height);
            await page.WaitForFunctionAsync(
                "() => document.documentElement.scrollWidth <= document.documentElement.clientWidth");
            await Pictures.Keep(page, $"{name}-{width}");
        }

        await page.SetViewportSizeAsync(Sizes[0].Width, Sizes[0].Height);
    }

    /// <summary>Another program that writes into the data file, and does not come to an end.</summary>
    private static async Task<SqliteTransaction> HoldFile(ServerProcess server)
    {
        var connection = new SqliteConnection($"Data Source={server.DataFile};Pooling=False");
        await connection.OpenAsync(Cancel);
        return connection.BeginTransaction();
    }

    private static async Task<List<string>> Events(ServerProcess server)
    {
        using var client = await server.ClientAs("ines", Cancel);
        var events = JsonNode.Parse(await client.GetStringAsync(
            new Uri("api/v1/benches/bench-1/events?limit=500", UriKind.Relative), Cancel))!;
        return [.. events["events"]!.AsArray().Select(one => one!["type"]!.GetValue<string>())];
    }
}
