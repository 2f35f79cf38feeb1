using System.Globalization;
using Microsoft.Playwright;

namespace Incubation.Browser.Tests;

/// <summary>
/// The rack intake as an aide with a scanner uses it. Counts what hands do: a scan takes 1.1 s, or as long as
/// INCUBATION_SCAN_SECONDS says, a press 0.5 s.
/// </summary>
internal sealed class RackScreen(IPage page)
{
    private const double PressSeconds = 0.5;

    /// <summary>How long hands take for a scan.</summary>
    public static double ScanSeconds { get; } =
        Environment.GetEnvironmentVariable("INCUBATION_SCAN_SECONDS") is { Length: > 0 } text
            ? double.Parse(text, CultureInfo.InvariantCulture) : 1.1;

    /// <summary>
    /// The most that hands may take for twelve tubes: 20 s at 1.1 s a scan. Slower scans take longer, nothing else may.
    /// </summary>
    public static double MostForTwelve => (12 * ScanSeconds) + 6.8;

    public int Scans { get; private set; }

    public int Presses { get; private set; }

    /// <summary>How long hands take for all of that.</summary>
    public double Seconds => (Scans * ScanSeconds) + (Presses * PressSeconds);

    public ILocator Sheet => page.Locator("dialog.rack[open]");

    public ILocator Said => Sheet.Locator(".rack-said");

    public ILocator Rows => Sheet.Locator(".rack-row");

    public ILocator Add => Sheet.Locator(".rack-add");

    public ILocator Tile(string key) => Sheet.Locator($"[data-tile='{key}']");

    /// <summary>On the batch page.</summary>
    public async Task OpenBatch(ServerProcess server, string person)
    {
        await server.SignIn(page, person, CancellationToken.None);
        await page.GotoAsync(new Uri(server.Address, "batch/bench-1").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
    }

    /// <summary>Opens the sheet by its button and waits for the tiles.</summary>
    public async Task Open()
    {
        await Press(page.Locator("[data-rack]"));
        await Assertions.Expect(Sheet.Locator(".rack-tile").First).ToBeVisibleAsync();
    }

    public async Task Press(ILocator button)
    {
        Presses++;
        await button.ClickAsync();
    }

    /// <summary>
    /// Scans, as fast as scanners do, until the page hears it: at first its modules are still on their way.
    /// </summary>
    public async Task ScanFirst(string code) => await page.WaitForFunctionAsync("""
        code => {
          if (document.querySelector('.rack-row')) return true;
          const how = { bubbles: true, cancelable: true };
          for (const key of [...code, 'Enter'])
            document.activeElement.dispatchEvent(new KeyboardEvent('keydown', { key, ...how }));
          return false;
        }
        """, code, new() { PollingInterval = 500 });

    /// <summary>
    /// What a scanner does that is set up as a keyboard, wherever the focus is, with no time between the keys however
    /// busy the machine is.
    /// </summary>
    public async Task Scan(string code, string end = "Enter")
    {
        Scans++;
        await page.EvaluateAsync("""
            ([code, end]) => {
              const how = { bubbles: true, cancelable: true };
              for (const key of [...code, end])
                document.activeElement.dispatchEvent(new KeyboardEvent('keydown', { key, ...how }));
            }
            """, new[] { code, end });
        await Assertions.Expect(Said).ToContainTextAsync(code);
    }
}
