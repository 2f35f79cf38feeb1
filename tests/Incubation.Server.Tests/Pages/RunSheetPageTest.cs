using Bunit;
using Incubation.Bench;
using Incubation.Records;
using Incubation.Server.Pages.Batch;
using Incubation.Service.Batches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Tests.Support;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Pages;

/// <summary>The page of the run sheet.</summary>
public sealed class RunSheetPageTest : BunitContext, IAsyncLifetime
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-sheet-").FullName;
    private readonly DataFile file;
    private BenchRig? rig;

    public RunSheetPageTest() => file = DataFile.Open(Path.Combine(folder, "a.db"));

    public async ValueTask InitializeAsync()
    {
        rig = await BenchRig.OpenAsync();
        Services.AddSingleton(new ClinicHost(file));
        Services.AddSingleton(new BenchClock(rig.Time, 1));
        Services.AddSingleton(rig.Book);
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
    public async Task Render_PlannedBatch_CartridgesAndStepsWithRoomToWrite()
    {
        await rig!.Must(new BenchCommand.AddRequests([BenchRig.Request("R1"), BenchRig.Request("R2")]));
        await rig.UntilPlanned(PlanCause.RequestsChanged);

        var page = Render<RunSheetPage>(with => with.Add(p => p.Bench, BenchRig.Id.Value));

        var tables = page.FindAll("table");
        Assert.Equal(2, tables[0].QuerySelectorAll("tbody tr").Length);
        Assert.Equal(RunSheet.Steps(rig.State, NodaTime.DateTimeZone.Utc).Count,
            tables[1].QuerySelectorAll("tbody tr").Length);
        Assert.All(tables.SelectMany(table => table.QuerySelectorAll("tbody tr")),
            row => Assert.NotEmpty(row.QuerySelectorAll("td.blank")));
        Assert.Contains("Times count from the start of the batch", page.Markup, StringComparison.Ordinal);
        Assert.NotNull(page.Find("[data-print]"));
    }

    [Fact]
    public void Render_UnknownBench_LeadsToNotFound()
    {
        var asked = false;
        Services.GetRequiredService<NavigationManager>().OnNotFound += (_, _) => asked = true;
        Render<RunSheetPage>(with => with.Add(p => p.Bench, "none"));
        Assert.True(asked);
    }
}
