using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// Lots and labels as a person with a scanner uses them: a keyboard that types fast and ends with Enter.
/// </summary>
public sealed class StockPagesTest(Browser browser, StockPagesTest.TwoTubes two)
    : IClassFixture<StockPagesTest.TwoTubes>
{
    private const string Box = "010084458800328817271130";

    private readonly ServerProcess server = two.Server;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Lots_ScannedFromTheBox_AreReceivedQuarantinedAndNotOffered()
    {
        await using var whole = await ServerProcess.StartDemo(Cancel);
        List<string> complaints = [];
        var page = await browser.Open(1280, 800, complaints);
        await whole.SignIn(page, "lena", Cancel);
        await OpenLotsAsync(page, whole);

        // What a scanner types that sends the separator as Ctrl+].
        await page.Locator("#lot-scan").FocusAsync();
        await page.Keyboard.TypeAsync(Box + "10DA-L9");
        await page.Keyboard.PressAsync("Control+BracketRight");
        await page.Keyboard.TypeAsync("3012");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator("#lot-lot")).ToHaveValueAsync("DA-L9");
        await Assertions.Expect(page.Locator("#lot-expiry")).ToHaveValueAsync("2027-11-30");
        await Assertions.Expect(page.Locator("#lot-count")).ToHaveValueAsync("12");
        await page.Locator("#lot-assay").SelectOptionAsync("DA");
        await Pictures.Keep(page, "lots-scanned");
        await page.Locator("form.add-request button[type=submit]").ClickAsync();
        await Assertions.Expect(page.Locator(".page-status"))
            .ToContainTextAsync("Received: kit DA-L9, 12, until 2027-11-30.");

        await page.Locator("#lot-scan").FillAsync("hello");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator("#lot-scan-fault")).ToContainTextAsync("is not a GS1 code");
        await Pictures.Keep(page, "lots-garbage");

        await page.Locator("button[aria-label='Change buffer DA-L9']").ClickAsync();
        await page.Locator("input[value='Quarantine']").CheckAsync();
        await page.Locator("#lot-deed-why").FillAsync("cloudy");
        await Pictures.Keep(page, "lots-quarantine");
        await page.Locator("#lot-deeds button[type=submit]").ClickAsync();
        await Assertions.Expect(page.Locator("main table")).ToContainTextAsync("in quarantine: cloudy");
        await Pictures.Keep(page, "lots-list");

        await page.GotoAsync(new Uri(whole.Address, "batch/bench-1").ToString());
        await Assertions.Expect(page.Locator("#add-lot option[value='DA-L1']")).ToHaveCountAsync(1);
        await Assertions.Expect(page.Locator("#add-lot option[value='DA-L9']")).ToHaveCountAsync(0);
        await Assertions.Expect(page.Locator("section[aria-labelledby=lot-notes-title]"))
            .ToContainTextAsync("Lot DB-L1 expires on");
        await Pictures.Keep(page, "batch-notes");
        Assert.Empty(complaints);
    }

    /// <summary>
    /// A camera that sees a label of the sheet, drawn by the test nearer and farther as a hand holds it: at some sizes
    /// a picture without any blur is not found.
    /// </summary>
    [Fact]
    public async Task Camera_SeesACode_FillsTheField()
    {
        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "lena", Cancel);
        await page.GotoAsync(new Uri(server.Address, "benches/bench-1/labels").ToString());
        var label = page.Locator(".cartridge-label", new() { HasText = "SP-005" });
        var square = await label.Locator("svg").EvaluateAsync<string>(
            "svg => { svg.setAttribute('xmlns', 'http://www.w3.org/2000/svg'); svg.setAttribute('width', '300'); "
            + "svg.setAttribute('height', '300'); return svg.outerHTML; }");
        await OpenLotsAsync(page, server);
        await page.EvaluateAsync(
            """
            svg => {
              navigator.mediaDevices.getUserMedia = async () => {
                const canvas = Object.assign(document.createElement('canvas'), { width: 640, height: 480 });
                const picture = Object.assign(new Image(), { src: 'data:image/svg+xml;base64,' + btoa(svg) });
                await picture.decode();
                let frame = 0;
                const draw = () => {
                  const [c, size] = [canvas.getContext('2d'), 230 + (frame++ % 120)];
                  c.fillStyle = 'white';
                  c.fillRect(0, 0, 640, 480);
                  c.drawImage(picture, (640 - size) / 2, (480 - size) / 2, size, size);
                  requestAnimationFrame(draw);
                };
                draw();
                return canvas.captureStream(10);
              };
            }
            """, square);
        await page.Locator("[data-camera=start]").ClickAsync();
        // A cartridge's label is no kit box: the field says so, with what was read.
        await Assertions.Expect(page.Locator("#lot-scan-fault"))
            .ToContainTextAsync("“CR.bench-1.R06” is not a GS1 code");
        await Assertions.Expect(page.Locator(".scan-camera")).ToBeHiddenAsync();
    }

    [Fact]
    public async Task Camera_NoneAllowed_SaysWhatElseToDo()
    {
        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "lena", Cancel);
        await OpenLotsAsync(page, server);
        await page.Locator("[data-camera=start]").ClickAsync();
        await Assertions.Expect(page.Locator(".scan-camera-says")).ToContainTextAsync("type what is on the box");
    }

    [Fact]
    public async Task Label_ScannedAtTheBench_IsTheRightOneOrStopsTheButton()
    {
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await bench.Start();
        var due = await page.Locator(".card-title").InnerTextAsync();
        var labels =
            await page.EvaluateAsync<string[]>(
                "async () => (await (await fetch('api/v1/benches/bench-1')).json()).labels.map(label => label.code + "
                + "'|' + label.specimen)");
        var right = labels.Single(label => due.EndsWith(label.Split('|')[1], StringComparison.Ordinal)).Split('|')[0];
        var wrong = labels.Select(label => label.Split('|')[0]).Single(label => label != right);

        // Wherever the focus is: here on the big button, which neither the scan nor its Enter may press.
        await bench.Big.FocusAsync();
        await ScanAsync(page, wrong);
        await Assertions.Expect(page.Locator(".notice-text")).ToContainTextAsync("is due. Put it back.");
        await Assertions.Expect(bench.Big).ToHaveAttributeAsync("aria-disabled", "true");
        await Pictures.Keep(page, "scan-wrong");
        await ScanAsync(page, right);
        await Assertions.Expect(page.Locator(".notice-text")).ToContainTextAsync("Right: ");
        await Assertions.Expect(bench.Big).ToHaveAttributeAsync("aria-disabled", "false");
        await Pictures.Keep(page, "scan-right");
        await ScanAsync(page, "CR.bench-7.R06");
        await Assertions.Expect(page.Locator(".notice-text")).ToContainTextAsync("another bench");
        await page.Locator(".notice-actions button").ClickAsync();
        await Assertions.Expect(bench.Big).ToHaveAttributeAsync("aria-disabled", "false");
        Assert.Equal(due, await page.Locator(".card-title").InnerTextAsync());

        await page.GotoAsync(new Uri(server.Address, "benches/bench-1/labels").ToString());
        await Assertions.Expect(page.Locator(".cartridge-label")).ToHaveCountAsync(2);
        await page.EmulateMediaAsync(new() { Media = Media.Print });
        await Pictures.Keep(page, "labels-print");
    }

    /// <summary>Two tests change nothing there, and the third only the batch, which those do not look at.</summary>
    public sealed class TwoTubes() : OneServer(cancel => ServerProcess.StartDemo(cancel, ["R06", "R07"]));

    private static async Task OpenLotsAsync(IPage page, ServerProcess server)
    {
        await page.GotoAsync(new Uri(server.Address, "lots").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
    }

    /// <summary>
    /// All keys at once, as fast as a scanner whatever the machine does; its Enter must press nothing.
    /// </summary>
    internal static async Task ScanAsync(IPage page, string text) => Assert.False(await page.EvaluateAsync<bool>(
        """
        text => {
          const press = key => (document.activeElement ?? document.body).dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true }));
          for (const key of text) press(key);
          return press('Enter');
        }
        """, text));
}
