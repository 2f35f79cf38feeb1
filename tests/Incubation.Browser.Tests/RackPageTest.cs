using System.Globalization;
using System.Net.Http.Json;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>Rack intake: tube after tube with a scanner, without a mouse in between.</summary>
public sealed class RackPageTest(Browser browser, RackPageTest.Shared shared) : IClassFixture<RackPageTest.Shared>
{
    private static readonly string[] Few = ["R06"];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task TwelveTubes_ForTwoPanelsAndOneUrgent_TakeTwentySecondsOfHands()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, Few);
        List<string> complaints = [];
        await SetPanelAsync(server, "Heart", "DA", "DC");
        await SetPanelAsync(server, "Liver", "DC", "DD");
        var page = await browser.Open(1280, 800, complaints);
        var rack = new RackScreen(page);
        await rack.OpenBatch(server, "lena");
        await rack.Open();
        Assert.InRange(await rack.Sheet.Locator("input:visible, select:visible, textarea:visible").CountAsync(), 1, 5);
        await rack.Press(rack.Tile("p:Heart"));
        for (var tube = 1; tube <= 6; tube++)
            await rack.Scan($"T-{4000 + tube}");
        await rack.Press(rack.Tile("p:Heart"));
        await rack.Press(rack.Tile("p:Liver"));
        // What falls back after a tube says so, beside what stays chosen.
        await Assertions.Expect(rack.Sheet.Locator(".rack-urgent")).ToHaveTextAsync("Next tube urgent");
        await rack.Press(rack.Sheet.Locator(".rack-urgent"));
        for (var tube = 7; tube <= 12; tube++)
            await rack.Scan($"T-{4000 + tube}", "Tab");
        await Assertions.Expect(rack.Rows).ToHaveCountAsync(12);
        await Assertions.Expect(rack.Rows.First).ToContainTextAsync("T-4012");
        await Assertions.Expect(rack.Sheet.Locator(".rack-urgent")).ToHaveAttributeAsync("aria-pressed", "false");
        await Assertions.Expect(rack.Add).ToHaveTextAsync("Add all 12");
        await Pictures.Keep(page, "rack-1280");
        await rack.Press(rack.Add);
        await Assertions.Expect(rack.Said).ToContainTextAsync("12 tubes are on the bench.");

        Assert.Equal(12, rack.Scans);
        Assert.InRange(rack.Presses, 1, 13);
        TestContext.Current.TestOutputHelper?.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{rack.Scans} scans of {RackScreen.ScanSeconds} s, {rack.Presses} presses: {rack.Seconds:0.0} s of hands, "
            + $"at most {RackScreen.MostForTwelve:0.0}"));
        Assert.InRange(rack.Seconds, 0, RackScreen.MostForTwelve);
        var there = await RequestsAsync(server);
        Assert.Equal(
            Enumerable.Range(4001, 12).SelectMany(tube => (tube <= 4006 ? "AC" : "CD")
                .Select(assay => $"T-{tube} {assay} {tube == 4007}")),
            there.Where(one => one.StartsWith("T-", StringComparison.Ordinal)).Order(StringComparer.Ordinal));
        await page.Keyboard.PressAsync("Escape");
        await Assertions.Expect(rack.Sheet).ToHaveCountAsync(0);
        Assert.Empty(complaints);
    }

    /// <summary>
    /// Keys as a scanner sends them, every 100 ms a code by the browser's own clock, while each answer of the server
    /// takes 500 ms.
    /// </summary>
    [Fact]
    public async Task HundredScans_EveryTenthOfASecond_OverASlowLine_AreAHundredSpecimens()
    {
        const string Scanner = """
            () => {
              let tube = 0;
              const timer = setInterval(() => {
                for (const key of [...`T-${20000 + tube}`, 'Enter'])
                  document.activeElement.dispatchEvent(
                    new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true }));
                if (++tube === 100) clearInterval(timer);
              }, 100);
            }
            """;
        await using var server = await ServerProcess.StartDemo(Cancel, Few);
        var page = await browser.Open(800, 1280);
        await page.RouteAsync("**/api/v1/benches/*/rack**", async route =>
        {
            var answer = await route.FetchAsync();
            await Task.Delay(TimeSpan.FromMilliseconds(500), Cancel);
            await route.FulfillAsync(new() { Response = answer });
        });
        var rack = new RackScreen(page);
        await rack.OpenBatch(server, "lena");
        await rack.Open();
        await rack.Press(rack.Tile("a:DA"));
        await page.EvaluateAsync(Scanner);
        await Assertions.Expect(rack.Add).ToHaveTextAsync("Add all 100");
        var names = await rack.Sheet.Locator(".rack-specimen").AllInnerTextsAsync();
        Assert.Equal(Enumerable.Range(20000, 100).Reverse().Select(tube => $"T-{tube}"), names);

        // The lot that expires first is short of that: each tube that goes without says so, one press settles all.
        var settle = rack.Sheet.Locator(".rack-doubt button", new() { HasText = "Add all the same" });
        // The newest is asked too: the answer is about the whole list.
        await Assertions.Expect(rack.Rows.First.Locator(".rack-doubt")).ToContainTextAsync("Add all the same");
        Assert.InRange(await settle.CountAsync(), 2, 99);
        await rack.Press(settle.First);
        await Assertions.Expect(settle).ToHaveCountAsync(0);
        await rack.Press(rack.Add);
        await Assertions.Expect(rack.Said).ToContainTextAsync("100 tubes are on the bench.");
        Assert.Equal(100, (await RequestsAsync(server)).Count(one => one.StartsWith("T-", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task List_WhoseServerDiesUnderIt_IsThereAllOnce()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, Few);
        var page = await browser.Open(800, 1280);
        var rack = new RackScreen(page);
        await rack.OpenBatch(server, "lena");
        await rack.Open();
        await rack.Press(rack.Tile("a:DC"));
        foreach (var tube in new[] { "T-1", "T-2", "T-3" })
        {
            await rack.Sheet.Locator("#rack-number").FillAsync(tube);
            await page.Keyboard.PressAsync("Enter");
            await Assertions.Expect(rack.Said).ToContainTextAsync(tube);
        }

        // Recorded, but its answer never comes; then the server is gone.
        await page.RouteAsync("**/api/v1/benches/bench-1/rack", async route =>
        {
            if (route.Request.Method == "POST")
                await route.FetchAsync();
            await route.AbortAsync();
        });
        await rack.Press(rack.Add);
        await Assertions.Expect(rack.Sheet.Locator(".rack-line")).ToContainTextAsync("Offline.");
        await server.Kill(Cancel);
        await page.UnrouteAsync("**/api/v1/benches/bench-1/rack");
        await Pictures.Keep(page, "rack-offline-800");
        await server.Start(Cancel);
        await Assertions.Expect(rack.Said).ToContainTextAsync("3 tubes are on the bench.");
        Assert.Equal(["T-1 C False", "T-2 C False", "T-3 C False"],
            (await RequestsAsync(server)).Where(one => one.StartsWith("T-", StringComparison.Ordinal))
                .Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task List_PastedAndFromAFile_IsAllOrNone()
    {
        var server = shared.Server;
        var page = await browser.Open(360, 740);
        var rack = new RackScreen(page);
        await rack.OpenBatch(server, "lena");
        await rack.Open();
        await rack.Press(rack.Sheet.Locator(".rack-paste-open"));
        await rack.Sheet.Locator("#rack-text").FillAsync("specimen;assay\nT-1;DA\n1.2E+15;DA\nT-3;XX");
        await Assertions.Expect(rack.Sheet.Locator(".rack-read li")).ToHaveCountAsync(2);
        await Assertions.Expect(rack.Sheet.Locator(".rack-read")).ToContainTextAsync("Line 3, column 1 (specimen):");
        await Assertions.Expect(rack.Sheet.Locator(".rack-read")).ToContainTextAsync("Line 4, column 2 (assay):");
        await Assertions.Expect(rack.Sheet.Locator(".rack-save")).ToBeDisabledAsync();
        Assert.Empty(await FaultsAsync(page, 360));
        await Pictures.Keep(page, "rack-list-360");

        // Of an encoding that cannot be told, nothing is guessed; with a mark it is read, and a formula is only text.
        async Task ChooseAsync(byte[] bytes) => await rack.Sheet.Locator("#rack-file").SetInputFilesAsync(
            new FilePayload { Name = "list.csv", MimeType = "text/csv", Buffer = bytes });
        await ChooseAsync(System.Text.Encoding.Latin1.GetBytes("specimen;identifier\r\nT-1;Grün\r\n"));
        await Assertions.Expect(rack.Sheet.Locator(".rack-read-says")).ToContainTextAsync("UTF-8");
        await Assertions.Expect(rack.Sheet.Locator(".rack-save")).ToBeDisabledAsync();
        foreach (var encoding in new[] { System.Text.Encoding.Unicode, System.Text.Encoding.BigEndianUnicode })
        {
            await ChooseAsync([.. encoding.GetPreamble(),
                .. encoding.GetBytes("specimen\tassay\tidentifier\r\nT-1\tDA\tGrün\r\n=1+1\tDA\t\r\n")]);
            await Assertions.Expect(rack.Sheet.Locator(".rack-read li")).ToHaveTextAsync(
                ["T-1 · Demo assay A", "=1+1 · Demo assay A"]);
        }

        // Without its mark, too; what is no list is told before the page or the server has all of it.
        await ChooseAsync(System.Text.Encoding.Unicode.GetBytes("specimen\tassay\r\nT-9\tDA\r\n"));
        await Assertions.Expect(rack.Sheet.Locator(".rack-read li")).ToHaveTextAsync(["T-9 · Demo assay A"]);
        await ChooseAsync(new byte[3_000_000].Select(_ => (byte)'x').ToArray());
        await Assertions.Expect(rack.Sheet.Locator(".rack-read-says"))
            .ToHaveTextAsync("Nothing is taken: this is larger than 1 MB. Is it the right file?");
        await Assertions.Expect(rack.Sheet.Locator(".rack-read li")).ToHaveCountAsync(0);
        await Assertions.Expect(rack.Sheet.Locator("#rack-text")).ToHaveValueAsync("");
        await Pictures.Keep(page, "rack-list-large");
        await ChooseAsync([]);
        await Assertions.Expect(rack.Sheet.Locator(".rack-read-says")).ToContainTextAsync("This file is empty.");
        await Assertions.Expect(rack.Sheet.Locator(".rack-save")).ToBeDisabledAsync();

        // A scan while a list is pasted is a tube of its own, and no line of the list.
        await rack.Sheet.Locator("#rack-text").FillAsync("specimen;assay\nC-11;DA\nC-12;DA");
        await Assertions.Expect(rack.Sheet.Locator(".rack-read li")).ToHaveTextAsync(
            ["C-11 · Demo assay A", "C-12 · Demo assay A"]);
        await rack.Sheet.Locator("#rack-text").FocusAsync();
        await page.EvaluateAsync("""
            code => {
              for (const key of [...code, 'Enter']) {
                const down = new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true });
                if (document.activeElement.dispatchEvent(down) && key.length === 1)
                  document.execCommand('insertText', false, key);
              }
            }
            """, "M-30001");
        await Assertions.Expect(rack.Said).ToContainTextAsync("M-30001");
        await Assertions.Expect(rack.Sheet.Locator("#rack-text")).ToHaveValueAsync(
            "specimen;assay\nC-11;DA\nC-12;DA");
        await Assertions.Expect(rack.Sheet.Locator(".rack-read li")).ToHaveTextAsync(
            ["C-11 · Demo assay A", "C-12 · Demo assay A"]);
        await rack.Press(rack.Sheet.Locator(".rack-undo"));
        await Assertions.Expect(rack.Rows).ToHaveCountAsync(0);

        // The template, with lines in it, as a spreadsheet saves it.
        var template = await (await page.Context.APIRequest.GetAsync(
            new Uri(server.Address, "specimen-list.csv").ToString())).TextAsync();
        var filled = template.Replace(',', ';') + "T-1;DA;urgent;;;;\r\n\"T-2\";DA + DC;;;;;\r\nT-2;DD;;;;;\r\n";
        await rack.Sheet.Locator("#rack-file").SetInputFilesAsync(new FilePayload
        {
            Name = "list.csv",
            MimeType = "text/csv",
            Buffer = System.Text.Encoding.UTF8.GetBytes(filled),
        });
        await Assertions.Expect(rack.Sheet.Locator(".rack-read-says")).ToHaveTextAsync(
            "Understood: 3 lines, of 2 tubes.");
        await rack.Press(rack.Sheet.GetByText("Put all 2 on the list"));
        await Assertions.Expect(rack.Rows).ToHaveCountAsync(2);
        await rack.Press(rack.Add);
        await Assertions.Expect(rack.Said).ToContainTextAsync("2 tubes are on the bench.");
        Assert.Equal(["T-1 A True", "T-2 A False", "T-2 C False", "T-2 D False"],
            (await RequestsAsync(server)).Where(one => one.StartsWith("T-", StringComparison.Ordinal))
                .Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task Line_Ordered_LeavesTheTileOut_AndEdited_IsForOthersWithAnotherLotAndUrgent()
    {
        var server = shared.Server;
        using (var client = await server.ClientAs("lena", Cancel))
        using (var answer = await client.PostAsJsonAsync(new Uri("api/v1/worklist", UriKind.Relative), new
        {
            source = "ward",
            orders = new[] { new { number = "N-1", specimen = "B-17", assays = new[] { "DC" } } },
        }, Cancel))
            Assert.True(answer.IsSuccessStatusCode);
        var page = await browser.Open(360, 740);
        var rack = new RackScreen(page);
        await rack.OpenBatch(server, "lena");
        await rack.Open();
        await rack.Press(rack.Tile("a:DB"));
        await rack.Scan("B-17");
        var row = rack.Rows.First;
        await Assertions.Expect(row).ToContainTextAsync("Not ordered, so left out: Demo assay B.");
        await Assertions.Expect(row.Locator(".rack-facts")).ToContainTextAsync("Demo assay C · order ward · N-1");
        await Pictures.Keep(page, "rack-left-out-360");
        await rack.Press(row.GetByText("Add Demo assay B too"));
        await Assertions.Expect(row.Locator(".rack-facts")).ToContainTextAsync("Demo assay C, Demo assay B");
        await Assertions.Expect(row).Not.ToContainTextAsync("left out");
        await Assertions.Expect(rack.Said).ToBeHiddenAsync();

        await rack.Press(row.GetByText("Edit"));
        var form = row.Locator(".rack-form");
        await Assertions.Expect(form.Locator(".rack-choice [aria-pressed=true]")).ToHaveTextAsync(
            [new Regex("Demo assay B"), new Regex("Demo assay C"), new Regex("^DB-L1, until .* 4 left")]);
        await rack.Press(form.GetByText("Demo assay D"));
        await rack.Press(form.GetByText("DB-L2"));
        await rack.Press(form.GetByText("Urgent"));
        await Pictures.Keep(page, "rack-edit-360");
        Assert.Empty(await FaultsAsync(page, 360));
        await rack.Press(form.GetByText("Save"));
        await Assertions.Expect(row).ToContainTextAsync("! Urgent");
        await Assertions.Expect(row.Locator(".rack-facts")).ToContainTextAsync(
            "Demo assay C, Demo assay B, Demo assay D · DB-L2");
        await rack.Press(rack.Add);
        await Assertions.Expect(rack.Said).ToContainTextAsync("1 tube is on the bench.");
        Assert.Equal(["B-17 B True", "B-17 C True", "B-17 D True"],
            (await RequestsAsync(server)).Where(one => one.StartsWith("B-17", StringComparison.Ordinal))
                .Order(StringComparer.Ordinal));
        await Assertions.Expect(page.Locator("table", new() { HasText = "B-17" }).First).ToContainTextAsync("DB-L2");
    }

    [Fact]
    public async Task Sheet_OpenOnBenchAndBatch_AtEverySize_HasNoViolation()
    {
        var server = shared.Server;
        foreach (var place in new[] { "bench", "batch" })
        {
            var page = await browser.Open(1280, 800);
            await server.SignIn(page, "lena", Cancel);
            await page.GotoAsync(new Uri(server.Address, place + "/bench-1").ToString());
            await page.WaitForSelectorAsync(place == "batch" ? "[data-interactive=true]"
                : ".bench-line[data-line='connected']");
            await LookAtSheet(page, new RackScreen(page), place);
        }
    }

    /// <summary>For a list of two tubes, and for sheets of which nothing is added.</summary>
    public sealed class Shared() : OneServer(cancel => ServerProcess.StartDemo(cancel, Few));

    private static async Task LookAtSheet(IPage page, RackScreen rack, string place)
    {
        Task LookAsync(Func<ScreenSize, Task> look, params ILocator[] next) =>
            page.OnEach(ScreenSize.Every, async size =>
            {
                await look(size);
                Assert.Empty(await FaultsAsync(page, size.Width));
                await size.Try(next);
            });
        var (edit, cancel) = (rack.Rows.First.GetByText("Edit"), rack.Sheet.GetByText("Cancel"));
        var (reject, remove) = (rack.Rows.Last.GetByText("Reject"), rack.Rows.First.GetByText("Remove"));
        // The first scan opens it, wherever the focus is.
        await rack.ScanFirst("SP-005");
        ILocator[] tiles = [rack.Tile("a:DB"), rack.Sheet.Locator(".rack-out"), rack.Sheet.Locator(".rack-urgent")];
        await page.OnEach(ScreenSize.Every, size => size.Try(tiles));
        foreach (var tile in tiles)
            await rack.Press(tile);
        await LookAsync(async size =>
        {
            // Scanned anew on each: what is asked is seen where it is asked, above the sheet's foot.
            if (await rack.Rows.CountAsync() > 1)
                await rack.Press(remove);
            await Assertions.Expect(rack.Rows).ToHaveCountAsync(1);
            await rack.Scan("sp-005x");
            await Assertions.Expect(rack.Said).ToContainTextAsync("looks like");
            await Pictures.Keep(page, $"rack-{place}-{size.Width}");
            Assert.True(await page.EvaluateAsync<bool>("""
                () => document.querySelector('.rack-row .rack-doubt').getBoundingClientRect().bottom
                    <= document.querySelector('.rack-foot').getBoundingClientRect().top
                """), $"{place} {size}");
        }, edit);
        await rack.Press(edit);
        await LookAsync(async size =>
        {
            Assert.InRange(await rack.Sheet.Locator("input:visible, select:visible").CountAsync(), 1, 5);
            await Pictures.Keep(page, $"rack-{place}-{size.Width}-edit");
        }, cancel);
        await rack.Press(cancel);
        await rack.Press(reject);
        await LookAsync(_ => Task.CompletedTask, cancel);
        await rack.Press(cancel);
        await page.OnEach(ScreenSize.Every, size => size.Try(reject, remove));
        await rack.Press(remove);
        await Assertions.Expect(rack.Rows).ToHaveCountAsync(1);
        await page.OnEach(ScreenSize.Every, size => size.Try(rack.Sheet.Locator(".rack-undo")));
        await rack.Press(rack.Sheet.Locator(".rack-undo"));
        await Assertions.Expect(rack.Rows).ToHaveCountAsync(2);
    }

    internal static async Task<IReadOnlyList<string>> FaultsAsync(IPage page, int width)
    {
        var found = (await page.WcagFaults()).Select(fault => $"{page.Url} {width}: {fault}").ToList();
        if (await page.EvaluateAsync<int>("document.documentElement.scrollWidth") > width)
            found.Add("scrolls sideways");
        return found;
    }

    /// <summary>A supervisor names a panel on its page.</summary>
    private async Task SetPanelAsync(ServerProcess server, string name, params string[] assays)
    {
        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "ines", Cancel);
        await page.GotoAsync(new Uri(server.Address, "panels").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await page.Locator("#panel-name").FillAsync(name);
        foreach (var assay in assays)
            await page.Locator($"input[name=assay][value={assay}]").CheckAsync();
        await page.Locator("#panel-form button").ClickAsync();
        await Assertions.Expect(page.Locator("main")).ToContainTextAsync($"{name} stands for");
        await Pictures.Keep(page, "panels");
    }

    /// <summary>Specimen, assay and urgency of every request on the bench.</summary>
    private static async Task<IReadOnlyList<string>> RequestsAsync(ServerProcess server)
    {
        using var client = await server.ClientAs("lena", Cancel);
        using var waiting = JsonDocument.Parse(
            await client.GetStringAsync(new Uri("api/v1/waiting", UriKind.Relative), Cancel));
        return [.. waiting.RootElement.GetProperty("waiting").EnumerateArray().Select(line =>
            $"{line.GetProperty("specimen").GetString()} {line.GetProperty("assayName").GetString()![^1]}"
            + $" {line.GetProperty("isUrgent").GetBoolean()}")];
    }
}
