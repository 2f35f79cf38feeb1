using System.Globalization;
using System.Net.Http.Headers;
using System.Net.Http.Json;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>A probe sends what it measures with a key; its page shows it, and says where it falls silent.</summary>
public sealed class TemperaturesPageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task AProbe_SendsIsShownAndFallsSilent()
    {
        await using var server = await ServerProcess.StartEarlierDemo(["R06"], Cancel);
        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "mara", Cancel);
        var key = await MakeKeyAsync(server, page);
        await page.GotoAsync(new Uri(server.Address, "temperatures").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        var probe = page.Locator(".probe");
        await Assertions.Expect(probe).ToContainTextAsync("Nothing has arrived");
        await Good(page, "temperatures-none");

        // Expected every minute; what came long ago, with a gap between.
        using var client = new HttpClient { BaseAddress = server.Address };
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", key);
        foreach (var (ago, celsius) in new[] { (28, 25.1), (27, 25.2), (18, 24.9), (17, 26.4), (16, 25.0) })
            await SendAsync(client, await NowAsync(server) - TimeSpan.FromMinutes(ago), celsius);
        await Assertions.Expect(probe.Locator(".probe-latest")).ToContainTextAsync("25");
        await probe.Locator("input").FillAsync("0");
        await probe.Locator("button").ClickAsync();
        await Assertions.Expect(page.Locator(".page-alert")).ToContainTextAsync("1440");
        await probe.Locator("input").FillAsync("1");
        await probe.Locator("button").ClickAsync();
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("is saved");
        await Assertions.Expect(probe).ToHaveAttributeAsync("data-silent", "yes");
        await Assertions.Expect(probe.Locator(".tc-gap")).ToHaveCountAsync(2);
        await Good(page, "temperatures-silent");

        // It sends again, and nothing is the matter.
        await SendAsync(client, await NowAsync(server), 25.1);
        await Assertions.Expect(probe).ToHaveAttributeAsync("data-silent", "no");
        await Good(page, "temperatures");
        Assert.InRange(await page.EvaluateAsync<double>("""
            () => document.querySelector('.temperature-chart').getBoundingClientRect().width
                / document.querySelector('.chart-frame').clientWidth
            """), 0.9, 1);
    }

    /// <summary>By the server's clock, which a demo that was begun earlier has ahead.</summary>
    private static async Task<DateTimeOffset> NowAsync(ServerProcess server) => DateTimeOffset.Parse(
        (await new BenchByApi(server).Snapshot(Cancel))["serverTime"]!.GetValue<string>(),
        CultureInfo.InvariantCulture);

    private static async Task SendAsync(HttpClient client, DateTimeOffset at, double celsius)
    {
        using var answer = await client.PostAsJsonAsync(
            new Uri("api/v1/benches/bench-1/commands", UriKind.Relative), new
            {
                id = Guid.NewGuid().ToString("N"),
                kind = "temperature",
                at = at.UtcDateTime.ToString("O", CultureInfo.InvariantCulture),
                device = "probe",
                celsius,
            }, Cancel);
        Assert.True(answer.IsSuccessStatusCode, await answer.Content.ReadAsStringAsync(Cancel));
    }

    private static async Task<string> MakeKeyAsync(ServerProcess server, IPage page)
    {
        await page.GotoAsync(new Uri(server.Address, "keys").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await page.Locator("#key-name").FillAsync("Probe in the incubator");
        await page.Locator("#key-bench").SelectOptionAsync("bench-1");
        await page.Locator("label.check", new() { HasText = "report and command" }).First.Locator("input").CheckAsync();
        await page.Locator("form.add-request button").ClickAsync();
        return await page.Locator(".shown").InnerTextAsync();
    }

    private static async Task Good(IPage page, string name)
    {
        foreach (var (width, height) in new[] { (800, 1280), (360, 740), (1280, 800) })
        {
            await page.SetViewportSizeAsync(width, height);
            Assert.Empty(await page.WcagFaults());
            Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= width, name);
            await Pictures.Keep(page, $"{name}-{width}");
        }
    }
}
