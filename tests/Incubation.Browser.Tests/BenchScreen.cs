using Microsoft.Playwright;

namespace Incubation.Browser.Tests;

/// <summary>The bench page as an aide uses it.</summary>
internal sealed class BenchScreen(IPage page)
{
    private const string Tappable = """
        () => {
          if (document.querySelector('dialog[open]')) return true;
          const big = document.querySelector('button.big:not(.dialog-main)');
          const link = document.querySelector('a.card-link');
          return (big && !big.hidden && big.getAttribute('aria-disabled') !== 'true') || (link && !link.hidden);
        }
        """;

    public ILocator Big => page.Locator("button.big:not(.dialog-main)");

    public ILocator Title => page.Locator(".card-title");

    public ILocator Line => page.Locator(".bench-line");

    public async Task Open(ServerProcess server)
    {
        await server.SignIn(page, "lena", CancellationToken.None);
        await page.GotoAsync(new Uri(server.Address, "bench/bench-1").ToString());
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        await page.WaitForSelectorAsync(".lanes-frame svg");
    }

    /// <summary>Starts the batch from the card and waits for the first step.</summary>
    /// <param name="asked">What is done before the answer, whether alarms are heard, is given.</param>
    public async Task Start(Func<ILocator, Task>? asked = null)
    {
        await Big.ClickAsync();
        var heard = page.Locator(".hear-yes");
        await (asked?.Invoke(heard) ?? Task.CompletedTask);
        await heard.ClickAsync();
        await Assertions.Expect(Title).Not.ToContainTextAsync("start", new() { IgnoreCase = true });
    }

    /// <summary>Types in what the incubator shows.</summary>
    public async Task TypeTemperature(string celsius)
    {
        await page.Locator(".problem").ClickAsync();
        await page.Locator("dialog[open]").GetByText("Temperature, hands, intake…").ClickAsync();
        await page.Locator("dialog[open]").GetByText("The incubator shows…").ClickAsync();
        await page.Locator("dialog[open] input").FillAsync(celsius);
        await page.Locator("dialog[open] .dialog-main").ClickAsync();
        await Assertions.Expect(page.Locator("dialog[open]")).ToHaveCountAsync(0);
    }

    /// <summary>
    /// Does the one next thing as soon as it can be reported. False when nothing is left to do at the bench.
    /// </summary>
    public async Task<bool> DoNext()
    {
        await page.WaitForFunctionAsync(Tappable);
        if (await page.Locator("a.card-link").IsVisibleAsync())
            return false;
        var title = await Title.InnerTextAsync();
        await Big.ClickAsync();
        await AnswerIfAsked(title);
        await page.WaitForFunctionAsync(
            "title => !document.querySelector('dialog[open]') && document.querySelector('.card-title').innerText !== "
            + "title", title);
        return true;
    }

    /// <summary>A card change asks for the lot's last characters; a load that took long, for its time.</summary>
    private async Task AnswerIfAsked(string title)
    {
        var dialog = page.Locator("dialog[open]");
        if (title.Contains("card", StringComparison.OrdinalIgnoreCase))
        {
            var lot = title.Split(' ').Last(word => word.Contains('-', StringComparison.Ordinal));
            await dialog.Locator("input").FillAsync(lot[^4..]);
            await dialog.Locator(".dialog-main").ClickAsync();
        }
        else if (await dialog.IsVisibleAsync())
        {
            await dialog.Locator(".dialog-choices button").First.ClickAsync();
        }
    }
}
