using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>From a specimen to the printed record of its batch, by keyboard, in a real browser.</summary>
public sealed class RecordPageTest(Browser browser, RecordPageTest.Begun begun) : IClassFixture<RecordPageTest.Begun>
{
    private readonly ServerProcess server = begun.Server;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Record_SpecimenTyped_LeadsToItsBatchRecordWhichPrints()
    {
        var complaints = new List<string>();
        var page = await browser.Open(1280, 800, complaints);
        await new BenchScreen(page).Open(server);
        Assert.True(await new BenchScreen(page).DoNext());

        await page.GotoAsync(new Uri(server.Address, "record").ToString());
        var specimen =
            await page.Locator("tbody td").First.EvaluateAsync<string>("cell => cell.firstChild.textContent");
        await page.FocusAsync("#find-specimen");
        await page.Keyboard.TypeAsync(specimen.ToLowerInvariant());
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator(".found-count")).ToHaveTextAsync("1 cartridge");
        await page.Locator("tbody a").ClickAsync();
        await Assertions.Expect(page.Locator("h1")).ToContainTextAsync("Batch record");
        await Assertions.Expect(page.Locator(".record-head")).ToContainTextAsync("bench/bench-1 ");
        await Assertions.Expect(page.Locator(".record-open")).ToContainTextAsync("not closed");
        var paper = await page.PdfAsync(new() { PreferCSSPageSize = true });
        Assert.Equal("%PDF"u8.ToArray(), paper[..4]);
        Assert.Empty(complaints);
    }

    /// <summary>A batch in which one cartridge was mixed: what else is done to it changes no test.</summary>
    public sealed class Begun() : OneServer(cancel => ServerProcess.StartDemo(cancel, ["R03", "R06"]),
        async (server, cancel) =>
        {
            var api = new BenchByApi(server);
            await api.Say("start-batch", TimeSpan.Zero, cancel);
            await api.Say("mixed", TimeSpan.Zero, cancel, "R06");
        });

    /// <summary>
    /// What matters first lies within the page, on a desk and on a phone: nothing of a cartridge is off the right edge.
    /// On paper everything stands.
    /// </summary>
    [Fact]
    public async Task Record_At1280AndAt360_ResultStatusAndByAreInSight()
    {
        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "lena", Cancel);
        foreach (var width in new[] { 1280, 360 })
        {
            await page.SetViewportSizeAsync(width, 800);
            await page.GotoAsync(new Uri(server.Address, "record/bench-1/1").ToString());
            await page.WaitForLoadStateAsync(LoadState.NetworkIdle);
            var outside = await page.EvaluateAsync<string[]>("""
                () => [...document.querySelectorAll('.record-cartridges tbody :is(th, td, dd)')]
                    .filter(cell => cell.getBoundingClientRect().right > document.documentElement.clientWidth)
                    .map(cell => cell.textContent.trim())
                """);
            Assert.Empty(outside);
        }

        var table = page.Locator(".record-cartridges");
        Assert.Equal(["Assay", "Result", "Status", "By"],
            await table.Locator("tbody").First.Locator("[data-label]").EvaluateAllAsync<string[]>(
                "cells => cells.map(cell => cell.dataset.label)"));
        await page.EmulateMediaAsync(new() { Media = Media.Print });
        await Assertions.Expect(table.Locator("dt").First).ToBeVisibleAsync();
        await Assertions.Expect(table.Locator("thead")).ToBeVisibleAsync();
    }

    /// <summary>
    /// Pictures and a printed page, late in a batch, to be looked at: in the folder INCUBATION_PICTURES. Run by name
    /// only.
    /// </summary>
    [Fact(Explicit = true)]
    public async Task Pages_LateInABatch_AreKept()
    {
        var folder = Directory.CreateDirectory(Environment.GetEnvironmentVariable("INCUBATION_PICTURES")
            ?? Path.Combine(Path.GetTempPath(), "incubation-pictures")).FullName;
        await using var whole = await ServerProcess.StartDemo(Cancel, null, "--autopilot", "--pace", "60");
        var page = await browser.Open(1280, 900);
        await new BenchScreen(page).Open(whole);
        await page.WaitForFunctionAsync(
            "() => /^(1[0-2]|[6-9]) of/.test(document.querySelector('.bench-headline').innerText)", null,
            new() { Timeout = 400_000 });
        await whole.SignIn(page, "mara", Cancel);
        foreach (var (path, name) in new[] { ("record", "record"), ("record/bench-1/1", "batch-record"),
            ("retention", "retention"), ("record?from=x", "record-fault") })
        {
            foreach (var (width, height, size) in new[] { (1280, 900, ""), (360, 740, "-phone") })
            {
                await page.SetViewportSizeAsync(width, height);
                await page.GotoAsync(new Uri(whole.Address, path).ToString());
                await page.WaitForLoadStateAsync(LoadState.NetworkIdle);
                await page.ScreenshotAsync(new()
                {
                    Path = Path.Combine(folder, name + size + ".png"),
                    FullPage = true
                });
            }
        }

        await page.SetViewportSizeAsync(1280, 900);
        await page.GotoAsync(new Uri(whole.Address, "record/bench-1/1").ToString());
        await page.PdfAsync(new() { Path = Path.Combine(folder, "batch-record.pdf"), PreferCSSPageSize = true });
    }
}
