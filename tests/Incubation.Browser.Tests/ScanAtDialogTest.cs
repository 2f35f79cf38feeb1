using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>A scanner types wherever the focus is: it must press nothing that nobody pressed.</summary>
public sealed class ScanAtDialogTest(Browser browser, ScanAtDialogTest.Shared shared)
    : IClassFixture<ScanAtDialogTest.Shared>
{
    private static readonly string[] Few = ["R06"];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    /// <summary>For a bench on which nothing is begun.</summary>
    public sealed class Shared() : OneServer(cancel => ServerProcess.StartDemo(cancel, Few));

    [Fact]
    public async Task Scan_AtOpenDialogs_PressesNothing_AndSaysWhatToDoFirst()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, Few, "--pace", "8");
        List<string> complaints = [];
        var page = await browser.Open(1280, 800, complaints);
        var bench = new BenchScreen(page);
        var dialog = page.Locator("dialog[open]");
        await bench.Open(server);
        await bench.Big.ClickAsync();
        await Assertions.Expect(page.Locator(".hear-yes")).ToBeVisibleAsync();
        await page.Locator(".hear-yes").FocusAsync();
        await ScanAsync(page, "K-2001");
        await Assertions.Expect(dialog.GetByRole(AriaRole.Alert)).ToHaveTextAsync("Close this first, then scan.");
        await Pictures.Keep(page, "scan-at-dialog");
        Assert.Equal("preparing", await PhaseAsync(page));
        await page.Keyboard.PressAsync("Escape");
        await Assertions.Expect(dialog).ToHaveCountAsync(0);

        await bench.Start();
        await bench.DoNext();
        await page.Locator(".problem").ClickAsync();
        await Assertions.Expect(dialog).ToContainTextAsync("What is the problem?");
        await ScanAsync(page, "K-2001");
        await ScanAsync(page, "K-2002");
        await Assertions.Expect(dialog.GetByRole(AriaRole.Alert)).ToHaveTextAsync("Close this first, then scan.");
        await dialog.Locator(".dialog-choices button").First.ClickAsync();
        await Assertions.Expect(dialog.Locator("input[type=radio]").First).ToBeVisibleAsync();
        foreach (var field in new[] { "input[type=radio]:checked", "input[type=text]" })
        {
            await dialog.Locator(field).First.FocusAsync();
            await ScanAsync(page, "K-2001");
            await Assertions.Expect(dialog.Locator(".dialog-no-scan")).ToHaveTextAsync("Close this first, then scan.");
        }

        await Assertions.Expect(dialog.Locator("input[type=text]")).ToHaveValueAsync("");
        await Pictures.Keep(page, "scan-at-discard");
        Assert.DoesNotContain("discarded", await SnapshotAsync(page), StringComparison.Ordinal);
        Assert.Empty(complaints);
    }

    [Fact]
    public async Task Scan_InTwoParts_IsSaidBySheetAlone_AndFocusGoesOnAtTheScanField()
    {
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        var rack = new RackScreen(page);
        await bench.Open(shared.Server);
        await rack.Open();
        await rack.Press(rack.Tile("a:DA"));
        await ScanAsync(page, "T-9101", haltAt: 4);
        await Assertions.Expect(rack.Said).ToHaveTextAsync("That scan came in two parts. Scan it again.");
        await Assertions.Expect(rack.Rows).ToHaveCountAsync(0);
        await Assertions.Expect(page.Locator(".notice[role=alert]")).ToBeHiddenAsync();
        await Assertions.Expect(rack.Sheet.Locator("#rack-number")).ToHaveValueAsync("");

        await rack.Scan("T-7003");
        await rack.Scan("t-7003");
        await Assertions.Expect(rack.Rows).ToHaveCountAsync(2);
        await rack.Press(rack.Rows.First.GetByText("It is T-7003"));
        await Assertions.Expect(rack.Rows).ToHaveCountAsync(1);
        await Assertions.Expect(rack.Rows).Not.ToContainTextAsync("It is");
        await Assertions.Expect(rack.Sheet.Locator("#rack-number")).ToBeFocusedAsync();
        await rack.Press(rack.Sheet.Locator(".rack-undo"));
        await Assertions.Expect(rack.Said).ToHaveTextAsync("Undone: t-7003 is on the list again.");
        await rack.Press(rack.Tile("a:DB"));
        await rack.Press(rack.Sheet.Locator(".rack-undo"));
        await Assertions.Expect(rack.Said).ToHaveTextAsync("Undone: the next tube is for Demo assay A again.");
        await Assertions.Expect(rack.Rows).ToHaveCountAsync(2);
        await Pictures.Keep(page, "rack-undone");

        // A rejection near whose end a scan was held up: it is not said, and neither is the tube another.
        await rack.Press(rack.Rows.First.GetByText("Reject"));
        await rack.Sheet.Locator("#rack-why").FocusAsync();
        await ScanAsync(page, "X-1006", haltAt: 4);
        await Assertions.Expect(rack.Said).ToHaveTextAsync("That scan came in two parts. Scan it again.");
        await Assertions.Expect(rack.Sheet.Locator("#rack-why")).ToHaveValueAsync("");
        await rack.Sheet.Locator("#rack-why").FillAsync("haemolysed");
        await rack.Press(rack.Sheet.GetByText("Reject the specimen"));
        await Assertions.Expect(rack.Rows).ToHaveCountAsync(1);
        await Assertions.Expect(rack.Sheet.Locator("#rack-number")).ToBeFocusedAsync();
        await rack.Press(rack.Sheet.Locator(".rack-undo"));
        await Assertions.Expect(rack.Said).ToHaveTextAsync("t-7003 stays rejected: that is on record.");
        await Assertions.Expect(rack.Rows).ToHaveCountAsync(1);
    }

    /// <summary>
    /// The keys of a scan, each with what a browser does with it where nothing prevents it; one comes late where that
    /// is said. When they come is stated, so that a busy machine makes no scan of another kind.
    /// </summary>
    internal static Task ScanAsync(IPage page, string code, int haltAt = -1) => page.EvaluateAsync(
        """
        ([code, haltAt]) => {
          let at = performance.now();
          [...code, 'Enter'].forEach((key, i) => {
            at += i === haltAt ? 90 : 5;
            const target = document.activeElement ?? document.body;
            const event = new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true });
            Object.defineProperty(event, 'timeStamp', { value: at });
            if (!target.dispatchEvent(event)) return;
            const now = document.activeElement ?? document.body;
            if (key === 'Enter') {
              if (now instanceof HTMLButtonElement) now.click();
              else if (now instanceof HTMLInputElement) now.form?.requestSubmit();
            } else if (now instanceof HTMLInputElement && now.type === 'text') now.value += key;
          });
        }
        """, new object[] { code, haltAt });

    private static async Task<string> PhaseAsync(IPage page) => await page.EvaluateAsync<string>(
        "async () => (await (await fetch('api/v1/benches/bench-1')).json()).batch.phase");

    private static async Task<string> SnapshotAsync(IPage page) => await page.EvaluateAsync<string>(
        "async () => JSON.stringify((await (await fetch('api/v1/benches/bench-1')).json()).reports)");
}
