using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Simulation;
using NodaTime;

namespace Incubation.ServiceBenchmarks;

/// <summary>
/// A data file with the events of many simulated batches, a dozen cartridges each, and one batch in work now. Invented.
/// </summary>
internal sealed class LongLog
{
    public static readonly BenchId Bench = new("bench-1");

    private const int Dozen = 12;
    private static readonly Duration BetweenBatches = Duration.FromMinutes(45);
    private static readonly PersonId Person = new("benchmark");
    private static readonly DeviceId Device = new("benchmark");
    private static readonly BenchCommand.OpenBench Open = new(
        Bench, "Bench 1", new BenchSetup(1, 8, 1, Duration.FromSeconds(25), Duration.FromSeconds(15), 0),
            Duration.FromSeconds(20));

    private readonly ClinicLog clinic;
    private readonly BenchStreams streams;
    private Instant at;
    private BenchState? bench;
    private long rows;
    private int touches;

    private LongLog(DataFile file, Instant at)
    {
        this.at = at;
        clinic = ClinicLog.Open(file);
        streams = new BenchStreams(file);
    }

    /// <summary>Makes the file; returns how many events it holds.</summary>
    public static long Make(string path, long events, Action<long> progress)
    {
        using var file = DataFile.Open(path);
        var now = Now;
        var perBatch = 100L;
        var log = new LongLog(file, now - (BetweenBatches * (events / perBatch)));
        log.OpenClinic(now);
        var done = log.rows;
        for (var batch = 1; done < events; batch++)
        {
            done += log.Batch(batch);
            if (batch % 100 == 0)
                progress(done);
        }
        log.at = Now - Duration.FromMinutes(2);
        return done + log.Begin();
    }

    /// <summary>Plans are made in whole seconds.</summary>
    private static Instant Now =>
        Instant.FromUnixTimeSeconds(SystemClock.Instance.GetCurrentInstant().ToUnixTimeSeconds());

    private static Assay AssayOf(int number) => new(
        new AssayCode($"A{number}"), $"Benchmark assay {number}", IncubationPlace.Incubator, Duration.FromSeconds(50),
            Duration.FromMinutes(2), Duration.FromSeconds(25),
        Duration.FromMinutes(3 * number), Duration.FromSeconds(90), Duration.FromSeconds(15), Duration.FromSeconds(40),
            Duration.FromSeconds(10),
        Duration.FromSeconds(35), Duration.FromSeconds(15));

    private void OpenClinic(Instant now)
    {
        AssaySheet[] sheets = [.. Enumerable.Range(1, 4).Select(number => AssaySheet.Plain(AssayOf(number), "mg/L"))];
        clinic.Record([new ClinicEvent.ClinicOpened("Benchmark clinic", "UTC"),
            .. sheets.Select(sheet => new ClinicEvent.AssayDrafted(sheet, 1))], Provenance());
        clinic.Record([.. sheets.Select(sheet => new ClinicEvent.AssayApproved(sheet, 1))],
            Provenance() with { Person = new PersonId("second") });
        ClinicEvent[] events =
        [
            .. Enumerable.Range(1, 4)
                .Select(number =>
                    new ClinicEvent.LotReceived(new LotCode($"A{number}-L1"), new AssayCode($"A{number}"),
                        now.InUtc().Date.PlusYears(1))),
            new ClinicEvent.BenchRegistered(Bench, Open.Name),
        ];
        clinic.Record(events, Provenance());
        Append(
            [new BenchEntry(new BenchEvent.BenchOpened(Bench, Open.Name, Open.Setup, Open.PromptAhead), Provenance())]);
        rows += events.Length + 1 + (2 * sheets.Length);
    }

    private List<BenchRequest> Requests(int batch) =>
    [
        .. Enumerable.Range(1, Dozen).Select(number =>
        {
            var assay = AssayOf(1 + (number % 4));
            var id = string.Create(CultureInfo.InvariantCulture, $"B{batch:0000}-R{number:00}");
            return new BenchRequest(
                new Request(new RequestId(id), new SpecimenId("S-" + id), assay.Code, new LotCode(assay.Code + "-L1"),
                    at, RequestKind.Patient, true, Priority.Routine, null, null, []),
                assay, 1, "mg/L");
        }),
    ];

    private long Batch(int batch)
    {
        var run = SimulatedDay.Run(Open, Requests(batch), at, (ulong)batch, new RandomStepLengths(),
            () => new IterationBudget(0));
        // Its opening is not this bench's; the intake of its requests is the clinic's too.
        var entries = run.Entries.Skip(1).ToList();
        var intake = entries.First(entry => entry.Event is BenchEvent.RequestsAdded);
        var requests = ((BenchEvent.RequestsAdded)intake.Event).Requests;
        clinic.Record([.. requests.Select(wanted => new ClinicEvent.RequestReceived(Bench, wanted.Request, 1))],
            intake.Provenance);
        at += BetweenBatches;
        Append([.. entries, new BenchEntry(new BenchEvent.BatchClosed(batch), Provenance())]);
        return entries.Count + 1 + requests.Length;
    }

    /// <summary>A batch in work: two cartridges react now.</summary>
    private int Begin()
    {
        var state = bench!;
        var before = state.Revision;
        var requests = Requests(9999);
        var intake = Provenance();
        clinic.Record([.. requests.Select(wanted => new ClinicEvent.RequestReceived(Bench, wanted.Request, 1))],
            intake);
        state = Say(state, new BenchCommand.AddRequests(requests), intake);
        state = Say(state, new BenchCommand.StartBatch(), Provenance());
        state = Say(state, PlanReplacement.Propose(state, at, PlanCause.BatchStarted, 1, new IterationBudget(10))[0],
            Provenance());
        for (var slot = 1; slot <= 2; slot++)
        {
            at += Duration.FromSeconds(30);
            state = Say(state, new BenchCommand.Mixed(requests[slot].Request.Id), Provenance());
            at += Duration.FromSeconds(20);
            state =
                Say(state,
                    new BenchCommand.Loaded(requests[slot].Request.Id, new CartridgePlace.InSlot(new SlotNumber(slot)),
                        false), Provenance());
        }
        return (int)(state.Revision - before) + Dozen;
    }

    private BenchState Say(BenchState state, BenchCommand command, Provenance provenance)
    {
        var accepted = LiveBench.Decide(state, command, provenance) as Decision.Accepted
            ?? throw new InvalidOperationException($"The bench refused {command.GetType().Name}.");
        return Append(accepted.Entries(provenance));
    }

    private BenchState Append(IReadOnlyList<BenchEntry> entries)
    {
        bench = streams.Append(bench, entries);
        rows += entries.Count;
        return bench;
    }

    private Provenance Provenance() => new(
        new ReportId(string.Create(CultureInfo.InvariantCulture, $"touch-{++touches}")), at, at, Person, Device);
}
