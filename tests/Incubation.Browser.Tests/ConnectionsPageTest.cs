using System.Text;
using System.Text.RegularExpressions;
using Incubation.Exchange.Webhooks;
using Incubation.Service.Tests.Support;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// Another system is added, is told, cannot be reached, refuses, and wants no more: its page says so, and a press mends
/// what a person can mend.
/// </summary>
public sealed class ConnectionsPageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task ADestination_IsAddedToldRefusesAndLeaves()
    {
        await using var receiver = new WebhookReceiver();
        await using var server = await ServerProcess.StartEarlierDemo(["R06", "R01"], Cancel);
        List<string> complaints = [];
        var page = await browser.Open(1280, 800, complaints);
        await server.SignIn(page, "mara", Cancel);
        await page.GotoAsync(new Uri(server.Address, "connections").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await Assertions.Expect(page.Locator(".empty")).ToContainTextAsync("No other system is told");
        await Good(page, "connections-none");
        var secret = await AddAsync(page, receiver);
        var panel = page.Locator("[data-connection]");

        await Press(panel, "Send a test message");
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("204");
        await Assertions.Expect(page.Locator(".shown")).ToHaveCountAsync(0);
        var test = Assert.Single(receiver.All);
        Assert.Equal(secret.Sign(test.Id, test.Timestamp, Encoding.UTF8.GetBytes(test.Body)), test.Signature);

        // It cannot take anything now: the message waits, and the page says since when and what was answered.
        receiver.Status = 503;
        await ReadAsync(server);
        await EnterAsync(server, "1.50");
        await Assertions.Expect(panel.Locator(".line-state")).ToContainTextAsync("503");
        await Assertions.Expect(panel.Locator(".line-waits")).ToContainTextAsync("1 message");
        await Good(page, "connections-failing");

        // It refuses it for good; then it takes it, by a press, under the same id.
        receiver.Status = 422;
        await Press(panel, "Try now");
        await Assertions.Expect(panel.Locator("h3").First).ToContainTextAsync("Refused for good");
        await Good(page, "connections-refused");
        receiver.Status = 204;
        await Press(panel, "Send now");
        await Assertions.Expect(panel.Locator("h3")).ToHaveCountAsync(0);
        await Assertions.Expect(panel.Locator(".line-last")).ToContainTextAsync("R0");
        Assert.Single(receiver.All.Skip(1).Select(one => one.Id).Distinct());
        await Good(page, "connections-sending");

        // The day once more: how many it will be is said first.
        await Press(panel, "Send a day");
        await page.Locator("#count-day").ClickAsync();
        await Assertions.Expect(page.Locator("#send-day .field-fault")).ToBeVisibleAsync();
        await page.Locator("#send-day-day").FillAsync(Regex.Match(
            await panel.Locator(".line-last").InnerTextAsync(), @"\d{4}-\d\d-\d\d").Value);
        await page.Locator("#count-day").ClickAsync();
        await Assertions.Expect(page.Locator("#send-day-count")).ToHaveTextAsync("It will be 1 message.");
        await Good(page, "connections-day");
        var before = receiver.All.Count;
        await page.Locator("#do-send-day").ClickAsync();
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("go to Records now");
        using (var patience = new CancellationTokenSource(TestKit.Patience.Usual))
            while (receiver.All.Count == before)
            {
                patience.Token.ThrowIfCancellationRequested();
                await Task.Yield();
            }

        Assert.Single(receiver.All.Skip(1).Select(one => one.Id).Distinct());

        receiver.Status = 410;
        await EnterAsync(server, "25.0");
        await Assertions.Expect(panel.Locator(".line-state")).ToContainTextAsync("410");
        await Assertions.Expect(panel.GetByRole(AriaRole.Button, new() { Name = "Switch" })).ToHaveTextAsync(
            new Regex("^\\s*Switch on\\s*$"));
        await Good(page, "connections-off");
        Assert.Empty(complaints);
    }

    /// <summary>Fills the form in, first with what is refused, and gives the secret that is shown.</summary>
    private static async Task<WebhookSecret> AddAsync(IPage page, WebhookReceiver receiver)
    {
        await page.Locator("#to-name").FillAsync("Records");
        await page.Locator("#to-address").FillAsync(receiver.Address.ToString());
        await page.Locator("#to-save").ClickAsync();
        await Assertions.Expect(page.Locator(".field-fault").First).ToBeVisibleAsync();
        await Good(page, "connections-faulty");
        await page.Locator("#to-named").FillAsync("127.0.0.1");
        await page.Locator("#to-save").ClickAsync();
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("Records is added");
        await Good(page, "connections-added");
        return WebhookSecret.Read(await page.Locator(".shown").InnerTextAsync())!;
    }

    private static async Task Press(ILocator panel, string name) =>
        await panel.Locator("button", new() { HasText = name }).First.ClickAsync();

    /// <summary>Two patients' cartridges, each read inside its window: nothing holds their results.</summary>
    private static async Task ReadAsync(ServerProcess server)
    {
        var api = new BenchByApi(server);
        Task Say(string kind, int secondsAgo, string? request = null, int? slot = null, int? reader = null,
            string? lot = null) => api.Say(kind, TimeSpan.FromSeconds(secondsAgo), Cancel, request, slot, reader, lot);
        await Say("start-batch", 1200);
        await Say("card-changed", 1150, reader: 1, lot: "DB-L1");
        await Say("mixed", 1070, "R01");
        await Say("loaded", 1040, "R01", 2);
        await Say("mixed", 690, "R06");
        await Say("loaded", 660, "R06", 1);
        await Say("read-started", 170, "R06", reader: 1);
        await Say("cleared", 125, "R06", reader: 1);
        await Say("card-changed", 115, reader: 1, lot: "DA-L1");
        await Say("read-started", 100, "R01", reader: 1);
        await Say("cleared", 50, "R01", reader: 1);
    }

    /// <summary>Enters the first result that is missing, on a page of its own.</summary>
    private async Task EnterAsync(ServerProcess server, string value)
    {
        var other = await browser.Open(1280, 800);
        await new BenchScreen(other).Open(server);
        await other.Locator("a.results").ClickAsync();
        await other.WaitForSelectorAsync("[data-interactive=true]");
        var row = other.Locator(".result-row").First;
        await Assertions.Expect(row.Locator("[id^=shown-]")).ToBeFocusedAsync();
        await other.Keyboard.TypeAsync(await row.Locator(".specimen").InnerTextAsync());
        await other.Keyboard.PressAsync("Enter");
        // As hands type: what comes as fast as from a scanner is no value.
        await other.Keyboard.TypeAsync(value, new() { Delay = 100 });
        await other.Keyboard.PressAsync("Enter");
        await Assertions.Expect(other.Locator(".page-status")).ToContainTextAsync(value);
        await other.CloseAsync();
    }

    private static async Task Good(IPage page, string name)
    {
        foreach (var (width, height) in new[] { (800, 1280), (360, 740), (1280, 800) })
        {
            await page.SetViewportSizeAsync(width, height);
            Assert.Empty(await page.WcagFaults());
            Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= width, name);
            await Pictures.Keep(page, $"{name}-{width}", whole: true);
        }
    }
}
