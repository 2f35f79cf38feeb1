using Incubation.Browser.Tests.Figures;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>The wall screen of a clinic with more benches than one page holds.</summary>
public sealed class WallPageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Wall_SixBenches_PagesByItselfAndSharesThemOut()
    {
        using var clinic = await PreparedClinic.MakeAsync(6, Cancel);
        await using var server = await clinic.StartAsync(1, Cancel);
        var wall = await server.OpenAsync(browser, 1920, 1080, "wall", ".wall[data-line='connected']");

        await Assertions.Expect(wall.Locator(".wall-card")).ToHaveCountAsync(6);
        await Assertions.Expect(wall.Locator(".wall-card:visible")).ToHaveCountAsync(3);
        var first = await wall.Locator(".wall-card:visible h2").AllTextContentsAsync();
        await Assertions.Expect(wall.Locator(".wall-page"))
            .ToHaveTextAsync(new System.Text.RegularExpressions.Regex("^Page [12] of 2$"));
        await wall.WaitForFunctionAsync(
            "name => [...document.querySelectorAll('.wall-card h2')].every(h => h.textContent !== name || "
            + "!h.checkVisibility())", first[0]);
        Assert.Empty((await wall.Locator(".wall-card:visible h2").AllTextContentsAsync()).Intersect(first));

        await wall.Locator(".wall-share select").SelectOptionAsync("2/3");
        await Assertions.Expect(wall)
            .ToHaveURLAsync(new System.Text.RegularExpressions.Regex("/wall[?]screen=2/3$"));
        await Assertions.Expect(wall.Locator(".wall-card h2")).ToHaveTextAsync(["Bench 3", "Bench 4"]);
        await Assertions.Expect(wall.Locator(".wall-page")).ToBeHiddenAsync();
        await Assertions.Expect(wall.Locator(".wall-share select")).ToHaveValueAsync("2/3");
    }

    [Fact]
    public async Task Wall_ABatchPlayed_SaysWhatTheDayBrought()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06", "R10"], "--pace", "60", "--autopilot");
        var wall = await browser.Open(1920, 1080);
        await server.SignIn(wall, "lena", Cancel);
        await wall.GotoAsync(new Uri(server.Address, "wall").ToString());

        await Assertions.Expect(wall.Locator("[data-figure='to-result'] .figure-of")).ToContainTextAsync("90 % within");
        await Assertions.Expect(wall.Locator("[data-figure='per-hour'] .figure-of")).ToContainTextAsync("planned");
        await Assertions.Expect(wall.Locator(".wall")).Not.ToContainTextAsync("SP-");
        var shift = await wall.EvalOnSelectorAsync<string>(".wall-main", "main => getComputedStyle(main).transform");
        Assert.StartsWith("matrix", shift, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Wall_DayThatIsOlderThanItsBench_SaysTheFinishThatTheCardSays()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06", "R10"], "--pace", "1", "--autopilot");
        var wall = await browser.Open(1920, 1080);
        await server.SignIn(wall, "lena", Cancel);
        await wall.RouteAsync("**/api/v1/day", async route =>
        {
            var answer = await route.FetchAsync();
            var day = System.Text.Json.Nodes.JsonNode.Parse(await answer.TextAsync())!;
            day["finish"] = "2100-01-01T00:00:00Z";
            await route.FulfillAsync(new() { Response = answer, Body = day.ToJsonString() });
        });
        await wall.GotoAsync(new Uri(server.Address, "wall").ToString());
        var card = wall.Locator(".wall-card .wall-finish");
        await Assertions.Expect(card).ToHaveTextAsync(new System.Text.RegularExpressions.Regex("^finish .*:"));
        await wall.WaitForFunctionAsync("""
            () => document.querySelector('[data-figure="per-hour"] .figure-of').textContent !== ''
              && document.querySelector('.wall-finish').textContent
                === 'finish ' + document.querySelector('[data-figure="finish"] .figure-number').textContent
            """);
    }

    /// <summary>What comes stands in its order and counts no time down before somebody starts the batch.</summary>
    [Fact]
    public async Task Wall_BeforeTheStart_CountsNothingDown()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06"]);
        var wall = await browser.Open(1920, 1080);
        await server.SignIn(wall, "lena", Cancel);
        await wall.GotoAsync(new Uri(server.Address, "wall").ToString());
        await Assertions.Expect(wall.Locator(".wall-finish")).ToHaveTextAsync("not running");
        await Assertions.Expect(wall.Locator(".wall-coming-what").First).Not.ToBeEmptyAsync();
        await Assertions.Expect(wall.Locator(".wall-coming-in:visible")).ToHaveCountAsync(0);
        await Pictures.Keep(wall, "wall-before");
    }

    /// <summary>Pictures to be looked at, in the folder INCUBATION_PICTURES. Run by name only.</summary>
    [Theory(Explicit = true)]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(4)]
    [InlineData(7)]
    public async Task Wall_SoManyBenches_IsKept(int benches)
    {
        using var clinic = await PreparedClinic.MakeAsync(benches, Cancel);
        await using var server = await clinic.StartAsync(30, Cancel);
        var clock = await LiveFigures.ClockOfAsync(server, clinic.Key);
        using var end = CancellationTokenSource.CreateLinkedTokenSource(Cancel);
        var aides = Enumerable.Range(1, benches - (benches > 2 ? 1 : 0))
            .Select(number =>
                LiveFigures.PlayAsync(server, clinic.Key, $"bench-{number}", clock.Clock, number, [], end.Token))
                .ToList();
        var wall = await server.OpenAsync(browser, 1920, 1080, "wall", ".wall[data-line='connected']");
        await wall.WaitForSelectorAsync("[data-figure='to-result'] .figure-of:not(:empty)");
        foreach (var (width, height) in new[] { (1920, 1080), (3840, 2160), (1280, 800) })
        {
            await wall.SetViewportSizeAsync(width, height);
            await wall.WaitForTimeoutAsync(400);
            await Pictures.Keep(wall, $"wall-{benches}-{width}");
        }

        await end.CancelAsync();
        await Task.WhenAll(aides);
    }
}
