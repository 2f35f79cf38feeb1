using Bunit;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Reports;
using Incubation.Server.Doors;
using Incubation.Server.Pages.Controls;
using Incubation.Service.People;
using Incubation.Service.Programme;
using Incubation.Service.Stock;
using Incubation.Service.Tests.Support;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace Incubation.Server.Tests.Pages;

public sealed class ControlsPageTest : BunitContext, IAsyncLifetime
{
    private readonly Somebody somebody = new();
    private ControlsHouse? house;

    private ControlsHouse House => house!;

    public async ValueTask InitializeAsync()
    {
        house = await ControlsHouse.OpenAsync();
        JSInterop.Mode = JSRuntimeMode.Loose;
        Services.AddSingleton(House.Clinic);
        Services.AddSingleton(House.Desk);
        Services.AddSingleton(House.Clock);
        Services.AddSingleton(new StockSettings(30));
        Services.AddSingleton(new MovingMeanService(House.Clinic,
            new CartridgeProjection(House.File, CartridgeProjection.AsToldOnBench), House.Clock));
        Services.AddSingleton(new ReportProjection(House.File,
            new CartridgeProjection(House.File, CartridgeProjection.AsToldOnBench)));
        Services.AddSingleton<ICurrentActor>(somebody);
        SetRendererInfo(new RendererInfo("Server", isInteractive: true));
    }

    protected override async ValueTask DisposeAsyncCore()
    {
        await base.DisposeAsyncCore();
        if (house is not null)
            await house.DisposeAsync();
    }

    [Fact]
    public void Render_NothingYet_SaysSoEverywhere()
    {
        var page = Render<ControlsPage>();
        Assert.Contains(ControlPageWords.WaitingEmpty, page.Markup, StringComparison.Ordinal);
        Assert.Contains(ControlPageWords.NoControls, page.Markup, StringComparison.Ordinal);
        Assert.Contains(ControlPageWords.TargetsEmpty, page.Markup, StringComparison.Ordinal);
        Assert.Contains(ControlPageWords.SummaryEmpty, Render<ControlSummaryPage>().Markup, StringComparison.Ordinal);
    }

    [Fact]
    public void Render_NothingYet_TellsAnAideWhoSetsATarget()
    {
        somebody.Actor = ControlsHouse.Lena;
        var page = Render<ControlsPage>();
        Assert.Contains(ControlPageWords.NoControlsTell, page.Markup, StringComparison.Ordinal);
        Assert.DoesNotContain(ControlPageWords.NoControls, page.Markup, StringComparison.Ordinal);
    }

    [Fact]
    public async Task SetTarget_FaultsStandBesideTheirFields_AndThenItStandsInTheTable()
    {
        var page = Render<ControlsPage>();
        await page.Find("#target-lot").ChangeAsync(new() { Value = "CTRL-7" });
        await page.Find("#target-mean").ChangeAsync(new() { Value = "two hundred" });
        await page.Find("#target-deviation").ChangeAsync(new() { Value = "4" });
        await page.Find("form:has(#target-mean)").SubmitAsync();
        Assert.Equal(TypedWords.TypedNumber, page.Find("#target-mean-fault").TextContent);
        Assert.Equal("true", page.Find("#target-mean").GetAttribute("aria-invalid"));

        await page.Find("#target-mean").ChangeAsync(new() { Value = "200" });
        await page.Find("form:has(#target-mean)").SubmitAsync();
        Assert.Contains("CTRL-7, level 1", page.Find("table").TextContent, StringComparison.Ordinal);
        Assert.Empty(page.FindAll(".field-fault"));

        // What was done is not said above what is wrong now.
        Assert.NotEqual("", page.Find(".page-status").TextContent.Trim());
        await page.Find("#target-mean").ChangeAsync(new() { Value = "1,000" });
        await page.Find("form:has(#target-mean)").SubmitAsync();
        Assert.Contains("Type 1000 or 1.000", page.Find("#target-mean-fault").TextContent, StringComparison.Ordinal);
        Assert.Equal("", page.Find(".page-status").TextContent.Trim());
    }

    /// <summary>Only a supervisor may set a target: an aide is told to tell one, not to do it.</summary>
    [Fact]
    public async Task DueControls_ThatCannotBeAdded_SayWhatWhoeverIsThereCanDo()
    {
        await House.AddPatient("SP-1");
        somebody.Actor = ControlsHouse.Lena;
        Assert.Contains("no usable control lots known for levels 1 and 2: tell a supervisor, who sets their targets",
            Due(), StringComparison.Ordinal);
        somebody.Actor = ControlsHouse.Ines;
        Assert.Contains("no usable control lots known for levels 1 and 2: set their targets on the page Controls",
            Due(), StringComparison.Ordinal);

        string Due() => Render<DueControlsList>(list => list.Add(one => one.View, House.Runner.Present)).Markup;
    }

    [Fact]
    public async Task Targets_BeginWithAControlThatIsThereAndHasNone()
    {
        House.Clinic.Log.Record(
            new ClinicEvent.StockReceived(StockKind.Control, new LotCode("CTRL-9"), ControlsHouse.Da,
                new LocalDate(2075, 1, 1), 5, null, null), Provenances.Of(ControlsHouse.Ines, House.Clock));
        var page = Render<ControlsPage>();
        foreach (var (level, mean) in new[] { ("1", "200"), ("2", "250") })
        {
            Assert.Equal(("CTRL-9", level), (page.Find("#target-lot").GetAttribute("value"),
                page.Find("#target-level").GetAttribute("value")));
            await page.Find("#target-mean").ChangeAsync(new() { Value = mean });
            await page.Find("#target-deviation").ChangeAsync(new() { Value = "4" });
            await page.Find("form:has(#target-mean)").SubmitAsync();
        }

        Assert.Equal([1, 2], House.Clinic.Log.Controls.Targets.Select(target => target.Control.Level));
    }

    [Fact]
    public async Task AMovingMean_IsDrawnOfPatientsResults_AndWarnsOutsideItsLimits()
    {
        await House.SetTargets();
        await House.AddPatient("SP-1");
        await House.AddControls();
        await House.Must(new BenchCommand.StartBatch());
        await House.RunControl(1, "200");
        await House.RunControl(2, "250");
        var patient = House.State.Cartridges.First(one => one.Wanted.Request.Kind == RequestKind.Patient);
        await House.RunThrough(patient);
        await House.Must(new BenchCommand.ResultEntered(patient.Id, new ShownResult.Value("30")));

        var page = Render<ControlsPage>();
        page.WaitForAssertion(() =>
            Assert.Contains(ProgrammePageWords.MeanEmpty, page.Markup, StringComparison.Ordinal));
        foreach (var (field, value) in new[] { ("center", "10"), ("low", "8"), ("high", "12"), ("weight", "0,5") })
            await page.Find($"#mean-{field}").ChangeAsync(new() { Value = value });
        await page.Find("form:has(#mean-center)").SubmitAsync();
        page.WaitForAssertion(() => Assert.Contains("outside its limits: 20", page.Markup, StringComparison.Ordinal));
        Assert.Single(page.FindAll(".control-chart .cc-rejected"));
    }

    [Fact]
    public async Task ATargetThatHasEnded_IsSaid_AndWhatCameAfterItIsDrawnWithoutAVerdict()
    {
        Assert.Empty(await House.Desk.SetTargetAsync(ControlsHouse.Ines, ControlsHouse.Da, "CTRL-7", 1, "200", "4"));
        Assert.Empty(await House.Desk.SetTargetAsync(ControlsHouse.Ines, ControlsHouse.Da, "CTRL-7", 2, "250", "5"));
        var page = Render<ControlsPage>();
        await page.Find("#target-lot").ChangeAsync(new() { Value = "CTRL-7" });
        await page.Find("#target-level").ChangeAsync(new() { Value = "1" });
        await page.Find("#target-mean").ChangeAsync(new() { Value = "200" });
        await page.Find("#target-deviation").ChangeAsync(new() { Value = "4" });
        await page.Find("#target-end").ChangeAsync(new() { Value = "2026-03-02" });
        await page.Find("form:has(#target-mean)").SubmitAsync();
        Assert.Contains("2026-03-02, 0 days left", page.Markup, StringComparison.Ordinal);

        await House.AddPatient("SP-1");
        await House.AddControls();
        await House.Must(new BenchCommand.StartBatch());
        await House.RunControl(2, "250");
        var other = House.State.Cartridges.Last(one => one.Wanted.Facts?.Control?.Level == 1);
        House.Time.Advance(TimeSpan.FromDays(1));
        await House.RunThrough(other);
        await House.Must(new BenchCommand.ResultEntered(other.Id, new ShownResult.Value("203")));
        await House.Gates.SettleAsync();
        var due = Render<DueControlsList>(parameters => parameters.Add(list => list.View, House.Runner.Present));
        Assert.Contains("the target of level 1 ended on 2026-03-02", due.Markup, StringComparison.Ordinal);

        Assert.Empty(await House.Desk.SetTargetAsync(ControlsHouse.Ines, ControlsHouse.Da, "CTRL-7", 1, "200", "4"));
        await House.AddControls();
        await House.RunControl(1, "201");
        Assert.Single(Render<ControlsPage>().FindAll(".control-chart .cc-unjudged"));
    }

    [Fact]
    public async Task ARejectedControl_IsDrawnNamedAndPutRightOnThePage()
    {
        await House.SetTargets();
        await House.AddPatient("<b>SP-1</b>");
        await House.AddControls();
        await House.Must(new BenchCommand.StartBatch());
        await House.RunControl(1, "213");
        var page = Render<ControlsPage>();

        Assert.Contains("Lot DA-L1 is blocked", page.Find(".must").TextContent, StringComparison.Ordinal);
        Assert.Contains("1-3s", page.Find(".must table").TextContent, StringComparison.Ordinal);
        Assert.Single(page.FindAll(".control-chart .cc-rejected"));
        Assert.Contains("1-3s", page.Find(".control-chart .cc-rules").TextContent, StringComparison.Ordinal);

        await page.Find($"#found-{ControlsHouse.Kit}").ChangeAsync(new() { Value = "<script>Old vial</script>" });
        await page.Find("form:has(#found-DA-L1)").SubmitAsync();
        Assert.Equal(ControlsWords.RefusedWordsMissing, page.Find(".must .field-fault").TextContent);
        await page.Find($"#done-{ControlsHouse.Kit}").ChangeAsync(new() { Value = "A new vial." });
        await page.Find("form:has(#found-DA-L1)").SubmitAsync();
        Assert.Contains("stays blocked until they are accepted", page.Find(".page-status").TextContent,
            StringComparison.Ordinal);

        await page.Find("#finding-DA-L1").ChangeAsync(new() { Value = "None were released." });
        await page.Find("form:has(#finding-DA-L1)").SubmitAsync();
        Assert.Empty(page.FindAll(".must"));
        var summary = Render<ControlSummaryPage>();
        Assert.Contains("1-3s × 1", summary.Markup, StringComparison.Ordinal);
        Assert.Contains("&lt;script&gt;Old vial&lt;/script&gt;", summary.Markup, StringComparison.Ordinal);
    }

    /// <summary>
    /// The summary's words agree with its counts: n is accepted, rejected and neither; what is held or was discarded is
    /// counted apart and said. A corrective action names the device through which it was written down.
    /// </summary>
    [Fact]
    public async Task Summary_HeldAndDiscarded_AreCountedApartAndSaid()
    {
        await House.SetTargets();
        await House.AddPatient("SP-1");
        await House.AddControls();
        await House.Must(new BenchCommand.StartBatch());
        await House.RunControl(1, "213");
        var second = House.State.Cartridges.Last(cartridge => cartridge.Wanted.Facts?.Control?.Level == 2);
        await House.RunThrough(second);
        await House.Must(new BenchCommand.ResultEntered(second.Id, new ShownResult.Value("250"),
            new ShownIdentity("SP-9")));
        await House.Gates.SettleAsync();
        var awaiting = House.Clinic.Log.Controls.Of(ControlsHouse.Kit).AwaitingAction.Select(run => run.Request);
        Assert.True((await House.Desk.TakeActionAsync(ControlsHouse.Ines, ControlsHouse.Kit, awaiting, "Old vial",
            "New vial")).IsDone);

        var summary = Render<ControlSummaryPage>();

        Assert.Contains("Of the controls requested in this month, 1 with a held result and 0 discarded are not in the "
            + "table.", summary.Markup, StringComparison.Ordinal);
        var cells = summary.FindAll("table")[0].QuerySelectorAll("tbody tr td").Select(cell => cell.TextContent.Trim())
            .ToList();
        Assert.Equal(("1", "0", "1", "0"), (cells[2], cells[3], cells[7], cells[8]));
        Assert.DoesNotContain("–", summary.FindAll("table")[1].QuerySelectorAll("tbody tr td")[^1].TextContent,
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task Rules_OneOff_IsSavedAndSaid()
    {
        var page = Render<ControlsPage>();
        await page.FindAll(".controls-rules input")[^1].ChangeAsync(new() { Value = false });
        await page.Find("form:has(.controls-rules)").SubmitAsync();
        Assert.False(House.Clinic.Log.Controls.RulesOf(ControlsHouse.Da).TenX);
        Assert.Contains("1-2s, 1-3s, 2-2s, R-4s, 4-1s", page.Find(".page-status").TextContent,
            StringComparison.Ordinal);
    }

    [Fact]
    public void AnAide_SeesEverythingAndIsOfferedNoChange()
    {
        somebody.Actor = ControlsHouse.Lena;
        var page = Render<ControlsPage>();
        Assert.Contains(ControlPageWords.SupervisorChanges, page.Markup, StringComparison.Ordinal);
        Assert.Empty(page.FindAll("form button"));
    }

    /// <summary>What cannot be added is told to the page, which then says no success above it.</summary>
    [Fact]
    public async Task DueControls_NotAdded_AreToldToThePage()
    {
        await House.SetTargets();
        await House.AddPatient("SP-1");
        var lena = (Actor.Person)ControlsHouse.Lena;
        somebody.Actor = lena with { Who = lena.Who with { Role = Role.Inspector } };
        var told = 0;
        var due = Render<DueControlsList>(with => with.Add(list => list.View, House.Runner.Present)
            .Add(list => list.Refused, () => told++));
        await due.Find("button").ClickAsync(new());
        Assert.Equal(1, told);
        Assert.NotEmpty(due.FindAll("[role=alert]"));
    }

    /// <summary>One level is said as one, two as two.</summary>
    [Fact]
    public async Task DueControls_OfOneLevelOrTwo_AreSaidSo()
    {
        await House.AddPatient("SP-1");
        string Due() => Render<DueControlsList>(with => with.Add(list => list.View, House.Runner.Present)).Markup;
        Assert.Contains("known for levels 1 and 2: set their targets", Due(), StringComparison.Ordinal);
        Assert.Empty(await House.Desk.SetTargetAsync(ControlsHouse.Ines, ControlsHouse.Da, "CTRL-7", 1, "50", "4"));
        Assert.Contains("known for level 2: set its target on", Due(), StringComparison.Ordinal);
        await House.SetTargets();
        Assert.Contains("levels 1 and 2 due", Due(), StringComparison.Ordinal);
    }

    /// <summary>Once something else was done, what was not added before it is said no more.</summary>
    [Fact]
    public async Task DueControls_NotAdded_AreSaidUntilSomethingElseIsDone()
    {
        await House.SetTargets();
        await House.AddPatient("SP-1");
        var lena = (Actor.Person)ControlsHouse.Lena;
        somebody.Actor = lena with { Who = lena.Who with { Role = Role.Inspector } };
        var due = Render<DueControlsList>(with => with.Add(list => list.View, House.Runner.Present)
            .Add(list => list.News, "SP-1 was added."));
        await due.Find("button").ClickAsync(new());
        // What stood there before says nothing of it, and the page says it no more.
        due.Render(with => with.Add(list => list.News, "SP-1 was added."));
        Assert.NotEmpty(due.FindAll("[role=alert]"));
        due.Render(with => with.Add(list => list.News, null));
        Assert.NotEmpty(due.FindAll("[role=alert]"));

        due.Render(with => with.Add(list => list.News, "SP-1 was added."));
        Assert.Empty(due.FindAll("[role=alert]"));
    }

    private sealed class Somebody : ICurrentActor
    {
        public Actor Actor { get; set; } = ControlsHouse.Ines;

        public ValueTask<Actor?> GetAsync() => new(Actor);
    }
}
