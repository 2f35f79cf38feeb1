using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>A screen that the pages are made for.</summary>
/// <param name="Width">In CSS pixels.</param>
/// <param name="Height">In CSS pixels.</param>
internal sealed record ScreenSize(int Width, int Height)
{
    public static readonly ScreenSize Desk = new(1280, 800);
    public static readonly ScreenSize Upright = new(800, 1280);
    public static readonly ScreenSize Phone = new(360, 740);

    /// <summary>The desk last: there a story goes on.</summary>
    public static readonly ScreenSize[] PhoneAndDesk = [Phone, Desk];

    /// <inheritdoc cref="PhoneAndDesk"/>
    public static readonly ScreenSize[] Every = [Upright, Phone, Desk];
}

/// <summary>
/// A story is played once, at a desk, and each of its stages is looked at on every screen. What is pressed or filled in
/// next is tried on the others too without doing it: it is in sight, enabled, and nothing lies over it.
/// </summary>
internal static class Stages
{
    private const string Drawn =
        "() => new Promise(drawn => requestAnimationFrame(() => requestAnimationFrame(drawn)))";

    /// <summary>On each of these screens, once the page has been drawn for it.</summary>
    public static async Task OnEach(this IPage page, ScreenSize[] sizes, Func<ScreenSize, Task> look)
    {
        foreach (var size in sizes)
        {
            await page.SetViewportSizeAsync(size.Width, size.Height);
            await page.EvaluateAsync(Drawn);
            await look(size);
        }
    }

    /// <summary>On a phone and at a desk: what <see cref="Check"/> looks at.</summary>
    /// <param name="page">The page.</param>
    /// <param name="name">What the stage is called, on pictures and where something is wrong.</param>
    /// <param name="next">What is pressed or filled in next.</param>
    public static Task LookAt(this IPage page, string name, params ILocator[] next) =>
        page.OnEach(ScreenSize.PhoneAndDesk, async size =>
        {
            await page.Check(size, name);
            await size.Try(next);
        });

    /// <summary>A picture, nothing that scrolls sideways, nothing that breaks WCAG 2.2.</summary>
    public static async Task Check(this IPage page, ScreenSize size, string name)
    {
        await Pictures.Keep(page, $"{name}-{size.Width}");
        await page.AssertNoScrolling(name);
        Assert.Empty((await page.WcagFaults()).Select(fault => $"{name} at {size.Width}: {fault}"));
    }

    /// <summary>What is pressed or filled in next, where nothing else is looked at.</summary>
    public static Task TryOnPhone(this IPage page, params ILocator[] next) =>
        page.OnEach(ScreenSize.PhoneAndDesk, size => size.Try(next));

    /// <summary>Nothing reaches beyond the right edge.</summary>
    public static async Task AssertNoScrolling(this IPage page, string name) => Assert.True(
        await page.EvaluateAsync<bool>(
            "() => document.documentElement.scrollWidth <= document.documentElement.clientWidth"),
        $"{name} scrolls sideways at {page.ViewportSize!.Width}");

    /// <summary>At a desk the story does it in earnest.</summary>
    public static async Task Try(this ScreenSize size, params ILocator[] next)
    {
        if (size == ScreenSize.Desk)
            return;
        foreach (var one in next)
            await one.ClickAsync(new() { Trial = true });
    }
}
