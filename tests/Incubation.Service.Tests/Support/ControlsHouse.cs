using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Incubation.Service.Controls;
using Incubation.Service.Gates;
using Incubation.Service.Requests;
using Incubation.Service.Snapshots;
using Incubation.TestKit;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using NodaTime;

namespace Incubation.Service.Tests.Support;

/// <summary>A clinic with one controlled assay and one bench, on virtual time and a data file of its own.</summary>
internal sealed class ControlsHouse : IAsyncDisposable
{
    public static readonly LotCode Kit = new("DA-L1");
    public static readonly AssayCode Da = new("DA");
    public static readonly BenchId BenchOne = new("bench-1");
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-controls-").FullName;

    private ControlsHouse(ControlPolicy policy, ResultRule? results)
    {
        Time = new FakeTimeProvider(BenchRig.Start.ToDateTimeOffset());
        File = DataFile.Open(Path.Combine(folder, "a.db"));
        Clock = new BenchClock(Time, 1);
        Open(policy, results);
        Restart();
    }

    public FakeTimeProvider Time { get; }

    public DataFile File { get; }

    public BenchClock Clock { get; }

    public ClinicHost Clinic { get; private set; } = null!;

    public BenchRegistry Book { get; private set; } = null!;

    public Intake Intake { get; private set; } = null!;

    public LotGateService Gates { get; private set; } = null!;

    public ControlService Desk { get; private set; } = null!;

    public BenchRunner Runner => Book.Find(BenchOne.Value)!;

    public BenchState State => Runner.Present.State;

    public LotGate Gate => State.GateOf(Kit)?.Gate ?? LotGate.Open;

    public static Actor Ines { get; } = Person("ines", Role.Supervisor);

    public static Actor Lena { get; } = Person("lena", Role.Aide);

    public static async Task<ControlsHouse> OpenAsync(ControlPolicy? policy = null, ResultRule? results = null)
    {
        var house = new ControlsHouse(policy
            ?? new ControlPolicy(2, EachDay: true, NewLot: true, NewShipment: false, AfterService: true,
                ControlGate.Wait), results);
        var setup = new BenchSetup(1, 4, 1, Duration.FromSeconds(25), Duration.FromSeconds(15), 0);
        await house.Book.OpenAsync(new BenchCommand.OpenBench(BenchOne, "Bench 1", setup, Duration.FromSeconds(20)),
            house.Provenance(), TestContext.Current.CancellationToken);
        return house;
    }

    /// <summary>
    /// Targets 200 ± 4 and 250 ± 5: the published base of the rules' vectors (westgard.com lesson 12).
    /// </summary>
    public async Task SetTargets()
    {
        Assert.Empty(await Desk.SetTargetAsync(Ines, Da, "CTRL-7", 1, "200", "4"));
        Assert.Empty(await Desk.SetTargetAsync(Ines, Da, "CTRL-7", 2, "250", "5,0"));
    }

    public async Task AddPatient(string specimen) =>
        Assert.Empty(
            (await Intake.AddAsync(BenchOne.Value, [new WantedRequest(specimen, "DA", Kit.Value)], null,
                new PersonId("lena"), new DeviceId("tablet"))).Faults);

    public async Task AddControls()
    {
        var outcome = await Desk.AddDueAsync(Lena, BenchOne, Kit);
        Assert.True(outcome.IsDone, outcome.Fault);
    }

    public async Task Must(BenchCommand command)
    {
        var answer = await Runner.SendAsync(command, Provenance());
        Assert.True(answer.Recorded, answer.Sentence);
    }

    /// <summary>
    /// The cartridge is run to its clear, whatever the plan says: facts are never refused. Time goes on as it must.
    /// </summary>
    public async Task RunThrough(Cartridge cartridge, LotCode? lot = null, TimeSpan? readAfter = null)
    {
        Time.Advance(TimeSpan.FromSeconds(50));
        // With its time: whatever a plan of meanwhile had offered, it was begun just now.
        await Must(new BenchCommand.Mixed(cartridge.Id, TimeStated: true));
        Time.Advance(TimeSpan.FromSeconds(30));
        await Must(new BenchCommand.Loaded(cartridge.Id, new CartridgePlace.InSlot(new SlotNumber(1)), false));
        await Must(new BenchCommand.CardChanged(new ReaderNumber(1), lot ?? Kit));
        Time.Advance(readAfter ?? TimeSpan.FromSeconds(8 * 60 + 40));
        await Must(new BenchCommand.ReadStarted(cartridge.Id, new ReaderNumber(1), false));
        Time.Advance(TimeSpan.FromSeconds(41));
        await Must(new BenchCommand.Cleared(cartridge.Id, new ReaderNumber(1)));
    }

    /// <summary>Runs the level's open control and enters what it gave.</summary>
    public async Task RunControl(int level, string value, bool settle = true)
    {
        var control = State.Cartridges.Last(cartridge => cartridge.Wanted.Facts?.Control?.Level == level
            && !cartridge.IsOver);
        await RunThrough(control);
        await Must(new BenchCommand.ResultEntered(control.Id, new ShownResult.Value(value)));
        if (settle)
            await Gates.SettleAsync();
    }

    /// <summary>The server ends, and another takes over.</summary>
    public async Task Crash()
    {
        await Book.DisposeAsync();
        Intake.Dispose();
        Gates.Dispose();
        Restart();
        Book.Continue((await new RecordsBenchLog(File).LoadAsync(BenchOne, TestContext.Current.CancellationToken))!);
    }

    /// <summary>Waits until a view is shown when that is so.</summary>
    public async Task Until(Func<bool> holds)
    {
        var found = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        void Look(BenchMoment view)
        {
            if (holds())
                found.TrySetResult();
        }

        Book.Changed += Look;
        try
        {
            Look(Runner.Present);
            await found.Task.WaitAsync(Patience.Usual, TestContext.Current.CancellationToken);
        }
        finally
        {
            Book.Changed -= Look;
        }
    }

    public Provenance Provenance() =>
        new(new ReportId(Guid.NewGuid().ToString("N")), Clock.Now, Clock.Now, new PersonId("lena"),
            new DeviceId("tablet"));

    public async ValueTask DisposeAsync()
    {
        await Book.DisposeAsync();
        Intake.Dispose();
        Gates.Dispose();
        File.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    /// <summary>The controls of closed batches in a data file.</summary>
    public static ClosedControls Closed(DataFile file, ClinicHost clinic, BenchClock clock) =>
        new(clinic, new CartridgeProjection(file, clinic.Log.Amended), clock);

    /// <summary>What destinations are told of results in doubt, of a data file.</summary>
    public static DoubtNotices Doubts(DataFile file, ClinicHost clinic, BenchClock clock) =>
        new(clinic, new CartridgeProjection(file, clinic.Log.Amended), clock, NullLogger<DoubtNotices>.Instance);

    private void Restart()
    {
        Clinic = new ClinicHost(File);
        Book = new BenchRegistry(new RecordsBenchLog(File), Clock, () => new IterationBudget(20),
            NullLogger<BenchRunner>.Instance, BenchRig.Agreed(Clock));
        Gates = new LotGateService(Clinic, Book, Closed(File, Clinic, Clock),
            Doubts(File, Clinic, Clock), Clock,
            NullLogger<LotGateService>.Instance);
        Intake = new Intake(Clinic, Book, Clock, Gates);
        Desk = new ControlService(Clinic, Book, Intake, Gates, Clock,
            new CartridgeProjection(File, Clinic.Log.Amended));
    }

    private void Open(ControlPolicy policy, ResultRule? results)
    {
        var clinic = new ClinicHost(File);
        var sheet = AssaySheet.Plain(BenchRig.Assay("DA", 8), "mg/L") with
        {
            Controls = policy,
            Results = results ?? ResultRule.AsDisplayed,
        };
        Assert.IsType<ClinicOutcome.Recorded>(
            clinic.Log.Record([new ClinicEvent.ClinicOpened("Test clinic", "Europe/Berlin"),
                new ClinicEvent.AssayDrafted(sheet, 1)], Provenance()));
        Assert.IsType<ClinicOutcome.Recorded>(clinic.Log.Record(new ClinicEvent.AssayApproved(sheet, 1),
            Provenance() with { Person = new PersonId("second") }));
        Assert.IsType<ClinicOutcome.Recorded>(clinic.Log.Record(
            [new ClinicEvent.LotReceived(Kit, Da, new LocalDate(2030, 1, 1)),
                new ClinicEvent.BenchRegistered(BenchOne, "Bench 1")], Provenance()));
    }

    public static Actor.Person Person(string id, Role role) => new(
        new ClinicPerson(new PersonId(id), id, role, true, true, false),
        new Session("s-" + id, new PersonId(id), SignInWay.Password, null, new DeviceId("browser-" + id),
            BenchRig.Start, BenchRig.Start), null);
}
