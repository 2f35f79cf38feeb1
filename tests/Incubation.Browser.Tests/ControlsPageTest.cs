using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records;
using Incubation.Records.Clinic;
using Microsoft.Playwright;
using NodaTime;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// Two weeks of controls, the last of them rejected: seen, blocked, put right, summed up for the month.
/// </summary>
public sealed class ControlsPageTest(Browser browser)
{
    private static readonly AssayCode Assay = new("DA");
    private static readonly LotCode Kit = new("DA-L1");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task ARejectedControl_IsSeenAndPutRight()
    {
        await using var server = await ServerProcess.StartDemo(Cancel);
        await server.Kill(Cancel);
        WriteControls(server.DataFile);
        await server.Start(Cancel);

        var batch = await browser.Open(1280, 800);
        await server.SignIn(batch, "ines", Cancel);
        await batch.GotoAsync(new Uri(server.Address, "batch/bench-1").ToString());
        await Assertions.Expect(batch.Locator("main"))
            .ToContainTextAsync("Record a corrective action first", new() { IgnoreCase = true });
        await Assertions.Expect(batch.Locator("main table").First).ToContainTextAsync("Lot DA-L1 is blocked");
        await Pictures.Keep(batch, "controls-batch");

        var page = await browser.Open(1280, 1400);
        await server.SignIn(page, "ines", Cancel);
        await page.GotoAsync(new Uri(server.Address, "controls").ToString());
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await Assertions.Expect(page.Locator(".control-chart .cc-rejected")).ToHaveCountAsync(1);
        await Assertions.Expect(page.Locator(".control-chart .cc-warning")).ToHaveCountAsync(1);
        await NoViolation(page);
        await Pictures.Keep(page, "controls");

        await page.Locator("#found-DA-L1").FillAsync("The vial had stood open overnight.");
        await page.Locator("#done-DA-L1").FillAsync("A new vial was opened.");
        await page.GetByRole(AriaRole.Button, new() { Name = "Record corrective action" }).ClickAsync();
        await Assertions.Expect(page.Locator(".page-status"))
            .ToContainTextAsync("stays blocked until they are accepted");
        await page.Locator("#finding-DA-L1").FillAsync("None was released since.");
        await page.Locator("#finding-DA-L1").PressAsync("Enter");
        await Assertions.Expect(page.Locator(".must")).ToHaveCountAsync(0);
        await page.Locator("main summary").ClickAsync();
        await Assertions.Expect(page.Locator("details table")).ToContainTextAsync("1-3s");
        await NoViolation(page);

        await page.SetViewportSizeAsync(360, 740);
        Assert.True(await page.EvaluateAsync<int>("document.documentElement.scrollWidth") <= 360);
        await Pictures.Keep(page, "controls-phone");
        await page.SetViewportSizeAsync(1000, 700);
        await page.GotoAsync(new Uri(server.Address, "controls/summary").ToString());
        await Assertions.Expect(page.Locator("main table").First).ToContainTextAsync("1-3s × 1");
        await Assertions.Expect(page.Locator("main table").Last).ToContainTextAsync("A new vial was opened.");
        await page.EmulateMediaAsync(new() { Media = Media.Print });
        await Pictures.Keep(page, "controls-summary");
    }

    private static async Task NoViolation(IPage page) => Assert.Empty(await page.WcagFaults());

    /// <summary>Controls around the published base 200 ± 4 (westgard.com lesson 12), every hour up to now.</summary>
    private static void WriteControls(string path)
    {
        using var file = DataFile.Open(path);
        var clinic = ClinicLog.Open(file);
        var control = new ControlMaterial(new LotCode("CTRL-7"), 1);
        Say(clinic, new ClinicEvent.ControlTargetSet(Assay, control, new ControlTarget(200, 4), TargetSource.Sheet));
        decimal[] values = [201, 198, 203, 199.5m, 196, 204, 209, 197, 202, 200, 195, 203, 198, 213];
        foreach (var (value, at) in values.Select((value, at) => (value, at)))
        {
            var when = SystemClock.Instance.GetCurrentInstant() - Duration.FromMinutes(values.Length - at);
            var run = new ControlRun(
                new RequestId(string.Create(CultureInfo.InvariantCulture, $"K{at + 1:00}")), new BenchId("bench-1"), at
                    + 1, Assay, Kit, control, 0, when, when,
                value.ToString(CultureInfo.InvariantCulture), value, new ControlTarget(200, 4), [],
                    ControlVerdict.NotJudged);
            Say(clinic, new ClinicEvent.ControlJudged(clinic.Controls.Of(Kit).Judged(run, ControlRules.All)));
        }
    }

    private static void Say(ClinicLog clinic, ClinicEvent happened)
    {
        var now = SystemClock.Instance.GetCurrentInstant();
        Assert.IsType<ClinicOutcome.Recorded>(
            clinic.Record(happened,
                new Provenance(new ReportId(Guid.NewGuid().ToString("N")), now, now, new PersonId("server"),
                    new DeviceId("server"))));
    }
}
