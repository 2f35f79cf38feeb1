using Bunit;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Server.Doors;
using Incubation.Server.Pages.Batch;
using Incubation.Service.Alarms;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.Connections;
using Incubation.Service.Controls;
using Incubation.Service.Gates;
using Incubation.Service.Record;
using Incubation.Service.Requests;
using Incubation.Service.Screens;
using Incubation.Service.Stock;
using Incubation.Service.Tests.Support;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace Incubation.Server.Tests.Pages;

/// <summary>The batch page on a real bench, without a browser.</summary>
public sealed partial class BatchPageTest : BunitContext, IAsyncLifetime
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-batch-").FullName;
    private readonly DataFile file;
    private readonly AideInFront front = new();
    private BenchRig? rig;
    private ScreenWatch? screens;

    public BatchPageTest()
    {
        file = DataFile.Open(Path.Combine(folder, "a.db"));
        JSInterop.Mode = JSRuntimeMode.Loose;
    }

    private BenchRig Rig => rig!;

    public async ValueTask InitializeAsync()
    {
        rig = await BenchRig.OpenAsync();
        var clinic = new ClinicHost(file);
        var provenance = rig.Provenance();
        var sheet = AssaySheet.Plain(BenchRig.Assay("DA", 8), "mg/L");
        clinic.Log.Record([new ClinicEvent.ClinicOpened("Test clinic", "Europe/Berlin"),
            new ClinicEvent.AssayDrafted(sheet, 1)], rig.Provenance());
        clinic.Log.Record(new ClinicEvent.AssayApproved(sheet, 1),
            rig.Provenance() with { Person = new PersonId("second") });
        clinic.Log.Record(
            [
                new ClinicEvent.LotReceived(new LotCode("DA-L1"), new AssayCode("DA"), new LocalDate(2030, 1, 1)),
                new ClinicEvent.LotReceived(new LotCode("DA-OLD"), new AssayCode("DA"), new LocalDate(2026, 3, 1)),
                new ClinicEvent.BenchRegistered(BenchRig.Id, "Bench 1"),
            ], provenance);
        clinic.Reread();
        var clock = new BenchClock(rig.Time, 1);
        Services.AddSingleton(clinic);
        Services.AddSingleton(clock);
        Services.AddSingleton(rig.Book);
        Services.AddSingleton(new SnapshotWriter(clinic, clock, new NoHostAlarms()));
        Services.AddSingleton(file);
        Services.AddSingleton<ClosedControls>();
        Services.AddSingleton<DoubtNotices>();
        Services.AddSingleton<LotGateService>();
        Services.AddSingleton<ControlService>();
        Services.AddSingleton(new StockQueries(clinic, rig.Book, file, clock, new StockSettings(30)));
        Services.AddSingleton<Intake>();
        Services.AddSingleton<CarriedOver>();
        Services.AddSingleton(new WriteBudget(clock, WriteBudget.UsualRate));
        Services.AddSingleton(new CartridgeProjection(file, CartridgeProjection.AsToldOnBench));
        Services.AddSingleton<LateReportService>();
        Services.AddSingleton<SecondLookService>();
        Services.AddSingleton<BenchService>();
        screens = new ScreenWatch(rig.Book, clock, clinic, rig.Time);
        screens.Attend("bench-1", true, true);
        Services.AddSingleton(screens);
        Services.AddSingleton<ICurrentActor>(front);
        SetRendererInfo(new RendererInfo("Server", isInteractive: true));
    }

    protected override async ValueTask DisposeAsyncCore()
    {
        await base.DisposeAsyncCore();
        if (rig is not null)
            await rig.DisposeAsync();
        file.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public void Render_NoRequests_SaysWhatToDoAndCannotStart()
    {
        var page = Page();

        Assert.True(page.Find("#start-batch").HasAttribute("disabled"));
        Assert.Contains("Add a request first.", page.Markup, StringComparison.Ordinal);
        Assert.Contains("No requests yet.", page.Markup, StringComparison.Ordinal);
    }

    [Fact]
    public void Render_UnknownBench_LeadsToNotFound()
    {
        var navigation = Services.GetRequiredService<NavigationManager>();
        var asked = false;
        navigation.OnNotFound += (_, _) => asked = true;

        Render<BatchPage>(with => with.Add(p => p.Bench, "none"));

        Assert.True(asked);
    }

    [Fact]
    public async Task Add_GoodRequest_StandsInTableAndIsPlanned()
    {
        var page = Page();

        await page.Find("#add-specimen").ChangeAsync(new() { Value = "SP-7" });
        await page.Find("form.add-request").SubmitAsync();

        page.WaitForAssertion(() => Assert.Contains("SP-7", page.Find("table").TextContent, StringComparison.Ordinal));
        page.WaitForAssertion(() =>
            Assert.Contains("R01 is added", page.Find(".page-status").TextContent, StringComparison.Ordinal));
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll(".chart-frame svg")));
        Assert.False(page.Find("#start-batch").HasAttribute("disabled"));
    }

    [Fact]
    public async Task Render_RequestThatCannotBePlanned_SaysThatItIsSetAsideAndWhy()
    {
        var wanted = BenchRig.Request("R1");
        await Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R2"),
            wanted with { Request = wanted.Request with { Ready = Instant.FromUtc(2262, 4, 12, 0, 0) } }]));

        var page = Page();

        page.WaitForAssertion(() => Assert.Contains("set aside: ready on 2262-04-12",
            page.Find("table").TextContent, StringComparison.Ordinal));
        Assert.NotEmpty(page.FindAll(".chart-frame svg"));
    }

    [Fact]
    public async Task Add_NoSpecimen_FaultBesideItsField()
    {
        var page = Page();

        await page.Find("form.add-request").SubmitAsync();

        page.WaitForAssertion(() =>
            Assert.Equal("Type the specimen number from its label.", page.Find("#add-specimen-fault").TextContent));
        Assert.Empty(Rig.State.Cartridges);
    }

    [Fact]
    public void Add_Lots_OnlyThoseInDate()
    {
        var lots = Page().FindAll("#add-lot option").Select(option => option.GetAttribute("value"));

        Assert.Equal(["DA-L1"], lots);
    }

    [Fact]
    public async Task Start_Clicked_BatchRuns()
    {
        await Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1")]));
        await Rig.UntilPlanned(PlanCause.RequestsChanged);
        var page = Page();

        await page.Find("#start-batch").ClickAsync(new());

        page.WaitForAssertion(() => Assert.Equal("running", page.Find(".batch-page").GetAttribute("data-phase")));
        // What waits can be carried over or given up; closed it is only then.
        await page.Find("#close-batch").ClickAsync(new());
        Assert.True(page.Find("#confirm-close .button-primary").HasAttribute("disabled"));
    }

    [Fact]
    public async Task Start_OneCannotBePlaced_AskedFirst()
    {
        var impossible = BenchRig.Request("R2");
        await Rig.Must(
            new BenchCommand.AddRequests(
                [BenchRig.Request("R1"),
                    impossible with { Request = impossible.Request with { LoadBy = BenchRig.Start } }]));
        await Rig.Until(view => view.State.Adopted?.Plan.Unplaced.Count == 1);
        var page = Page();

        await page.Find("#start-batch").ClickAsync(new());

        Assert.Equal("Start without 1 request?", page.Find("#confirm-start h2").TextContent);
        Assert.StartsWith("SP-R2 (R2): ", page.Find("#confirm-start li").TextContent.Trim(), StringComparison.Ordinal);
        Assert.Contains("until you change or withdraw it", page.Find("#confirm-start").TextContent,
            StringComparison.Ordinal);
        Assert.Equal(BatchPhase.Preparing, Rig.State.Phase);
    }

    [Fact]
    public async Task Start_NoScreenOfTheBenchCanBeHeard_AskedFirst()
    {
        await Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1")]));
        await Rig.UntilPlanned(PlanCause.RequestsChanged);
        var page = Page();
        Rig.Advance(Duration.FromSeconds(11));

        await page.Find("#start-batch").ClickAsync(new());

        Assert.Equal("Start without sound?", page.Find("#confirm-start h2").TextContent);
        Assert.Empty(page.FindAll("#confirm-start ul"));
        Assert.Contains("No screen of this bench", page.Find("#confirm-start").TextContent, StringComparison.Ordinal);
        Assert.Equal(BatchPhase.Preparing, Rig.State.Phase);

        await page.Find("#confirm-start button.button-primary").ClickAsync(new());
        page.WaitForAssertion(() => Assert.Equal(BatchPhase.Running, Rig.State.Phase));
    }

    [Fact]
    public async Task Withdraw_Confirmed_RequestIsWithdrawn()
    {
        await Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1"), BenchRig.Request("R2")]));
        var page = Page();
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll("button[aria-label='Withdraw R2']")));

        await page.Find("button[aria-label='Withdraw R2']").ClickAsync(new());
        await page.Find("#confirm-withdraw button.button-primary").ClickAsync(new());

        page.WaitForAssertion(() =>
            Assert.IsType<CartridgeStage.Withdrawn>(Rig.State.Find(new RequestId("R2"))!.Stage));
    }

    [Fact]
    public void AddUrgent_FromTheBench_FormBeginsWithIt()
    {
        Services.GetRequiredService<NavigationManager>().NavigateTo("batch/bench-1?priority=urgent&specimen=SP-77");
        var page = Page();
        Assert.Equal("urgent", page.Find("#add-priority").GetAttribute("value"));
        Assert.Equal("SP-77", page.Find("#add-specimen").GetAttribute("value"));
    }

    [Fact]
    public async Task MakeUrgent_Pressed_RequestIsUrgentAndAgainRoutine()
    {
        await Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1"), BenchRig.Request("R2")]));
        var page = Page();
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll("button[aria-label='Make urgent: R2']")));

        await page.Find("button[aria-label='Make urgent: R2']").ClickAsync(new());
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll("button[aria-label='Make routine: R2']")));
        Assert.Equal(Priority.Urgent, Rig.State.Find(new RequestId("R2"))!.Wanted.Request.Priority);

        await page.Find("button[aria-label='Make routine: R2']").ClickAsync(new());
        page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll("button[aria-label='Make urgent: R2']")));
        Assert.Equal(Priority.Routine, Rig.State.Find(new RequestId("R2"))!.Wanted.Request.Priority);
    }

    [Fact]
    public async Task Result_EnteredAndReadBack_SavedAsShown()
    {
        await Cleared();
        var page = Page();

        await page.Find("button[aria-label='Enter the result of SP-R1']").ClickAsync(new());
        Assert.Contains("SP-R1", page.Find(".specimen-large").TextContent, StringComparison.Ordinal);
        await page.Find("#result-value").ChangeAsync(new() { Value = "0.50" });
        await page.Find("#result-dialog form").SubmitAsync();
        Assert.Contains("SP-R1: 0.50 mg/L", page.Find(".read-back").TextContent, StringComparison.Ordinal);
        Assert.Null(Rig.State.Find(new RequestId("R1"))!.Result);
        await page.Find("#result-save").ClickAsync(new());

        page.WaitForAssertion(() =>
            Assert.Equal(new ReadResult.Measured("0.50", "mg/L"), Rig.State.Find(new RequestId("R1"))!.Result));
    }

    [Theory]
    [InlineData("", "Enter what the reader shows.")]
    [InlineData("1,234.5", "“1,234.5” can be read in two ways")]
    [InlineData("1 234", "“1 234” can be read in two ways")]
    [InlineData("١٢", "Use the digits 0 to 9")]
    [InlineData("high", "Type a number")]
    public async Task Result_NoNumber_FaultBesideItsField(string text, string fault)
    {
        await Cleared();
        var page = Page();
        await page.Find("button[aria-label='Enter the result of SP-R1']").ClickAsync(new());

        await page.Find("#result-value").ChangeAsync(new() { Value = text });
        await page.Find("#result-dialog form").SubmitAsync();

        Assert.StartsWith(fault, page.Find("#result-value-fault").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Repeat_OfDiscarded_OfferedOnceAndOrdered()
    {
        await Rig.Begin(BenchRig.Request("R1"));
        await Rig.Must(new BenchCommand.Mixed(new RequestId("R1")));
        await Rig.Must(new BenchCommand.Discarded(new RequestId("R1"), DiscardReason.Dropped, null));
        await Rig.Until(view => view.State.Find(new RequestId("R1"))!.IsOver);
        var page = Page();
        Assert.Contains("discarded: dropped", page.Markup, StringComparison.Ordinal);

        await page.Find("button[aria-label='Order a repeat of R1']").ClickAsync(new());

        page.WaitForAssertion(() => Assert.NotNull(Rig.State.Find(new RequestId("R1-2"))));
        page.WaitForAssertion(() => Assert.Empty(page.FindAll("button[aria-label='Order a repeat of R1']")));
    }

    [Fact]
    public async Task Repeat_ItsLotIsInQuarantineSince_IsNotOrderedAndSaysWhatToDo()
    {
        await Rig.Begin(BenchRig.Request("R1"));
        await Rig.Must(new BenchCommand.Mixed(new RequestId("R1")));
        await Rig.Must(new BenchCommand.Discarded(new RequestId("R1"), DiscardReason.Dropped, null));
        await Rig.Until(view => view.State.Find(new RequestId("R1"))!.IsOver);
        Services.GetRequiredService<ClinicHost>().Log.Record(
            new ClinicEvent.StockQuarantined(StockKind.Kit, new LotCode("DA-L1"), "wet"), Rig.Provenance());
        var page = Page();

        await page.Find("button[aria-label='Order a repeat of R1']").ClickAsync(new());

        page.WaitForAssertion(() => Assert.Contains("The repeat is not ordered: The kit DA-L1 is in quarantine: wet.",
            page.Find(".page-alert").TextContent, StringComparison.Ordinal));
        Assert.Null(Rig.State.Find(new RequestId("R1-2")));
    }

    [Fact]
    public async Task Send_LogFails_PageSaysSo()
    {
        await Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1")]));
        await Rig.UntilPlanned(PlanCause.RequestsChanged);
        var page = Page();
        Rig.Log.Next = FakeBenchLog.Write.Fails;

        await page.Find("#start-batch").ClickAsync(new());

        page.WaitForAssertion(() =>
            Assert.Contains("data file", page.Find(".page-alert").TextContent, StringComparison.Ordinal));
        Assert.Equal("preparing", page.Find(".batch-page").GetAttribute("data-phase"));
    }

    [Fact]
    public async Task Readiness_DoneItemByItem_BatchMayStart()
    {
        await Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1") with { Facts = Facts() }]));
        await Rig.UntilPlanned(PlanCause.RequestsChanged);
        var page = Page();
        Assert.Equal(3, page.FindAll("#readiness li[data-ready=no]").Count);

        await page.Find("#start-batch").ClickAsync(new());
        page.WaitForAssertion(() =>
            Assert.Contains("readiness list", page.Find(".page-alert").TextContent, StringComparison.Ordinal));
        await page.Find("#ready-celsius").ChangeAsync(new() { Value = "25,1 or so" });
        await page.Find("#readiness form").SubmitAsync();
        Assert.Contains("25.1", page.Find("#ready-celsius-fault").TextContent, StringComparison.Ordinal);
        await page.Find("#ready-celsius").ChangeAsync(new() { Value = "25,1" });
        await page.Find("#readiness form").SubmitAsync();
        page.WaitForAssertion(() => Assert.Equal(2, page.FindAll("#readiness li[data-ready=no]").Count));
        await page.InvokeAsync(() => page.Find("button[aria-label='Lot DA-L1: out of storage now']").ClickAsync(new()));
        page.WaitForAssertion(() => Assert.Single(page.FindAll("#readiness li[data-ready=no]")));
        await page.InvokeAsync(() => page.Find("button[aria-label='Reader 1: self-check passed']").ClickAsync(new()));

        page.WaitForAssertion(() => Assert.Empty(page.FindAll("#readiness li[data-ready=no]")));
        Assert.Single(page.FindAll("#readiness li[data-ready=yes]"));
        await page.Find("#start-batch").ClickAsync(new());
        page.WaitForAssertion(() => Assert.Equal("running", page.Find(".batch-page").GetAttribute("data-phase")));
    }

    [Fact]
    public async Task Specimen_Rejected_StaysInSightWithItsReason()
    {
        var page = Page();
        await page.Find("#reject-specimen").ClickAsync(new());
        Assert.NotEmpty(page.Find("#add-specimen-fault").TextContent);
        await page.Find("#add-specimen").ChangeAsync(new() { Value = "SP-9" });
        await page.Find("#reject-specimen").ClickAsync(new());
        await page.Find("#reject-dialog form").SubmitAsync();
        Assert.Contains("Give a reason", page.Find("#reject-why-fault").TextContent, StringComparison.Ordinal);
        await page.Find("#reject-why").ChangeAsync(new() { Value = "clotted" });
        await page.Find("#reject-dialog form").SubmitAsync();

        page.WaitForAssertion(() =>
            Assert.Contains("SP-9 for DA: clotted", page.Find("#rejected").TextContent, StringComparison.Ordinal));
        Assert.Empty(Rig.State.Cartridges);
    }

    [Fact]
    public async Task Result_OfAnotherSpecimen_SaidAndHeld()
    {
        await Cleared();
        var page = Page();
        await page.Find("button[aria-label='Enter the result of SP-R1']").ClickAsync(new());
        await page.Find("#result-shown").ChangeAsync(new() { Value = "SP-R2" });
        await page.Find("#result-value").ChangeAsync(new() { Value = "0.50" });
        await page.Find("#result-dialog form").SubmitAsync();
        Assert.Contains("another specimen", page.Find("#result-dialog").TextContent, StringComparison.Ordinal);
        await page.Find("#result-save").ClickAsync(new());

        page.WaitForAssertion(() => Assert.True(Rig.State.Find(new RequestId("R1"))!.IsHeld));
        page.WaitForAssertion(() =>
            Assert.Contains("the reader showed another specimen id", page.Markup, StringComparison.Ordinal));
        // An aide does not release what is held.
        Assert.Empty(page.FindAll("button[aria-label='Release the result of SP-R1']"));
    }

    private static RunFacts Facts() => new(
        ResultRule.AsDisplayed, StepTexts.None, new WarmthRule(new Celsius(25), new Celsius(1), null),
            ControlGate.None, null, null,
        new MaterialRule(Duration.FromMinutes(30), null));

    private IRenderedComponent<BatchPage> Page() =>
        Render<BatchPage>(with => with.Add(p => p.Bench, BenchRig.Id.Value));

    private Task Cleared() => Cleared(BenchRig.Request("R1"));

    private async Task Cleared(params BenchRequest[] requests)
    {
        await Rig.Begin(requests);
        await Followed();
    }

    /// <summary>What is offered is done, one after the other, to its end.</summary>
    private async Task Followed(Func<Offer, bool>? so = null)
    {
        while (Rig.Runner.Present.View.Offers is [var offer] && so?.Invoke(offer) != false)
        {
            if (Instant.Max(offer.ReportFrom, offer.PlannedEnd) is var at && at > Rig.Now)
                Rig.Advance(at - Rig.Now);
            await Rig.Must(Simulation.VirtualAide.ReportOf(offer.Action));
            await Rig.Until(view => view.View.Offers.IsEmpty || view.View.Offers[0].Action != offer.Action);
        }
    }
}
