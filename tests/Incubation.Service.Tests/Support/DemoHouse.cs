using Incubation.Planning;
using Incubation.Records;
using Incubation.Records.People;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Demo;
using Incubation.Service.Gates;
using Incubation.Service.Hosting;
using Incubation.Service.People;
using Incubation.Service.Requests;
using Incubation.Service.Settings;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using NodaTime;

namespace Incubation.Service.Tests.Support;

/// <summary>The server's rooms without its web.</summary>
internal sealed class DemoHouse : IAsyncDisposable
{
    private readonly LotGateService gates;
    private readonly Intake intake;
    private readonly LifeSign life;

    public DemoHouse(string path, string demo, Instant now, bool month = false)
    {
        File = DataFile.Open(path);
        var time = new FakeTimeProvider(now.ToDateTimeOffset());
        var clock = new BenchClock(time, 1);
        Clinic = new ClinicHost(File);
        var log = new RecordsBenchLog(File);
        var guard = new ClockGuard(clock, () => DateTimeZone.Utc, isRealTime: true);
        Book = new BenchRegistry(log, clock, () => new IterationBudget(20), NullLogger<BenchRunner>.Instance, guard);
        gates = new LotGateService(Clinic, Book, ControlsHouse.Closed(File, Clinic, clock),
            ControlsHouse.Doubts(File, Clinic, clock), clock,
            NullLogger<LotGateService>.Instance);
        intake = new Intake(Clinic, Book, clock, gates);
        life = new LifeSign(path + ".alive", clock);
        var settings = new ServerSettings(path, demo, false, 1, Duration.FromMilliseconds(20), 1, Month: month);
        var store = new PeopleStore(File, Clinic.Log);
        var sessions = new Sessions(Clinic, store, clock, SessionLengths.Usual, clock.Time);
        var backOff = new BackOff(clock.Time);
        var devices = new DeviceService(Clinic, store, sessions, backOff, clock, clock.Time);
        Demo = new DemoDay(Clinic, Book, intake, clock, File);
        Opening = new Opening(Clinic, Book, intake, Demo, log, settings,
            new ClockService(guard, Clinic, clock, File, time),
            new DemoPeople(Clinic, store, devices, clock, settings),
                new SetUpService(Clinic, store, sessions, backOff, clock), life, gates);
    }

    public DataFile File { get; }

    public ClinicHost Clinic { get; }

    public BenchRegistry Book { get; }

    public Opening Opening { get; }

    public DemoDay Demo { get; }

    public async ValueTask DisposeAsync()
    {
        await Book.DisposeAsync();
        intake.Dispose();
        gates.Dispose();
        life.Dispose();
        File.Dispose();
    }
}
