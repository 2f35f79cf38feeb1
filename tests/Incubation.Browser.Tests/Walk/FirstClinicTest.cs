using System.Globalization;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests.Walk;

/// <summary>
/// A clinic from an empty folder to its first printed batch record, by nothing but what the screens say: two
/// supervisors and an aide, an assay written by one and approved by another, lots by scan, controls that patients wait
/// for; then six cartridges, with an expired kit, a wrong lot and a failed control among them.
/// </summary>
public sealed class FirstClinicTest(Browser browser)
{
    /// <summary>
    /// Invented, not for patients. Steps are short and windows wide: a slow machine must not lose a cartridge. It names
    /// no incubator temperature, since an incubator warms up for ten minutes of real time; it has the kit taken out.
    /// </summary>
    private static readonly Dictionary<string, string> Sheet = new()
    {
        ["Code"] = "INV",
        ["Name"] = "Invented",
        ["Analyte"] = "Invented analyte",
        ["Instructions"] = "Revision 1",
        ["Mix"] = "0:01",
        ["MixToLoad"] = "30:00",
        ["Load"] = "0:01",
        ["Incubation"] = "0:05",
        ["ReadWindow"] = "30:00",
        ["Move"] = "0:01",
        ["Read"] = "0:01",
        ["Clear"] = "0:01",
        ["Unit"] = "mg/L",
        ["Decimals"] = "2",
        ["MeasuringFrom"] = "0.1",
        ["MeasuringTo"] = "10",
        ["ReferenceTo"] = "0.5",
        ["CriticalTo"] = "5",
        ["SpecimenTypes"] = "plasma, serum",
        ["SpecimenAge"] = "240:00:00",
        ["MaterialStand"] = "0:01",
        ["LoadText"] = "73 µL; do not overfill the well, no bubbles",
    };

    private const string KitBox = "(01)09521234543213(17)751231(10)KA-2601";
    private const string OtherBox = "(01)09521234543213(17)751130(10)KB-2602";
    private const string OldBox = "(01)09521234543213(17)200131(10)KX-2001";
    private const string ControlBox = "(01)09521234543220(17)751031(10)QC-77";

    [Fact]
    public async Task EmptyFolder_ByWhatTheScreensSay_EndsInAPrintedRecord()
    {
        var cancel = TestContext.Current.CancellationToken;
        await using var clinic = new NewClinic();
        await clinic.StartOnThisMachineAsync(cancel);
        List<string> complaints = [];
        var (ada, ben, cleo) = (await browser.Open(1280, 900, complaints), await browser.Open(1280, 900, complaints),
            await browser.Open(1280, 800, complaints));
        var effort = new Effort();
        foreach (var page in new[] { ada, ben, cleo })
            await effort.CountAsync(page);
        var office = await SetUpAsync(clinic, ada, ben, cleo);

        var batch = new BatchScreen(cleo, clinic);
        await RequestAsync(batch, cleo);
        await OpenBenchAsync(clinic, cleo);
        await new BenchScreen(cleo).Start();
        // What a new clinic costs until its first batch has begun.
        TestContext.Current.TestOutputHelper?.WriteLine("To the first batch: " + effort);
        Assert.True(effort.Presses <= 120, effort.ToString());
        Assert.True(effort.Typed <= 60, effort.ToString());
        Assert.True(effort.MetTwice.Count == 0, effort.ToString());
        await StopWrongBoxesAsync(cleo);
        var bench = new BenchScreen(cleo);
        await RunAsync(bench);

        await batch.OpenAsync();
        await batch.EnterAsync("QC-77 L1", "0.41");
        await batch.EnterAsync("QC-77 L2", "5.9");
        await Assertions.Expect(cleo.Locator("main")).ToContainTextAsync("rejected · 1-2s; 1-3s");
        await Pictures.Keep(cleo, "walk-control-failed");
        await office.TakeActionAsync();
        await batch.OpenAsync();
        await batch.AddControlsAsync("KA-2601");
        await OpenBenchAsync(clinic, cleo);
        await RunAsync(bench);
        await batch.OpenAsync();
        await batch.EnterAsync("QC-77 L1", "0.40");
        await batch.EnterAsync("QC-77 L2", "4.05");
        await OpenBenchAsync(clinic, cleo);
        await RunAsync(bench);

        await batch.OpenAsync();
        await batch.EnterAsync("S-101", "0.32");
        await batch.EnterAsync("S-102", ">10");
        await batch.EnterAsync("S-104", "1.2");
        await batch.TellAsync("S-102");
        await Assertions.Expect(cleo.Locator(".batch-actions")).ToContainTextAsync("1 request without a value");
        await batch.WithdrawAsync("S-103");
        await Pictures.Keep(cleo, "walk-results");
        await batch.CloseAsync();
        await PrintAsync(cleo);
        await AmendAsync(clinic, ben);
        TestContext.Current.TestOutputHelper?.WriteLine("To the record: " + effort);
        Assert.Empty(complaints);
    }

    private static async Task<Office> SetUpAsync(NewClinic clinic, IPage ada, IPage ben, IPage cleo)
    {
        var first = new Office(ada, clinic);
        await first.SetUpAsync("Ada Quill", "ada");
        await Assertions.Expect(ada.Locator(".first-steps [data-done=no]")).ToHaveCountAsync(5);
        await Pictures.Keep(ada, "walk-first-steps");
        var second = await first.AddPersonAsync(ben, "Ben Harrow", "ben", "Supervisor");
        await first.AddPersonAsync(cleo, "Cleo Marsh", "cleo", "Aide");
        await second.SetUpBenchAsync();
        await second.DraftAssayAsync(Sheet);
        await first.ApproveAssayAsync("INV");
        await Pictures.Keep(ada, "walk-approved");

        var aide = new Office(cleo, clinic);
        await aide.GoAsync("lots");
        await cleo.Locator("#lot-scan").FillAsync("hello");
        await cleo.Keyboard.PressAsync("Enter");
        await Assertions.Expect(cleo.Locator("#lot-scan-fault")).ToContainTextAsync("is not a GS1 code");
        // The next scan takes the place of one that was not understood.
        await Assertions.Expect(cleo.Locator("#lot-scan")).ToBeFocusedAsync();
        await aide.ReceiveAsync(KitBox, "Kit", "20");
        await aide.ReceiveAsync(OtherBox, "Kit", "10");
        await aide.ReceiveAsync(OldBox, "Kit", "10");
        await aide.ReceiveAsync(ControlBox, "Control", "5");
        await Pictures.Keep(cleo, "walk-lots");
        await second.GoAsync("controls");
        await second.SetTargetAsync("QC-77", "1", "0.40", "0.03");
        await second.SetTargetAsync("QC-77", "2", "4.0", "0.2");
        await Pictures.Keep(ben, "walk-targets");
        await second.GoAsync("");
        await Assertions.Expect(ben.Locator(".first-steps")).ToHaveCountAsync(0);
        return second;
    }

    /// <summary>
    /// Two controls and four patients: one of a lot whose controls are not in, and one of an expired kit, which is not
    /// offered.
    /// </summary>
    private static async Task RequestAsync(BatchScreen batch, IPage page)
    {
        await batch.OpenAsync();
        await Assertions.Expect(page.Locator("#add-lot-help")).ToContainTextAsync("KX-2001 expired on 2020-01-31");
        Assert.Equal(0, await page.Locator("#add-lot option[value='KX-2001']").CountAsync());
        await batch.AddControlsAsync("KA-2601");
        await batch.AskAsync("S-101", "KA-2601", "1961-04-02");
        await batch.IsAddedAsync("S-101");
        await batch.TakeOutAsync("KA-2601");
        await batch.CheckReaderAsync();
        var today = DateTime.UtcNow.AddDays(-1).ToString("yyyy-MM-dd'T'HH:mm", CultureInfo.InvariantCulture);
        await batch.AskAsync("S-102", "KA-2601", "1975-11-30", today);
        await batch.IsAddedAsync("S-102");
        await batch.AskAsync("S-103", "KB-2602", "1988-01-15");
        await batch.IsAddedAsync("S-103");
        await batch.TakeOutAsync("KB-2602");
        await batch.AskAsync("S-102", "KA-2601", "1990-06-07");
        await Assertions.Expect(page.Locator("#add-identifier-fault")).ToContainTextAsync("One of them is wrong");
        await batch.AskAsync("S-104", "KA-2601", "1990-06-07");
        await batch.IsAddedAsync("S-104");
        await Pictures.Keep(page, "walk-batch");
    }

    private static async Task OpenBenchAsync(NewClinic clinic, IPage page)
    {
        await page.GotoAsync(new Uri(clinic.Address, "bench/bench-1").ToString());
        await page.WaitForSelectorAsync(".bench-line[data-line='connected']");
        await page.WaitForSelectorAsync(".lanes-frame svg");
    }

    /// <summary>
    /// In the batch that has begun, boxes of an expired and of another lot are stopped before anything is mixed.
    /// </summary>
    private static async Task StopWrongBoxesAsync(IPage page)
    {
        var bench = new BenchScreen(page);
        await bench.TypeTemperature("25.2");
        // The plan may have the card changed first.
        while (!(await bench.Title.InnerTextAsync()).StartsWith("Mix QC-77", StringComparison.Ordinal))
            Assert.True(await bench.DoNext(), "No control is to be mixed.");
        await ScanAsync(page, OldBox);
        await Assertions.Expect(page.Locator(".notice-text")).ToContainTextAsync("expired on 2020-01-31");
        await Assertions.Expect(page.Locator("button.big:not(.dialog-main)"))
            .ToHaveAttributeAsync("aria-disabled", "true");
        await Pictures.Keep(page, "walk-expired-box");
        await page.GetByRole(AriaRole.Button, new() { Name = "Seen", Exact = true }).ClickAsync();
        await ScanAsync(page, OtherBox);
        await Assertions.Expect(page.Locator(".notice-text"))
            .ToContainTextAsync("Wrong lot: this is kit KB-2602");
        await Pictures.Keep(page, "walk-wrong-box");
        await page.GetByRole(AriaRole.Button, new() { Name = "Seen", Exact = true }).ClickAsync();
        await ScanAsync(page, KitBox);
        await Assertions.Expect(page.Locator(".notice-text")).ToContainTextAsync("Right: kit KA-2601");
    }

    /// <summary>A scanner that works as a keyboard: faster than any hand, and Enter.</summary>
    private static async Task ScanAsync(IPage page, string code)
    {
        await page.Locator("h1, .bench-name").First.ClickAsync();
        await page.EvaluateAsync(
            "code => { for (const key of [...code, 'Enter']) document.body.dispatchEvent(new KeyboardEvent('keydown', "
            + "{ key, bubbles: true, cancelable: true })); }", code);
    }

    private static async Task RunAsync(BenchScreen bench)
    {
        var steps = 0;
        while (await bench.DoNext())
            Assert.True(++steps < 40, "The batch does not come to an end.");
        Assert.True(steps > 0, "Nothing was to be done.");
    }

    private static async Task PrintAsync(IPage page)
    {
        var record = page.Locator(".batch-record");
        foreach (var said in new[]
        {
            "Harbour Clinic", "control rejected · 1-2s; 1-3s", "The vial had stood open.", "> 10.00 mg/L", "25.2 °C",
                "KA-2601 (until 2075-12-31)",
            "Dr. Vale was told of the result of S-102 and read it back", "S-103 was withdrawn", "Closed",
        })
            await Assertions.Expect(record).ToContainTextAsync(said);
        await Pictures.Keep(page, "walk-record");
        var sheet = await page.PdfAsync(new() { PreferCSSPageSize = true });
        Assert.InRange(sheet.Length, 10_000, 2_000_000);
        if (Environment.GetEnvironmentVariable("INCUBATION_PICTURES") is { Length: > 0 } folder)
            await File.WriteAllBytesAsync(Path.Combine(folder, "walk-record.pdf"), sheet);
    }

    /// <summary>A result of the closed batch is amended by a supervisor; the first one stays on the record.</summary>
    private static async Task AmendAsync(NewClinic clinic, IPage page)
    {
        await page.GotoAsync(new Uri(clinic.Address, "record/bench-1/1").ToString());
        await page.GetByRole(AriaRole.Link, new() { Name = "Amend the result of S-101" }).ClickAsync();
        await page.WaitForSelectorAsync("[data-interactive=true]");
        await page.Locator("#amend-value").FillAsync("0.23");
        await page.Locator("#amend-reason").SelectOptionAsync("typed");
        await page.Locator("#amend-why").FillAsync("Two digits were exchanged.");
        await page.Locator("#amend-next").ClickAsync();
        await Assertions.Expect(page.Locator(".read-back"))
            .ToContainTextAsync("S-101: 0.32 mg/L becomes 0.23 mg/L.");
        await page.Locator("#amend-save").ClickAsync();
        var record = page.Locator(".batch-record");
        await Assertions.Expect(record).ToContainTextAsync("amended, originally 0.32 mg/L");
        await Assertions.Expect(record)
            .ToContainTextAsync("was amended from 0.32 mg/L to 0.23 mg/L: typed wrongly. Two digits were exchanged.");
        await Pictures.Keep(page, "walk-amended");
    }
}
