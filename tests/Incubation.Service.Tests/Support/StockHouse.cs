using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Records;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Stock;
using NodaTime;

namespace Incubation.Service.Tests.Support;

/// <summary>A clinic with one invented assay and a bench, on virtual time: 2 March 2026.</summary>
internal sealed class StockHouse : IAsyncDisposable
{
    public static readonly AssayCode Assay = new("DA");
    public static readonly LocalDate Today = new(2026, 3, 2);
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-stock-").FullName;

    private StockHouse(BenchRig rig)
    {
        Rig = rig;
        File = DataFile.Open(Path.Combine(folder, "a.db"));
        Clinic = new ClinicHost(File);
        var sheet = AssaySheet.Plain(BenchRig.Assay("DA", 8), "mg/L");
        Clinic.Log.Record([new ClinicEvent.ClinicOpened("Test clinic", "Europe/Berlin"),
            new ClinicEvent.AssayDrafted(sheet, 1)], rig.Provenance());
        Clinic.Log.Record(
            [new ClinicEvent.AssayApproved(sheet, 1), new ClinicEvent.BenchRegistered(BenchRig.Id, "Bench 1")],
            rig.Provenance() with { Person = new PersonId("second") });
        Clinic.Reread();
        Clock = new BenchClock(rig.Time, 1);
        Room = new StockQueries(Clinic, rig.Book, File, Clock, new StockSettings(30));
        Desk = new StockService(Clinic, Room, Clock);
    }

    public BenchRig Rig { get; }

    public DataFile File { get; }

    public ClinicHost Clinic { get; }

    public BenchClock Clock { get; }

    public StockQueries Room { get; }

    public StockService Desk { get; }

    public static Actor Somebody(Role role) => new Actor.Person(
        new ClinicPerson(new PersonId("lena"), "Lena", role, true, true, true),
        new Session("s", new PersonId("lena"), SignInWay.Password, null, new DeviceId("browser-1"), Instant.MinValue,
            Instant.MinValue), null);

    public static async Task<StockHouse> OpenAsync() => new(await BenchRig.OpenAsync());

    /// <summary>Receives boxes with buffer and card.</summary>
    public void Receive(string lot, LocalDate expiry, int count) => Clinic.Log.Record(
        [.. new[] { StockKind.Kit, StockKind.Buffer, StockKind.ReaderCard }.Select(kind =>
            new ClinicEvent.StockReceived(kind, new LotCode(lot), Assay, expiry, count, null, null))],
        Rig.Provenance());

    /// <summary>Records what somebody said.</summary>
    public void Say(ClinicEvent said) => Clinic.Log.Record(said, Rig.Provenance());

    public async ValueTask DisposeAsync()
    {
        await Rig.DisposeAsync();
        File.Dispose();
        Directory.Delete(folder, recursive: true);
    }
}
