using Microsoft.Playwright;

namespace Incubation.Browser.Tests;

/// <summary>
/// Pictures for whoever wants to look at what a test saw: kept in the folder that INCUBATION_PICTURES names, or not at
/// all.
/// </summary>
internal static class Pictures
{
    public static async Task Keep(IPage page, string name, bool whole = false)
    {
        if (Environment.GetEnvironmentVariable("INCUBATION_PICTURES") is { Length: > 0 } folder)
            await page.ScreenshotAsync(new() { Path = Path.Combine(folder, name + ".png"), FullPage = whole });
    }

    /// <summary>A page from its top to its end, at a desk and on a phone.</summary>
    public static async Task KeepWhole(IPage page, string name)
    {
        if (Environment.GetEnvironmentVariable("INCUBATION_PICTURES") is not { Length: > 0 } folder)
            return;
        foreach (var width in new[] { 360, 1280 })
        {
            await page.SetViewportSizeAsync(width, 800);
            await page.ScreenshotAsync(new()
            {
                Path = Path.Combine(folder, $"{name}-{width}.png"),
                FullPage = true,
            });
        }
    }
}
