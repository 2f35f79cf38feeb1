using Bunit;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Retention;
using Incubation.Server.Doors;
using Incubation.Server.Pages.Record;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Pages;

/// <summary>The page on which the clinic says for how long it keeps its record.</summary>
public sealed class RetentionPageTest : BunitContext, IAsyncLifetime
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-retention-").FullName;
    private readonly DataFile file;
    private ClinicHost? clinic;
    private BenchRig? rig;

    public RetentionPageTest()
    {
        file = DataFile.Open(Path.Combine(folder, "a.db"));
        JSInterop.Mode = JSRuntimeMode.Loose;
    }

    private ClinicHost Clinic => clinic!;

    public async ValueTask InitializeAsync()
    {
        rig = await BenchRig.OpenAsync();
        clinic = new ClinicHost(file);
        clinic.Log.Record(new ClinicEvent.ClinicOpened("Test clinic", "Europe/Berlin"), rig.Provenance());
        clinic.Reread();
        Services.AddSingleton(clinic);
        Services.AddSingleton(new BenchClock(rig.Time, 1));
        Services.AddSingleton(rig.Book);
        Services.AddSingleton(new CartridgeProjection(file, CartridgeProjection.AsToldOnBench));
        Services.AddSingleton(
            new RecordRetention(file, clinic.Log, new CartridgeProjection(file, CartridgeProjection.AsToldOnBench)));
        Services.AddSingleton<RetentionService>();
        Services.AddSingleton<ICurrentActor>(new Someone(Role.Administrator));
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
    public async Task Change_ByAnAdministrator_IsAskedAndThenStandsInTheLog()
    {
        var page = Render<RetentionPage>();
        page.WaitForAssertion(() =>
            Assert.Contains("No batch may be erased yet", page.Markup, StringComparison.Ordinal));
        await page.Find("#retention-months").ChangeAsync("36");
        await page.Find("form").SubmitAsync();
        Assert.Null(Clinic.Log.People.RetentionMonths);
        Assert.Contains("Keep closed batches for 36 months?", page.Find("#confirm-change").TextContent,
            StringComparison.Ordinal);
        await page.Find("#confirm-change button.button-primary").ClickAsync(new());
        page.WaitForAssertion(() =>
            Assert.Contains("kept for 36 months", page.Find("[role=status]").TextContent, StringComparison.Ordinal));
        Assert.Equal(36, Clinic.Log.People.RetentionMonths);
        Assert.Equal("mara", Clinic.Log.Entries().Last().Provenance.Person.Value);
    }

    [Theory]
    [InlineData("23")]
    [InlineData("two years")]
    [InlineData("1e999")]
    public async Task Change_TooShortOrNoNumber_SaidBesideTheField(string months)
    {
        var page = Render<RetentionPage>();
        await page.Find("#retention-months").ChangeAsync(months);
        await page.Find("form").SubmitAsync();
        Assert.Contains("from 24 to 1200", page.Find("#retention-months-fault").TextContent, StringComparison.Ordinal);
        Assert.Null(Clinic.Log.People.RetentionMonths);
    }

    [Fact]
    public async Task Desk_NoAdministrator_IsRefused()
    {
        var desk = Services.GetRequiredService<RetentionService>();
        var actor = (await new Someone(Role.Supervisor).GetAsync())!;
        Assert.Equal(ServiceWords.NotAllowed, desk.Set(actor, 36).Fault);
        Assert.Equal(ServiceWords.NotAllowed, (await desk.EraseAsync(actor, desk.Preview())).Fault);
    }

    private sealed class Someone(Role role) : ICurrentActor
    {
        public ValueTask<Actor?> GetAsync() =>
            new(AnAide.Lena with
            {
                Who = AnAide.Lena.Who with { Id = new("mara"), Role = role },
                Session = AnAide.Lena.Session with { Person = new("mara") }
            });
    }
}
