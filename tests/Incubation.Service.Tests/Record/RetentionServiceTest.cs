using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Instruments;
using Incubation.Records.Retention;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Incubation.Service.Decisions;
using Incubation.Service.Instruments;
using Incubation.Service.Record;
using Incubation.Service.Stock;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using NodaTime;

namespace Incubation.Service.Tests.Record;

/// <summary>Old batches erased while their bench runs.</summary>
public sealed class RetentionServiceTest : IAsyncLifetime
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-erase-").FullName;
    private readonly FakeTimeProvider time = new(new DateTimeOffset(2024, 1, 10, 8, 0, 0, TimeSpan.Zero));
    private DataFile? file;
    private ClinicHost? clinic;
    private BenchRegistry? benches;
    private int touches;

    private BenchRunner Runner => benches!.Find("bench-1")!;

    public async ValueTask InitializeAsync()
    {
        file = DataFile.Open(Path.Combine(folder, "a.db"));
        clinic = new ClinicHost(file);
        clinic.Log.Record([new ClinicEvent.ClinicOpened("Test clinic", "Europe/Berlin"),
            new ClinicEvent.BenchRegistered(BenchRig.Id, "Bench 1")], Provenance());
        clinic.Reread();
        benches = new BenchRegistry(new RecordsBenchLog(file), new BenchClock(time, 1), () => new IterationBudget(20),
            NullLogger<BenchRunner>.Instance, BenchRig.Agreed(new BenchClock(time, 1)));
        var setup = new BenchSetup(1, 4, 1, Duration.FromSeconds(25), Duration.FromSeconds(15), 0);
        await benches.OpenAsync(new BenchCommand.OpenBench(BenchRig.Id, "Bench 1", setup, Duration.FromSeconds(20)),
            Provenance(), TestContext.Current.CancellationToken);
    }

    public async ValueTask DisposeAsync()
    {
        await benches!.DisposeAsync();
        file!.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task Erase_WhileItsBenchRuns_BenchGoesOnAndTheRecordIsWhole()
    {
        await RunBatch("R1");
        time.Advance(TimeSpan.FromDays(3 * 365));
        await Say(new BenchCommand.AddRequests([BenchRig.Request("R2")]));
        var book = new CartridgeProjection(file!, CartridgeProjection.AsToldOnBench);
        using var desk = new RetentionService(new RecordRetention(file!, clinic!.Log, book), clinic, benches!,
            new BenchClock(time, 1));
        var plan = desk.Preview();
        Assert.Equal((1, 1), (plan.Batches, plan.Cartridges));

        var administrator = AnAide.Lena with
        { Who = AnAide.Lena.Who with { Id = new("mara"), Role = Role.Administrator } };
        Assert.Null((await desk.EraseAsync(administrator, plan)).Fault);

        Assert.Equal(0, desk.Preview().Batches);
        Assert.Empty(file!.Log.VerifyAll().Faults);
        Assert.Equal(["R2"], book.All().Select(one => one.Request.Value));
        var erased = Assert.IsType<ClinicEvent.RecordErased>(clinic.Log.Entries().Last().Event);
        Assert.Equal((1, 1, 1), (erased.FirstBatch, erased.LastBatch, erased.Cartridges));
        Assert.Equal("mara", clinic.Log.Entries().Last().Provenance.Person.Value);
        await Say(new BenchCommand.StartBatch());
        Assert.Equal(BatchPhase.Running, Runner.Present.State.Phase);
        Assert.Equal(Runner.Present.State.Cartridges.Select(cartridge => cartridge.Id), new BenchSnapshots(file)
            .Load(BenchRig.Id, out _)!.Cartridges.Select(cartridge => cartridge.Id));

        // What was shown once is not erased twice.
        var rows = Runner.Present.State.Revision;
        Assert.Equal(RecordWords.RetentionNotOver, (await desk.EraseAsync(administrator, plan)).Fault);
        Assert.Equal(rows, Runner.Present.State.Revision);
    }

    /// <summary>What is erased waits for nobody any more: its page is gone.</summary>
    [Fact]
    public async Task Erase_WhatWaitedForADecision_LeavesTheListAtOnce()
    {
        await Say(new BenchCommand.AddRequests([BenchRig.Request("R1")]));
        await Say(new BenchCommand.StartBatch());
        var (r1, reader) = (new RequestId("R1"), new ReaderNumber(1));
        await Say(new BenchCommand.Mixed(r1));
        time.Advance(TimeSpan.FromSeconds(30));
        await Say(new BenchCommand.Loaded(r1, new CartridgePlace.InSlot(new SlotNumber(1)), false));
        time.Advance(TimeSpan.FromMinutes(8.1));
        await Say(new BenchCommand.ReadStarted(r1, reader, false));
        time.Advance(TimeSpan.FromMinutes(1));
        await Say(new BenchCommand.Cleared(r1, reader));
        await Say(new BenchCommand.ResultEntered(r1, new ShownResult.Value("1,000"), ShownIdentity.None));
        await Say(new BenchCommand.CloseBatch());
        var clock = new BenchClock(time, 1);
        var book = new CartridgeProjection(file!, clinic!.Log.Amended);
        var list = new DecisionList(clinic, benches!, book, new LateReportService(book, clinic, clock),
            new UncheckedResults(clinic, book, clock),
            new ProgrammeDecisions(clinic, new StockSettings(30)),
            new WireRights(clinic, benches!, new WireStore(file!, clinic.Log)), new CertificateEnds(), clock);
        // It can be read as more than one number: it is not released as it is.
        var line = Assert.Single(list.For(ControlsHouse.Ines));
        Assert.Equal((DecisionKind.HeldResult, "record/bench-1/1/amend?request=R1"), (line.Kind, line.Address));

        time.Advance(TimeSpan.FromDays(3 * 365));
        await Say(new BenchCommand.AddRequests([BenchRig.Request("R2")]));
        Assert.Single(list.For(ControlsHouse.Ines));
        using var desk = new RetentionService(new RecordRetention(file!, clinic.Log, book), clinic, benches!, clock);
        var administrator = AnAide.Lena with
        { Who = AnAide.Lena.Who with { Id = new("mara"), Role = Role.Administrator } };
        Assert.Null((await desk.EraseAsync(administrator, desk.Preview())).Fault);

        Assert.Empty(list.For(ControlsHouse.Ines));
    }

    private async Task RunBatch(string request)
    {
        await Say(new BenchCommand.AddRequests([BenchRig.Request(request)]));
        await Say(new BenchCommand.StartBatch());
        await Say(new BenchCommand.WithdrawRequest(new RequestId(request), "not wanted any more"));
        await Say(new BenchCommand.CloseBatch());
    }

    private async Task Say(BenchCommand command)
    {
        var answer = await Runner.SendAsync(command, Provenance());
        Assert.True(answer.Recorded, answer.Sentence);
    }

    private Provenance Provenance()
    {
        var now = Instant.FromDateTimeOffset(time.GetUtcNow());
        return new Provenance(new ReportId($"t{++touches}"), now, now, new PersonId("lena"), new DeviceId("tablet-1"));
    }
}
