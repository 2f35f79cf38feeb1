using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// The tablet without its server: it is loaded again, goes on, and delivers what it was told, in order and once each.
/// </summary>
public sealed partial class AlonePageTest(Browser browser)
{
    private static readonly string Root = Path.Combine(Repository.Root, "src", "Incubation.Server", "wwwroot");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Page_LoadedAgainWithoutItsServer_GoesOnAndDeliversInOrderOnceEach()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R06"], Cancel, "--pace", "8");
        var api = new BenchByApi(server);
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        // By the list of benches: the page is exchanged, not loaded.
        await server.SignIn(page, "lena", Cancel);
        await page.GotoAsync(server.Address.ToString());
        await page.Locator("a[href='bench/bench-1']").ClickAsync();
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        await bench.Start();
        // A demo's assay of 8 min with a window of 90 s, open since just now.
        await api.Say("card-changed", TimeSpan.Zero, Cancel, reader: 1, lot: "DB-L1");
        await api.Loaded("R06", 2, TimeSpan.FromSeconds(480 + 10), Cancel);
        await Assertions.Expect(bench.Title).ToContainTextAsync("Move slot 2");
        await page.WaitForFunctionAsync(
            "async () => (await caches.match('/bench/bench-1')) !== undefined && navigator.serviceWorker.controller "
            + "!== null");

        await server.Kill(Cancel);
        await page.WaitForSelectorAsync(".bench-line[data-line='alone']");
        await page.ReloadAsync();
        await page.WaitForSelectorAsync(".bench-line[data-line='alone']");
        await Assertions.Expect(page.Locator(".bench-alone")).ToContainTextAsync("Offline since");
        await Assertions.Expect(page.Locator(".clock-doubt")).ToHaveTextAsync("time in doubt");
        await Assertions.Expect(page.Locator(".lanes-frame svg")).ToBeVisibleAsync();
        await Assertions.Expect(bench.Title).ToContainTextAsync("Move slot 2");
        await bench.Big.ClickAsync();
        await Assertions.Expect(page.Locator(".bench-alone")).ToContainTextAsync("1 report waiting");

        // An installed screen begins at the list of benches: without a server, at the bench that it showed last.
        await page.GotoAsync(server.Address.ToString());
        Assert.EndsWith("/bench/bench-1", page.Url, StringComparison.Ordinal);
        await Assertions.Expect(page.Locator(".bench-alone")).ToContainTextAsync("1 report waiting");
        await Assertions.Expect(page.Locator(".bench-who")).ToContainTextAsync("Lena");
        await Assertions.Expect(bench.Title).ToContainTextAsync("Clear the reader");
        await page.WaitForFunctionAsync(
            "() => document.querySelector('button.big').getAttribute('aria-disabled') === 'false'");
        await bench.Big.ClickAsync();
        await Assertions.Expect(page.Locator(".bench-alone")).ToContainTextAsync("2 reports waiting");
        await Assertions.Expect(bench.Title).ToContainTextAsync("Nothing more while offline");

        await server.Start(Cancel);
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        await Assertions.Expect(page.Locator(".results")).ToBeVisibleAsync();
        Assert.Equal(["read-started", "cleared"], (await Events(server))
            .Where(kind => kind is "read-started" or "cleared"));
        await Assertions.Expect(page.Locator(".clock-doubt")).ToBeHiddenAsync();
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Mixture_MadeBeforeOrAfterTheServerWasLost_IsStillLoaded(bool told)
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06"], "--pace", "8");
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        await Assertions.Expect(bench.Title).ToContainTextAsync("Mix SP-005");
        if (told)
        {
            await bench.DoNext();
            await Assertions.Expect(bench.Title).ToContainTextAsync("Load SP-005");
        }

        await server.Kill(Cancel);
        await page.WaitForSelectorAsync(".bench-line[data-line='alone']");
        if (!told)
            await bench.DoNext();
        await Assertions.Expect(bench.Title).ToContainTextAsync("Load SP-005 into slot");
        await bench.DoNext();

        await server.Start(Cancel);
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        await page.WaitForFunctionAsync("() => document.querySelector('.bench-alone').hidden");
        Assert.Equal(["mixed", "loaded"], (await Events(server)).Where(kind => kind is "mixed" or "loaded"));
    }

    [Fact]
    public async Task Outage_FromTheMixToTheClear_GoesAsFarAsThePlanAndLosesNothing()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06", "R07"], "--pace", "20");
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        var first = await bench.Title.InnerTextAsync();
        Assert.StartsWith("Mix ", first, StringComparison.Ordinal);
        await page.WaitForFunctionAsync(
            "() => document.querySelector('button.big').getAttribute('aria-disabled') === 'false'");

        await server.Kill(Cancel);
        await page.WaitForSelectorAsync(".bench-line[data-line='alone']");
        await Assertions.Expect(page.Locator(".upcoming-waits")).ToContainTextAsync("New mixes wait");
        var specimen = first[4..];
        var told = new List<string>();
        while (await bench.Big.IsVisibleAsync())
        {
            told.Add(await bench.Title.InnerTextAsync());
            Assert.True(told.Count < 8, string.Join(", ", told));
            await bench.DoNext();
        }

        Assert.Equal(first, told[0]);
        Assert.Contains(told, title => title.StartsWith($"Load {specimen} into slot", StringComparison.Ordinal));
        Assert.Contains(told, title => title.Contains("card", StringComparison.OrdinalIgnoreCase));
        Assert.Contains(told, title => title.StartsWith("Move slot", StringComparison.Ordinal));
        Assert.StartsWith("Clear", told[^1], StringComparison.Ordinal);
        await Assertions.Expect(bench.Title).ToContainTextAsync("Nothing more while offline");
        await Assertions.Expect(page.Locator(".bench-alone")).ToContainTextAsync($"{told.Count} reports waiting");

        await server.Start(Cancel);
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        await page.WaitForFunctionAsync("() => document.querySelector('.bench-alone').hidden");
        // The other one is mixed now.
        await Assertions.Expect(bench.Title).ToContainTextAsync("Mix SP-0");
        await Assertions.Expect(bench.Title).Not.ToContainTextAsync(specimen);
        await Assertions.Expect(page.Locator(".bench-headline")).ToContainTextAsync("1 of 2 done");
        var events = (await Events(server)).ToList();
        Assert.Equal(["card-changed", "cleared", "loaded", "mixed", "read-started"],
            events.Where(kind => kind is "mixed" or "loaded" or "card-changed" or "read-started" or "cleared"
                or "discarded").Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task SignInPage_Reached_NothingOfABenchStaysBehind()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06"]);
        var page = await browser.Open(1280, 800);
        await new BenchScreen(page).Open(server);
        Assert.Contains("SP-005", await Kept(page), StringComparison.Ordinal);
        await page.WaitForFunctionAsync("async () => (await caches.match('/bench/bench-1')) !== undefined");
        // The page that is served without a server is a frame: what was on the bench stands in no file of it.
        Assert.DoesNotContain("SP-", await page.EvaluateAsync<string>(
            """
            async () => {
              const all = [];
              for (const key of await caches.keys()) {
                const cache = await caches.open(key);
                for (const one of await cache.keys())
                  all.push(new URL(one.url).pathname, await (await cache.match(one)).text());
              }
              return all.join('\n');
            }
            """), StringComparison.Ordinal);

        await page.Context.ClearCookiesAsync();
        await page.GotoAsync(new Uri(server.Address, "bench/bench-1").ToString());
        await page.WaitForURLAsync("**/sign-in*");
        await page.WaitForFunctionAsync(
            "() => !Object.keys(localStorage).some(key => key.startsWith('incubation.last.'))");
    }

    [Fact]
    public void Worker_FilesThatItKeeps_AreThoseOfTheBenchPage()
    {
        // Those of other pages alone.
        string[] others = ["/js/wall.js", "/js/wallpages.js", "/js/play.js", "/js/orderfile.js", "/js/scanner.js",
            "/js/scannercheck.js", "/css/results.css", "/js/passkeys.js", "/js/set-up.js",
            "/js/noscan.js", "/js/scansaid.js", "/js/resultrows.js",
            "/css/wall.css",
            "/css/play.css", "/css/reports.css", "/css/what-if.css", "/css/run-sheet.css", "/css/labels.css",
            "/css/controls.css", "/css/record.css", "/css/results.css", "/lib/zxing/zxing-browser.min.js"];
        var worker = File.ReadAllText(Path.Combine(Root, "sw.js"));
        var kept = Quoted()
            .Matches(
                worker[worker.IndexOf("const FILES", StringComparison.Ordinal)..worker.IndexOf("];",
                    StringComparison.Ordinal)]).Select(found => found.Groups[1].Value);
        var there = new[] { "css", "js", "lib" }.SelectMany(folder =>
            Directory.EnumerateFiles(Path.Combine(Root, folder), "*.*", SearchOption.AllDirectories))
            .Where(path => path.EndsWith(".js", StringComparison.Ordinal)
                || path.EndsWith(".css", StringComparison.Ordinal))
            .Select(path => "/" + Path.GetRelativePath(Root, path).Replace('\\', '/'))
            .Concat(["/favicon.svg", "/manifest.webmanifest"]);
        Assert.Equal(there.Except(others).Order(StringComparer.Ordinal), kept.Order(StringComparer.Ordinal));
    }

    [Fact]
    public void Manifest_OfAnInstalledScreen_NamesIconsThatAreThere()
    {
        var manifest = JsonNode.Parse(File.ReadAllText(Path.Combine(Root, "manifest.webmanifest")))!;
        Assert.Equal("standalone", (string?)manifest["display"]);
        Assert.Contains(manifest["icons"]!.AsArray(), icon => (string?)icon!["sizes"] == "512x512"
            && (string?)icon["purpose"] == "maskable");
        Assert.All(manifest["icons"]!.AsArray(),
            icon => Assert.True(File.Exists(Path.Combine(Root, ((string)icon!["src"]!).TrimStart('/')))));
    }

    private static Task<string> Kept(IPage page) =>
        page.EvaluateAsync<string>("() => localStorage.getItem('incubation.last.bench-1') ?? ''");

    private static async Task<IEnumerable<string>> Events(ServerProcess server)
    {
        using var client = await server.ClientAs("ines", Cancel);
        var rows =
            JsonNode.Parse(
                await client.GetStringAsync(new Uri("api/v1/benches/bench-1/events?limit=500", UriKind.Relative),
                    Cancel))!["events"]!.AsArray();
        return rows.Select(row => (string)row!["type"]!);
    }

    [GeneratedRegex("\"(/[^\"]+)\"")]
    private static partial Regex Quoted();
}
