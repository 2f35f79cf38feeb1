using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Decisions;
using Incubation.Service.Programme;
using Incubation.Service.Requests;
using Incubation.Service.Stock;
using NodaTime;
using static Incubation.Service.Tests.Support.ControlsHouse;

namespace Incubation.Service.Tests.Support;

/// <summary>The house of controls without controls, with a second kit lot that comes in when a test says so.</summary>
internal sealed class ProgrammeHouse(ControlsHouse house) : IAsyncDisposable
{
    public static readonly LotCode NewKit = new("DA-L2");

    public ControlsHouse House => house;

    public CartridgeProjection Book { get; } = new(house.File, house.Clinic.Log.Amended);

    public ComparisonService Comparisons => new(house.Clinic, Book, house.Gates, house.Clock);

    public ProficiencyService Proficiency => new(house.Clinic, Book, house.Intake, house.Clock);

    public MovingMeanService Means => new(house.Clinic, Book, house.Clock);

    public StockSettings Settings { get; } = new(30);

    public static async Task<ProgrammeHouse> OpenAsync() =>
        new(await ControlsHouse.OpenAsync(ControlPolicy.None));

    /// <summary>The new lot comes in, with its buffer and its card.</summary>
    public void ReceiveNew()
    {
        house.Time.Advance(TimeSpan.FromMinutes(1));
        foreach (var kind in new[] { StockKind.Kit, StockKind.Buffer, StockKind.ReaderCard })
            Assert.IsType<Records.Clinic.ClinicOutcome.Recorded>(house.Clinic.Log.Record(
                new ClinicEvent.StockReceived(kind, NewKit, Da, new LocalDate(2031, 1, 1), 25, null, null),
                house.Provenance()));
    }

    /// <summary>A specimen is run by a lot, and its result entered.</summary>
    public async Task<Cartridge> Run(string specimen, LotCode lot, string value)
    {
        Assert.Empty((await house.Intake.AddAsync(BenchOne.Value, [new WantedRequest(specimen, "DA", lot.Value)], null,
            new PersonId("lena"), new DeviceId("tablet"))).Faults);
        var cartridge = house.State.Cartridges[^1];
        if (house.State.Phase == BatchPhase.Preparing)
            await house.Must(new BenchCommand.StartBatch());
        await house.RunThrough(cartridge, lot);
        await house.Must(new BenchCommand.ResultEntered(cartridge.Id, new ShownResult.Value(value)));
        return house.State.Find(cartridge.Id)!;
    }

    /// <summary>A specimen is run, and its result entered without its identity.</summary>
    public async Task<Cartridge> Held(string specimen, string value)
    {
        await house.AddPatient(specimen);
        var cartridge = house.State.Cartridges[^1];
        await house.RunThrough(cartridge);
        await house.Must(new BenchCommand.ResultEntered(cartridge.Id, new ShownResult.Value(value),
            ShownIdentity.None));
        return house.State.Find(cartridge.Id)!;
    }

    public List<DecisionLine> Decisions() => [.. new ProgrammeDecisions(house.Clinic, Settings)
        .Lines(house.Clock.Now.InZone(house.Clinic.Facts.Zone).Date)];

    public ValueTask DisposeAsync() => house.DisposeAsync();
}
