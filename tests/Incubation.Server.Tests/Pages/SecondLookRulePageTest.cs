using Bunit;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Server.Doors;
using Incubation.Server.Pages.Record;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Incubation.Service.Gates;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Pages;

/// <summary>The page on which a clinic switches the second supervisor on and off.</summary>
public sealed class SecondLookRulePageTest : BunitContext, IAsyncLifetime
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-second-").FullName;
    private readonly DataFile file;
    private BenchRig? rig;
    private ClinicHost? clinic;

    public SecondLookRulePageTest()
    {
        file = DataFile.Open(Path.Combine(folder, "a.db"));
        JSInterop.Mode = JSRuntimeMode.Loose;
    }

    public async ValueTask InitializeAsync()
    {
        rig = await BenchRig.OpenAsync();
        clinic = new ClinicHost(file);
        clinic.Log.Record([new ClinicEvent.ClinicOpened("Test clinic", "Europe/Berlin"),
            new ClinicEvent.PersonAdded(new PersonId("mara"), "Mara", Role.Administrator),
            new ClinicEvent.PersonAdded(new PersonId("lena"), "Lena", Role.Aide)], rig.Provenance());
        clinic.Reread();
        Services.AddSingleton(clinic);
        Services.AddSingleton(file);
        Services.AddSingleton(new BenchClock(rig.Time, 1));
        Services.AddSingleton(rig.Book);
        Services.AddSingleton(new CartridgeProjection(file, CartridgeProjection.AsToldOnBench));
        Services.AddSingleton<ClosedControls>();
        Services.AddSingleton<DoubtNotices>();
        Services.AddSingleton<LotGateService>();
        Services.AddSingleton<SecondLookService>();
        Services.AddSingleton<ICurrentActor>(new AideInFront
        {
            Who = AnAide.Lena with
            {
                Who = AnAide.Lena.Who with { Id = new("mara"), Role = Role.Administrator },
                Session = AnAide.Lena.Session with { Person = new("mara") },
            },
        });
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

    /// <summary>A clinic with one supervisor is warned, and may do it all the same.</summary>
    [Fact]
    public async Task SwitchOn_WithOneSupervisor_WarnsAndStandsInTheLog()
    {
        var page = Render<SecondLookRulePage>();
        Assert.Contains("May confirm: Mara.", page.Markup, StringComparison.Ordinal);
        Assert.NotEmpty(page.FindAll("#second-warning"));
        await page.Find("#second-switch").ClickAsync(new());
        Assert.Contains("fewer than two supervisors", page.Find("#confirm-second").TextContent,
            StringComparison.Ordinal);
        Assert.False(clinic!.Log.Amendments.NeedsSecond);
        await page.Find("#confirm-second button.button-primary").ClickAsync(new());
        page.WaitForAssertion(() => Assert.Contains("On. An amendment waits",
            page.Find("[role=status]").TextContent, StringComparison.Ordinal));
        Assert.True(clinic.Log.Amendments.NeedsSecond);
    }

    [Fact]
    public void Render_WithTwoSupervisors_DoesNotWarn()
    {
        clinic!.Log.Record(new ClinicEvent.PersonAdded(new PersonId("ines"), "Ines", Role.Supervisor),
            rig!.Provenance());
        Assert.Empty(Render<SecondLookRulePage>().FindAll("#second-warning"));
    }
}
