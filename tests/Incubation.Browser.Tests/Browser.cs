using Microsoft.Playwright;
using Xunit;

[assembly: AssemblyFixture(typeof(Incubation.Browser.Tests.Browser))]

namespace Incubation.Browser.Tests;

/// <summary>One real Chromium for all tests; each test opens pages of its own.</summary>
public sealed class Browser : IAsyncLifetime
{
    private static readonly string[] Places = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];
    private IPlaywright? playwright;
    private IBrowser? chromium;

    public async ValueTask InitializeAsync()
    {
        playwright = await Playwright.CreateAsync();
        chromium = await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = Environment.GetEnvironmentVariable("CHROMIUM") ?? Places.FirstOrDefault(File.Exists)
                ?? throw new InvalidOperationException("The browser tests need chromium: tests/run.sh installs it."),
            Args = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--autoplay-policy=no-user-gesture-required"],
        });
    }

    /// <summary>A page of this size; a complaint that the page's console makes is kept in <paramref name="complaints"/>.</summary>
    public async Task<IPage> Open(int width, int height, ICollection<string>? complaints = null)
    {
        var context = await chromium!.NewContextAsync(new BrowserNewContextOptions
        {
            ViewportSize = new ViewportSize { Width = width, Height = height },
            ReducedMotion = ReducedMotion.NoPreference,
            // The certificates of tests vouch for themselves.
            IgnoreHTTPSErrors = true,
        });
        var page = await context.NewPageAsync();
        page.SetDefaultTimeout(30_000);
        if (complaints is not null)
        {
            page.Console += (_, message) =>
            {
                if (message.Type == "error")
                    complaints.Add(message.Text);
            };
            page.PageError += (_, error) => complaints.Add(error);
        }
        return page;
    }

    public async ValueTask DisposeAsync()
    {
        if (chromium is not null)
            await chromium.DisposeAsync();
        playwright?.Dispose();
    }
}
