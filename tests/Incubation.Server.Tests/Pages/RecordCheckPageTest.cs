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
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using Microsoft.AspNetCore.Components;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging.Abstractions;

namespace Incubation.Server.Tests.Pages;

/// <summary>
/// The page on which an administrator sees whether the tables agree with the record, and which copies are about.
/// </summary>
public sealed class RecordCheckPageTest : BunitContext, IAsyncLifetime
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-check-").FullName;
    private readonly DataFile file;
    private ClinicHost? clinic;
    private BenchRig? rig;

    public RecordCheckPageTest()
    {
        file = DataFile.Open(Path.Combine(folder, "a.db"));
        JSInterop.Mode = JSRuntimeMode.Loose;
    }

    public async ValueTask InitializeAsync()
    {
        rig = await BenchRig.OpenAsync();
        clinic = new ClinicHost(file);
        clinic.Log.Record([new ClinicEvent.ClinicOpened("Test clinic", "Europe/Berlin"),
            new ClinicEvent.BenchRegistered(new BenchId("bench-1"), "Bench 1")], rig.Provenance());
        clinic.Reread();
        var clock = new BenchClock(rig.Time, 1);
        var book = new CartridgeProjection(file, clinic.Log.Amended);
        var watch = new TableWatch(file, book, clinic, clock, NullLogger<TableWatch>.Instance);
        Services.AddSingleton(clinic);
        Services.AddSingleton(new RecordCheckService(file, book, watch, clock));
        Services.AddSingleton<ICurrentActor>(new Administrator());
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
    public async Task Rebuild_TableChanged_IsShownAskedAndRecorded()
    {
        File.WriteAllText(Path.Combine(folder, "a.replaced-20260101T000000Z.db"), "");
        var page = Render<RecordCheckPage>();
        Assert.Contains("Not compared since the last start", page.Markup, StringComparison.Ordinal);
        Assert.Contains("a.replaced-20260101T000000Z.db", page.Markup, StringComparison.Ordinal);
        Assert.Contains("Replaced by a restore", page.Markup, StringComparison.Ordinal);

        Alter("UPDATE Benches SET Name = 'Another bench'");
        await page.Find("#compare").ClickAsync(new());
        page.WaitForAssertion(() => Assert.Contains("Another bench", page.Markup, StringComparison.Ordinal));
        Assert.Contains("Differences: 1", page.Find("p[role=status]").TextContent, StringComparison.Ordinal);

        await page.Find("#rebuild").ClickAsync(new());
        await page.Find("#confirm-rebuild button.button-primary").ClickAsync(new());
        page.WaitForAssertion(() =>
            Assert.Contains("The tables agree with the record again", page.Markup, StringComparison.Ordinal));
        Assert.Empty(page.FindAll("#rebuild"));
        var last = clinic!.Log.Entries().Last();
        Assert.Equal(["Benches"], Assert.IsType<ClinicEvent.TablesRebuilt>(last.Event).Tables);
        Assert.Equal("mara", last.Provenance.Person.Value);
    }

    private void Alter(string statement)
    {
        using var connection = new SqliteConnection($"Data Source={file.Path};Pooling=false");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = statement;
        command.ExecuteNonQuery();
    }

    private sealed class Administrator : ICurrentActor
    {
        public ValueTask<Actor?> GetAsync() =>
            new(AnAide.Lena with
            {
                Who = AnAide.Lena.Who with { Id = new("mara"), Role = Role.Administrator },
                Session = AnAide.Lena.Session with { Person = new("mara") }
            });
    }
}
