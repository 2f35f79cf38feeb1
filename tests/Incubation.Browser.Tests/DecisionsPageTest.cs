using System.Globalization;
using System.Text.RegularExpressions;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// What waits for a decision, and the pages on which it is decided, at two sizes; how much waits is right on a page
/// that stands open.
/// </summary>
public sealed class DecisionsPageTest(Browser browser)
{
    private const int Wide = 1280;
    private const int Phone = 360;

    private readonly List<string> faults = [];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task WhatWaits_IsDecided_AndCountedOnEveryOpenPage()
    {
        await using var server = await ServerProcess.StartMonth(Cancel);
        var open = await browser.Open(Wide, 900);
        await server.SignIn(open, "ines", Cancel);
        await open.GotoAsync(new Uri(server.Address, "lots").ToString());
        var count = open.Locator(".site-nav a[href='decisions']");
        await open.WaitForSelectorAsync("[data-interactive=true]");
        var waiting = int.Parse(Regex.Match(await count.InnerTextAsync(), "[0-9]+").Value,
            CultureInfo.InvariantCulture);
        Task Counts(int many) => Assertions.Expect(count).ToHaveTextAsync(
            string.Create(CultureInfo.InvariantCulture, $"Needs a decision ({many})"));

        var page = await browser.Open(Wide, 900);
        await server.SignIn(page, "ines", Cancel);
        await Look(server, page, "decisions", "decisions");
        var release = (await page.Locator("main table a[href*='/release?']").First.GetAttributeAsync("href"))!;
        await Look(server, page, release, "release");
        await page.Locator("#release-why").FillAsync("The label was read again.");
        await page.Locator("#release-save").ClickAsync();
        await page.WaitForURLAsync(new Uri(server.Address, release[..release.LastIndexOf('/')]).ToString());
        await Counts(waiting - 1);

        var address = await Critical(server);
        await Look(server, page, address + "/amend?request=" + Request, "amend");
        await page.Locator("#amend-value").FillAsync("1200");
        await page.Locator("#amend-reason").SelectOptionAsync("typed");
        await page.Locator("#amend-why").FillAsync("The point was missed.");
        await page.Locator("#amend-next").ClickAsync();
        await page.WaitForSelectorAsync("#amend-save");
        await Both(page, "amend-read-back");
        await page.Locator("#amend-save").ClickAsync();
        await page.WaitForURLAsync(new Uri(server.Address, address).ToString());
        await Counts(waiting);
        await Look(server, page, address + "/tell?request=" + Request, "tell");
        await page.Locator("#tell-whom").FillAsync("Dr. Invented");
        await page.Locator("#tell-save").ClickAsync();
        await page.WaitForURLAsync(new Uri(server.Address, address).ToString());
        await Counts(waiting - 1);

        await Look(server, page, "assays/DA/draft", "sheet");
        await Look(server, page, "what-if", "what-if");
        Assert.True(faults.Count == 0, string.Join('\n', faults));
    }

    private string Request { get; set; } = "";

    /// <summary>The batch of a patient's result whose assay knows critical values; its request is kept.</summary>
    private async Task<string> Critical(ServerProcess server)
    {
        using var client = await server.ClientAs("ines", Cancel);
        var lines = (await client.GetStringAsync(new Uri("api/v1/record/cartridges.csv", UriKind.Relative), Cancel))
            .TrimStart('\uFEFF').Split("\r\n")
            .Select(line => line.Split(',').Select(field => field.Trim('"')).ToArray()).ToList();
        string Of(string[] line, string name) => line[Array.IndexOf(lines[0], name)];
        var one = lines.Skip(1).Last(line => line.Length >= lines[0].Length && Of(line, "assay") == "DA"
            && Of(line, "kind") == "patient" && Of(line, "standing") == "done");
        Request = Of(one, "request");
        return $"record/{Of(one, "bench")}/{Of(one, "batch")}";
    }

    private async Task Look(ServerProcess server, IPage page, string path, string name)
    {
        await page.GotoAsync(new Uri(server.Address, path).ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await Both(page, name);
    }

    private async Task Both(IPage page, string name)
    {
        foreach (var width in new[] { Phone, Wide })
        {
            await page.SetViewportSizeAsync(width, 900);
            if (await page.EvaluateAsync<int>("document.documentElement.scrollWidth") > width)
                faults.Add($"{name} scrolls sideways at {width}");
            faults.AddRange((await page.WcagFaults()).Select(found => $"{name} at {width}: {found}"));
            await Pictures.Keep(page, $"{name}-{width}", whole: true);
        }
    }
}
