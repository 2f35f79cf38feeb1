using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Service.Settings;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Server.Tests.Demo;

/// <summary>Seeding an empty data file with the demo, and coming back to it.</summary>
public sealed class DemoDayTest : IDisposable
{
    private static readonly Instant Now = Instant.FromUtc(2026, 11, 3, 7, 12, 30);
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-demo-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task Open_EmptyFile_MorningBeginsNowAndIsPlanned()
    {
        await using var house = new DemoHouse(Path.Combine(folder, "a.db"), ServerFactory.DemoFolder, Now);

        await house.Opening.OpenAsync(Cancel);

        var morning =
            BenchDayFile.Parse(await File.ReadAllTextAsync(Path.Combine(ServerFactory.DemoFolder, "morning.json"),
                Cancel)).Value!;
        var runner = Assert.Single(house.Book.All);
        var cartridges = runner.Present.State.Cartridges;
        Assert.Equal(morning.Requests.Select(request => request.Id), cartridges.Select(cartridge => cartridge.Id));
        Assert.Equal(
            morning.Requests.Select(request => (request.Ready - morning.Start, request.Due - morning.Start)),
            cartridges.Select(cartridge => (cartridge.Wanted.Request.Ready - Now, cartridge.Wanted.Request.Due - Now)));
        Assert.Equal(morning.Bench, runner.Present.State.Setup);
        Assert.Equal(morning.Requests.Count, house.Clinic.Catalogue.Requests(runner.Id).Count);
    }

    [Fact]
    public async Task Open_SecondStart_NothingAdded()
    {
        var path = Path.Combine(folder, "a.db");
        long revision;
        await using (var first = new DemoHouse(path, ServerFactory.DemoFolder, Now))
        {
            await first.Opening.OpenAsync(Cancel);
            await first.Book.DisposeAsync();
            revision = first.File.Log.Head(Records.Log.StreamName.OfBench(new BenchId("bench-1"))).Sequence;
        }

        await using var second = new DemoHouse(path, ServerFactory.DemoFolder, Now + Duration.FromMinutes(5));
        await second.Opening.OpenAsync(Cancel);
        await second.Book.DisposeAsync();

        Assert.Equal(12, Assert.Single(second.Book.All).Present.State.Cartridges.Length);
        Assert.True(second.File.Log.Head(Records.Log.StreamName.OfBench(new BenchId("bench-1"))).Sequence <= revision
            + 1);
    }

    [Fact]
    public async Task Open_IntakeCutShort_MendedAtNextStart()
    {
        var path = Path.Combine(folder, "a.db");
        await using (var first = new DemoHouse(path, ServerFactory.DemoFolder, Now))
        {
            await first.Opening.OpenAsync(Cancel);
            // The clinic has recorded it; the crash came before the bench did.
            var request = first.Book.All[0].Present.State.Cartridges[0].Wanted.Request with
            { Id = new RequestId("R77") };
            first.Clinic.Log.Record(
                new ClinicEvent.RequestReceived(new BenchId("bench-1"), request, 1),
                new Provenance(new ReportId("cut"), Now, Now, new PersonId("aide"), new DeviceId("tablet")));
        }

        await using var second = new DemoHouse(path, ServerFactory.DemoFolder, Now + Duration.FromMinutes(1));
        await second.Opening.OpenAsync(Cancel);

        Assert.NotNull(second.Book.All[0].Present.State.Find(new RequestId("R77")));
    }

    [Theory]
    [InlineData("""{ "name": """, "clinic.json")]
    [InlineData("""{ "name": "X", "zone": "Europe/Berlin", "benches": [], "assays": [], "lots": [], "nurses": [] }""",
        "nurses")]
    [InlineData("""{ "name": "X", "zone": "Mars/Base", "benches": [], "assays": [], "lots": [] }""", "Mars/Base")]
    [InlineData("""{ "name": "X", "zone": "Europe/Berlin", "benches": [], "assays": [ """
        + """{ "code": "Q", "version": 1, "unit": "%" } ], "lots": [] }""", "Q")]
    [InlineData("""{ "name": "X", "zone": "Europe/Berlin", "benches": [ """
        + """{ "id": "b", "name": "B", "promptAhead": 20, "day": "absent.json" } ],"""
        + """ "assays": [], "lots": [] }""", "absent.json")]
    public async Task Open_FaultyClinicFile_SentenceNamesItAndNothingWritten(string clinic, string named)
    {
        await File.WriteAllTextAsync(Path.Combine(folder, DemoFile), clinic, Cancel);
        await using var house = new DemoHouse(Path.Combine(folder, "a.db"), folder, Now);

        var fault = await Assert.ThrowsAsync<StartException>(() => house.Opening.OpenAsync(Cancel));

        Assert.Contains(named, fault.Message, StringComparison.Ordinal);
        Assert.Empty(house.File.Log.Streams());
    }

    [Fact]
    public void ClinicFile_Demo_SaysThatItIsInvented()
    {
        using var clinic = JsonDocument.Parse(File.ReadAllText(Path.Combine(ServerFactory.DemoFolder, DemoFile)));

        Assert.Contains("not for patients", clinic.RootElement.GetProperty("note").GetString(),
            StringComparison.Ordinal);
    }

    private const string DemoFile = "clinic.json";
}
