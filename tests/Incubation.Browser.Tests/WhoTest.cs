using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// Aides change places at an enrolled tablet; a locked one goes on counting and takes reports, marked.
/// </summary>
public sealed class WhoTest(Browser browser)
{
    private const string LenasPin = "274913";

    [Fact]
    public async Task Tablet_LockedAndUnlocked_ReportsAreMarkedAndSettled()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var server = await ServerProcess.StartDemo(cancel, ["R03", "R06"], "--pace", "4");
        var page = await browser.Open(1280, 800);
        await page.GotoAsync(new Uri(server.Address, "sign-in").ToString());
        await page.GetByText("Make this browser the bench tablet").ClickAsync();
        await page.WaitForURLAsync(server.Address.ToString());
        await page.GotoAsync(new Uri(server.Address, "bench/bench-1").ToString());
        var who = page.Locator(".bench-who");
        await Assertions.Expect(who).ToContainTextAsync("Locked");
        await Assertions.Expect(who).ToHaveAccessibleNameAsync("Locked: who?");

        // What needs a person says so; the next thing stays in view while the panel is open.
        var bench = new BenchScreen(page);
        await bench.Big.ClickAsync();
        await Assertions.Expect(page.Locator(".notice-text")).ToContainTextAsync("locked");
        await who.ClickAsync();
        var card = await page.Locator(".bench-left").BoundingBoxAsync();
        var panel = await page.Locator(".who-panel").BoundingBoxAsync();
        Assert.True(panel!.X >= card!.X + card.Width, "The panel covers the next thing.");
        Assert.DoesNotContain(await page.AllFaults(), fault => fault.Impact is "serious" or "critical");
        await page.GetByRole(AriaRole.Button, new() { Name = "Lena" }).ClickAsync();
        await page.Locator(".who-pin").FillAsync("111111");
        await Assertions.Expect(page.Locator(".who-fault")).ToContainTextAsync("Wrong PIN");
        await TypePin(page);
        await Assertions.Expect(who).ToContainTextAsync("Lena");
        await Assertions.Expect(who).ToHaveAccessibleNameAsync(new Regex("^Signed in: Lena"));
        await bench.Start();

        await who.ClickAsync();
        await page.GetByText("Lock this tablet").ClickAsync();
        await Assertions.Expect(who).ToContainTextAsync("Locked");
        Assert.True(await bench.DoNext());

        await who.ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Lena" }).ClickAsync();
        await TypePin(page);
        var settle = page.Locator(".settle");
        await Assertions.Expect(settle).ToContainTextAsync("1 report while locked");
        await settle.ClickAsync();
        await Assertions.Expect(settle).ToBeHiddenAsync();

        using var supervisor = await server.ClientAs("ines", cancel);
        var events =
            JsonNode.Parse(
                await supervisor.GetStringAsync(new Uri("api/v1/benches/bench-1/events?limit=500", UriKind.Relative),
                    cancel))!["events"]!.AsArray();
        var marked = events.Single(one => (string?)one!["type"] == "identity-not-checked")!;
        var settled = events.Single(one => (string?)one!["type"] == "identity-settled")!;
        Assert.Equal("lena", (string?)marked["person"]);
        Assert.StartsWith("tablet-", (string?)marked["device"], StringComparison.Ordinal);
        Assert.Equal((string?)marked["report"], (string?)settled["payload"]!["reports"]![0]);
        Assert.Equal("lena", (string?)settled["payload"]!["person"]);
    }

    [Fact]
    public async Task Browser_SignedOutAtTheServer_GoesOnCountingAndKeepsWhatIsTapped()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var server = await ServerProcess.StartDemo(cancel, ["R03", "R06"], "--pace", "4");
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();

        // Signed out in another tab of the same browser.
        var other = await page.Context.NewPageAsync();
        await other.GotoAsync(server.Address.ToString());
        await other.GetByText("Sign out").ClickAsync();
        // Where the page hears of it before the answer comes, it leads there by itself, and back afterwards.
        await other.WaitForURLAsync(new Regex("/sign-in"));

        await Assertions.Expect(page.Locator(".bench-alone")).ToContainTextAsync("Signed out");
        var clock = await page.Locator(".clock-text").InnerTextAsync();
        await Assertions.Expect(page.Locator(".clock-text")).Not.ToHaveTextAsync(clock);
        await page.WaitForFunctionAsync(
            "() => document.querySelector('button.big').getAttribute('aria-disabled') !== 'true'");
        await bench.Big.ClickAsync();
        await Assertions.Expect(page.Locator(".bench-alone")).ToContainTextAsync("1 waiting");

        await other.GetByText("Sign in as Lena").ClickAsync();
        await other.WaitForURLAsync(server.Address.ToString());
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        await page.WaitForFunctionAsync("() => (localStorage.getItem('incubation.outbox.bench-1') ?? '[]') === '[]'");
    }

    private static async Task TypePin(IPage page)
    {
        foreach (var digit in LenasPin)
            await page.Locator(".who-key", new() { HasTextString = digit.ToString() }).ClickAsync();
    }
}
