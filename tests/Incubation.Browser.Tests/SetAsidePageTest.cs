using Incubation.Bench;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Benches;
using Microsoft.Playwright;
using NodaTime;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>A log that holds a request with which no plan can be made: what its bench page shows.</summary>
public sealed class SetAsidePageTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task BenchPage_RequestReadyOnTheLastDay_StandsOnTheListWithItsReasonAlsoAlone()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06", "R01"]);
        await server.Kill(Cancel);
        AddToTheLog(server.DataFile);
        await server.Start(Cancel);
        var page = await browser.Open(1280, 800);
        var bench = new BenchScreen(page);
        await bench.Open(server);
        await page.TryOnPhone(bench.Big);
        await bench.Start(heard => page.TryOnPhone(heard));

        var line = page.Locator(".also-list li", new() { HasText = "T-9" });
        await page.OnEach(ScreenSize.PhoneAndDesk, async size =>
        {
            await Assertions.Expect(line).ToContainTextAsync("set aside: ready on 9999-12-31");
            // It asks for nothing now: a line, and nobody has to see it.
            await Assertions.Expect(page.Locator(".alarm[data-line='true'] .alarm-title"))
                .ToHaveTextAsync("T-9 is set aside");
            await Assertions.Expect(page.Locator(".alarm [data-action='acknowledge']")).ToHaveCountAsync(0);
            await Assertions.Expect(page.Locator(".card[data-phase]")).ToBeVisibleAsync();
            await page.AssertNoScrolling("set-aside");
            await Pictures.Keep(page, $"set-aside-{size.Width}");
        });

        await server.Kill(Cancel);
        await page.WaitForSelectorAsync(".bench-line:not([data-line='connected'])");
        await page.OnEach(ScreenSize.PhoneAndDesk, async _ =>
        {
            await Assertions.Expect(line).ToBeVisibleAsync();
            await Assertions.Expect(page.Locator(".alarm-title")).ToHaveTextAsync("T-9 is set aside");
        });
    }

    /// <summary>As an earlier program may have written it: the door refuses it now.</summary>
    private static void AddToTheLog(string dataFile)
    {
        using var file = DataFile.Open(dataFile);
        var streams = new BenchStreams(file);
        var bench = new BenchId("bench-1");
        var state = streams.Load(bench).Aggregate((BenchState?)null, LiveBench.Apply)!;
        var known = state.Cartridges[0].Wanted;
        var wanted = known with
        {
            Request = known.Request with
            {
                Id = new RequestId("T9"),
                Specimen = new SpecimenId("T-9"),
                After = [],
                Ready = Instant.FromUtc(9999, 12, 31, 23, 59, 59),
            },
        };
        streams.Append(bench, state.Revision,
            [new BenchEntry(new BenchEvent.RequestsAdded([wanted]), new Provenance(new ReportId("earlier"),
                state.LastArrived, state.LastArrived, new PersonId("lena"), new DeviceId("earlier")))]);
    }
}
