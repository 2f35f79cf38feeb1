using System.Text;
using Incubation.Service.Demo;
using Incubation.TestKit;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>An instrument is set up, sends over a real port, and what it sent is decided.</summary>
public sealed class InstrumentsPageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task AnInstrumentIsSetUp_Sends_AndAPersonDecides()
    {
        await using var server = await ServerProcess.StartDemo(Cancel);
        var page = await browser.Open(server, "instruments");
        await Good(page, "instruments-none");
        var port = ProgramProcess.FreePort();
        await page.Locator("#wire-name").FillAsync("Reader by the window");
        await page.Locator("#wire-port").FillAsync(port.ToString(System.Globalization.CultureInfo.InvariantCulture));
        await page.Locator("#wire-peers").FillAsync("127.0.0.1");
        await page.Locator("#wire-tests").FillAsync("CRP = no such assay = mg/L");
        await page.Locator("#wire-only").SelectOptionAsync("no");
        await page.Locator("#wire-save").ClickAsync();
        await Assertions.Expect(page.Locator("#wire-tests-fault")).ToContainTextAsync("Line 1");
        await Good(page, "instruments-faults");
        await page.Locator("#wire-tests").FillAsync("DA-TEST = DA = mg/L");
        await page.Locator("#wire-save").ClickAsync();
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("is set up");

        await using (var reader = new DemoReader(await WireKillTest.ConnectAsync(port), TimeProvider.System))
        {
            Assert.True(await reader.SendAsync(Message("T-1", "DA-TEST", "4.2"), Cancel));
            Assert.True(await reader.SendAsync(Message("T-2", "XX", "5.1"), Cancel));
            Assert.True(await reader.SendAsync(Encoding.ASCII.GetBytes(
                "P|1||||A name\rO|1|T-3||^^^DA-TEST\rR|1|^^^DA-TEST|4.4|mg/L||||F\rL|1|N\r"), Cancel));
        }

        await Assertions.Expect(page.Locator("[data-instrument=wire-1] tbody tr")).ToHaveCountAsync(3);
        await Good(page, "instruments");
        await page.GotoAsync(new Uri(server.Address, "results-by-wire").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await Good(page, "results-by-wire");
        await Decide(page);
        await page.GotoAsync(new Uri(server.Address, "decisions").ToString());
        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("Decide on a result by wire");
        await Good(page, "decisions-by-wire");
        var bench = await browser.Open(1280, 800);
        await new BenchScreen(bench).Open(server);
        await Assertions.Expect(bench.Locator(".wired-results")).ToHaveTextAsync("Decide on 2 results by wire");
        await Pictures.Keep(bench, "bench-by-wire");
    }

    private static async Task Decide(IPage page)
    {
        var questions = page.Locator(".wire-question");
        await Assertions.Expect(questions).ToHaveCountAsync(3);
        await Assertions.Expect(page.Locator("[data-key='3-0'] .code"))
            .ToHaveTextAsync(["O|1|T-3||^^^DA-TEST", "R|1|^^^DA-TEST|4.4|mg/L||||F"]);
        var first = page.Locator("[data-key='1-1']");
        await first.GetByRole(AriaRole.Button, new() { Name = "Match again" }).ClickAsync();
        await Assertions.Expect(page.Locator(".page-alert")).ToContainTextAsync("still needs a decision");
        await first.GetByRole(AriaRole.Button, new() { Name = "Put aside" }).ClickAsync();
        await Assertions.Expect(page.Locator(".page-alert")).ToContainTextAsync("reason");
        await first.Locator("input").FillAsync("A trial of the reader.");
        await first.Locator("input").BlurAsync();
        await first.GetByRole(AriaRole.Button, new() { Name = "Put aside" }).ClickAsync();
        await Assertions.Expect(questions).ToHaveCountAsync(2);
    }

    private static byte[] Message(string specimen, string test, string value) =>
        Encoding.ASCII.GetBytes(HandWire.MessageOf(specimen, test, value));

    private static async Task Good(IPage page, string name)
    {
        foreach (var (width, height, size) in new[] { (1280, 800, "wide"), (360, 740, "narrow") })
        {
            await page.SetViewportSizeAsync(width, height);
            Assert.Empty(await page.WcagFaults());
            Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= width, name);
            Assert.Empty(await CutChoicesAsync(page));
            await Pictures.KeepWhole(page, $"{name}-{size}");
        }

        await page.SetViewportSizeAsync(1280, 800);
    }

    /// <summary>Drop-downs whose longest choice has no room.</summary>
    private static Task<string[]> CutChoicesAsync(IPage page) => page.EvaluateAsync<string[]>("""
        () => [...document.querySelectorAll('select')].filter(select => {
          const free = select.cloneNode(true);
          free.style.cssText = 'position: absolute; width: max-content; max-width: none';
          select.after(free);
          const needs = free.offsetWidth;
          free.remove();
          return needs > select.offsetWidth;
        }).map(select => select.id)
        """);
}
