using System.Text.Json;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>Where the clinic demands it, the scan of a cartridge's label is the report.</summary>
public sealed class LabelsWayPageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Load_WhereLabelsAreDemanded_IsReportedByAScanOfTheRightOne()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06", "R07"], "--pace", "8",
            "--Incubation:LabelScans", "demanded");
        List<string> complaints = [];
        var page = await browser.Open(1280, 800, complaints);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        // A mix is told by the button: there is nothing to scan yet.
        await Assertions.Expect(page.Locator(".card-scan")).ToBeHiddenAsync();
        await bench.DoNext();
        await Assertions.Expect(bench.Title).ToContainTextAsync("Load");
        await Assertions.Expect(page.Locator(".card-scan")).ToHaveTextAsync("Scan its label when it is done.");
        var title = await bench.Title.InnerTextAsync();
        var labels = (await Snapshot(page)).GetProperty("labels").EnumerateArray().ToDictionary(
            label => label.GetProperty("specimen").GetString()!, label => label.GetProperty("code").GetString()!);
        var (specimen, right) = labels.Single(label => title.Contains(label.Key, StringComparison.Ordinal));
        var (otherSpecimen, wrong) = labels.Single(label => label.Key != specimen);

        await Assertions.Expect(bench.Big).ToHaveAttributeAsync("aria-disabled", "false");
        await bench.Big.ClickAsync();
        await Assertions.Expect(page.Locator(".notice-text")).ToHaveTextAsync($"Scan the label of {specimen} first.");
        await Pictures.Keep(page, "labels-way-first");
        await StockPagesTest.ScanAsync(page, wrong);
        await Assertions.Expect(page.Locator(".notice-text")).ToHaveTextAsync(
            $"This is {otherSpecimen}; the plan's next is {specimen}.");
        await Assertions.Expect(bench.Big).ToHaveAttributeAsync("aria-disabled", "true");
        // It was not mixed yet: it cannot be the one that was loaded.
        await Assertions.Expect(page.Locator(".notice-actions button")).ToHaveCountAsync(1);
        await Pictures.Keep(page, "labels-way-wrong");

        await StockPagesTest.ScanAsync(page, right);
        await Assertions.Expect(bench.Title).Not.ToHaveTextAsync(title);
        await Assertions.Expect(page.Locator(".notice[role=alert]")).ToBeHiddenAsync();
        var report = (await Snapshot(page)).GetProperty("reports").EnumerateArray().First();
        Assert.Equal("loaded", report.GetProperty("kind").GetString());
        Assert.Empty(complaints);
    }

    /// <summary>
    /// A supervisor has labels asked for on the page of labels: screens that are open know it at once; the button does
    /// what a scan does.
    /// </summary>
    [Fact]
    public async Task Asked_BySupervisorOnThePage_IsKnownAtTheBench()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06", "R08"], "--pace", "12");
        List<string> complaints = [];
        var page = await browser.Open(1280, 800, complaints);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await AskAsync(server, "asked");
        await bench.Start();
        await bench.DoNext();
        await Assertions.Expect(bench.Title).ToContainTextAsync("Load");
        await Assertions.Expect(page.Locator(".card-scan"))
            .ToHaveTextAsync("Scan its label when it is done, or press the button.");
        await Assertions.Expect(bench.Big).ToHaveAttributeAsync("aria-disabled", "false");
        await StockPagesTest.ScanAsync(page, (await DueAsync(page)).Due.Code);
        await Assertions.Expect(bench.Title).ToContainTextAsync("Mix");
        // The button is a report, too.
        while (!(await bench.Title.InnerTextAsync()).Contains("Move", StringComparison.Ordinal))
            await bench.DoNext();

        Assert.Contains(await EventsAsync(server), one => one.Contains("\"labels-asked\"", StringComparison.Ordinal)
            && one.Contains("\"asked\"", StringComparison.Ordinal));
        Assert.Empty(complaints);
    }

    /// <summary>
    /// Another's label stops the offer, and "it was done with this one" is one press, kept in the record.
    /// </summary>
    [Fact]
    public async Task Asked_OtherLabelThanThePlansNext_StopsTheOffer()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R06", "R08"], Cancel,
            "--Incubation:LabelScans", "asked");
        List<string> complaints = [];
        var page = await browser.Open(1280, 800, complaints);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        var api = new BenchByApi(server);
        await api.Say("card-changed", TimeSpan.Zero, Cancel, reader: 1, lot: "DB-L1");
        // The first is to be read now, while the other still reacts for minutes.
        foreach (var (request, slot, ago) in new[] { ("R06", 1, 485), ("R08", 2, 300) })
        {
            await api.Say("mixed", TimeSpan.FromSeconds(ago + 30), Cancel, request);
            await api.Say("loaded", TimeSpan.FromSeconds(ago), Cancel, request, slot);
        }

        await Assertions.Expect(bench.Title).ToContainTextAsync("Move");
        await Assertions.Expect(bench.Big).ToHaveAttributeAsync("aria-disabled", "false");
        var (due, other) = await DueAsync(page);
        await StockPagesTest.ScanAsync(page, other.Code);
        await Assertions.Expect(page.Locator(".notice-text")).ToHaveTextAsync(
            $"This is {other.Specimen}; the plan's next is {due.Specimen}.");
        await Assertions.Expect(bench.Big).ToHaveAttributeAsync("aria-disabled", "true");
        await Pictures.Keep(page, "labels-way-other");
        await page.Locator(".notice-actions").GetByText("It was done with this one").ClickAsync();
        await Assertions.Expect(page.Locator(".notice[role=alert]")).ToBeHiddenAsync();

        // What is told goes to the server on its own way.
        await page.WaitForFunctionAsync("async () => (await (await fetch('api/v1/benches/bench-1')).json())"
            + ".reports[0]?.kind === 'read-started'");
        Assert.Contains(await EventsAsync(server), one => one.Contains("\"read-started\"", StringComparison.Ordinal)
            && one.Contains("other-than-planned", StringComparison.Ordinal));
        Assert.Empty(complaints);
    }

    private static async Task<List<string>> EventsAsync(ServerProcess server)
    {
        using var client = await server.ClientAs("ines", Cancel);
        using var events = JsonDocument.Parse(await client.GetStringAsync(
            new Uri("api/v1/benches/bench-1/events?limit=500", UriKind.Relative), Cancel));
        return [.. events.RootElement.GetProperty("events").EnumerateArray().Select(one => one.GetRawText())];
    }

    /// <summary>The label of the cartridge that is due, and that of the other.</summary>
    private static async Task<(Label Due, Label Other)> DueAsync(IPage page)
    {
        var snapshot = await Snapshot(page);
        var due = snapshot.GetProperty("offers")[0].GetProperty("request").GetString();
        var labels = snapshot.GetProperty("labels").EnumerateArray().ToLookup(
            label => label.GetProperty("request").GetString() == due,
            label => new Label(label.GetProperty("specimen").GetString()!, label.GetProperty("code").GetString()!));
        return (labels[true].Single(), labels[false].Single());
    }

    private sealed record Label(string Specimen, string Code);

    /// <summary>Sets what is asked on the page of labels, and once more what holds by then.</summary>
    private async Task AskAsync(ServerProcess server, string demand)
    {
        var address = new Uri(server.Address, "benches/bench-1/labels").ToString();
        var office = await browser.Open(1280, 800);
        await server.SignIn(office, "ines", Cancel);
        foreach (var holds in new[] { "off", demand })
        {
            await office.GotoAsync(address);
            var rule = office.Locator(".label-rule[data-interactive=true]");
            await Assertions.Expect(rule.Locator("input:checked")).ToHaveValueAsync(holds);
            var choice = rule.Locator($"input[value={demand}]");
            await office.OnEach(ScreenSize.Every, size => size.Try(choice, rule.Locator("button")));
            await choice.CheckAsync();
            await rule.Locator("button").ClickAsync();
            await Assertions.Expect(rule).ToContainTextAsync("Saved. It holds from the next step on.");
        }

        await office.OnEach(ScreenSize.Every, size => office.Check(size, "labels-rule"));

        // Who works at the bench is told what holds, and nothing more.
        var aide = await browser.Open(360, 740);
        await server.SignIn(aide, "lena", Cancel);
        await aide.GotoAsync(address);
        await Assertions.Expect(aide.Locator(".label-rule[data-interactive=true]")).ToContainTextAsync("Asked.");
        await Assertions.Expect(aide.Locator(".label-rule button")).ToHaveCountAsync(0);
    }

    private static async Task<JsonElement> Snapshot(IPage page) => JsonDocument.Parse(
        await page.EvaluateAsync<string>("async () => await (await fetch('api/v1/benches/bench-1')).text()"))
        .RootElement;
}
