using System.Collections.Concurrent;
using System.Reflection;
using Incubation.TestKit;
using Microsoft.Playwright;
using Xunit;
using Xunit.v3;

[assembly: AssemblyFixture(typeof(Incubation.Browser.Tests.Browser))]
[assembly: Incubation.Browser.Tests.ClosePages]
// A page waits for its server, and the server for its page: one more than there are processors keeps them busy.
[assembly: Parallelization(MaxThreads = 3)]

namespace Incubation.Browser.Tests;

/// <summary>One real Chromium for all tests; each test opens pages of its own.</summary>
public sealed class Browser : IAsyncLifetime
{
    private static readonly string[] Places = ["/usr/bin/chromium", "/usr/bin/chromium-browser",
        "/usr/bin/google-chrome"];
    private static readonly ConcurrentDictionary<string, ConcurrentBag<IBrowserContext>> Opened = new();
    private IPlaywright? playwright;
    private IBrowser? chromium;

    private static float Milliseconds => (float)Patience.Usual.TotalMilliseconds;

    public async ValueTask InitializeAsync()
    {
        try
        {
            await LaunchAsync();
        }
        catch
        {
            // Playwright's own process is not left behind by a browser that does not start.
            await DisposeAsync();
            throw;
        }
    }

    private async Task LaunchAsync()
    {
        playwright = await Playwright.CreateAsync();
        // What is expected comes at last on a busy machine too: as patient as the pages themselves.
        Assertions.SetDefaultExpectTimeout(Milliseconds);
        chromium = await LaunchAsync([]);
    }

    /// <summary>Another browser, for a test that needs one of its own; to be disposed of by it.</summary>
    /// <param name="more">What its command line has besides.</param>
    internal Task<IBrowser> LaunchAsync(string[] more) =>
        playwright!.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = Environment.GetEnvironmentVariable("CHROMIUM") ?? Places.FirstOrDefault(File.Exists)
                ?? throw new InvalidOperationException("The browser tests need chromium: tests/run.sh installs it."),
            Args = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                "--disable-background-networking", "--disable-component-update", "--disable-sync",
                "--autoplay-policy=no-user-gesture-required", .. more],
        });

    /// <summary>A page of the office at an address, with a supervisor signed in, once it can be used.</summary>
    internal async Task<IPage> Open(ServerProcess server, string address)
    {
        var page = await Open(1280, 800);
        await server.SignIn(page, "ines", TestContext.Current.CancellationToken);
        await page.GotoAsync(new Uri(server.Address, address).ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        return page;
    }

    /// <summary>
    /// A page of this size; a complaint that the page's console makes is kept in <paramref name="complaints"/>.
    /// </summary>
    public async Task<IPage> Open(int width, int height, ICollection<string>? complaints = null)
    {
        var context = await chromium!.NewContextAsync(new BrowserNewContextOptions
        {
            ViewportSize = new ViewportSize { Width = width, Height = height },
            ReducedMotion = ReducedMotion.NoPreference,
            // The certificates of tests vouch for themselves.
            IgnoreHTTPSErrors = true,
        });
        Opened.GetOrAdd(TestContext.Current.Test?.UniqueID ?? "", _ => []).Add(context);
        var page = await context.NewPageAsync();
        PageStory.Follow(page);
        page.SetDefaultTimeout(Milliseconds);
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

    /// <summary>Closes what a test has opened: pages that count and sound on would slow the next tests down.</summary>
    public static async Task CloseAsync(string test)
    {
        if (Opened.TryRemove(test, out var contexts))
            foreach (var context in contexts)
            {
                foreach (var page in context.Pages)
                    PageStory.Tell(page);
                await context.CloseAsync();
            }
    }

    public async ValueTask DisposeAsync()
    {
        if (chromium is not null)
            await chromium.DisposeAsync();
        playwright?.Dispose();
        BegunDemo.DeleteAll();
    }
}

/// <summary>Closes the pages of each test after it.</summary>
[AttributeUsage(AttributeTargets.Assembly)]
public sealed class ClosePagesAttribute : BeforeAfterTestAttribute
{
    /// <inheritdoc/>
    public override void After(MethodInfo methodUnderTest, IXunitTest test) =>
        Task.Run(() => Browser.CloseAsync(test.UniqueID)).GetAwaiter().GetResult();
}
