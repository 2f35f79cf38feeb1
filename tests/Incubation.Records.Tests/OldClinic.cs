using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Retention;
using Incubation.Simulation;
using NodaTime;

namespace Incubation.Records.Tests;

/// <summary>
/// An invented clinic with two batches that are older than two years, one that is not, and one in work.
/// </summary>
internal sealed class OldClinic
{
    public static readonly Instant Now = Instant.FromUtc(2026, 3, 2, 8, 0);

    /// <summary>When each closed batch was run.</summary>
    public static readonly IReadOnlyList<Instant> Days = [Instant.FromUtc(2024, 1, 10, 8, 0),
        Instant.FromUtc(2024, 2, 20, 8, 0), Instant.FromUtc(2025, 6, 1, 8, 0)];

    private readonly DataFile file;
    private readonly ClinicLog clinic;
    private int touches;

    public OldClinic(DataFile file, bool carriesOver = false, bool withdraws = false)
    {
        this.file = file;
        clinic = ClinicLog.Open(file);
        clinic.Tell(ClinicStory.Commands);
        Append(
            [new BenchEntry(new BenchEvent.BenchOpened(Rows.Bench, BenchStory.Open.Name, BenchStory.Open.Setup,
                BenchStory.Open.PromptAhead), Provenance(Days[0] - Duration.FromDays(1)))]);
        foreach (var (day, index) in Days.Select((day, index) => (day, index)))
            Run(index + 1, day, carriesOver, withdraws);
        var present = Requests(4, Now);
        Receive(present, Now);
        Append([new BenchEntry(new BenchEvent.RequestsAdded([.. present]), Provenance(Now)),
            new BenchEntry(new BenchEvent.BatchStarted(4), Provenance(Now))]);
    }

    /// <summary>Writes what the bench knew, and erases, as hosts do.</summary>
    public static ClinicOutcome Erase(DataFile file, ClinicLog clinic, Instant now, ErasureLine line)
    {
        var end = file.Log.Head(StreamName.OfBench(line.Bench)).Sequence;
        Provenance Provenance(string id) =>
            new(ReportId.Of(id + end), now, now, PersonId.Of("mara"), DeviceId.Of("browser-1"));
        new BenchStreams(file)
            .Append(line.Bench, end,
                [new BenchEntry(new BenchEvent.CheckpointKept(line.UpTo, line.Checkpoint), Provenance("standing-"))]);
        return new RecordRetention(file, clinic, new CartridgeProjection(file, CartridgeProjection.AsToldOnBench))
            .Erase(line, Provenance("erase-"));
    }

    private static IReadOnlyList<BenchRequest> Requests(int batch, Instant ready, int count = 3) =>
    [
        .. Enumerable.Range(1, count).Select(number => BenchStory.Request($"B{batch}-R{number}", "A", 3))
            .Select(wanted => wanted with
        {
            Request = wanted.Request with { Ready = ready },
        }),
    ];

    /// <summary>What waited at the end of the second batch, goes on in the third, and is given up there.</summary>
    private static BenchRequest LeftOver => Requests(2, Days[1], 4)[^1];

    private void Run(int batch, Instant day, bool carriesOver, bool withdraws)
    {
        var requests = Requests(batch, day);
        Receive(requests, day);
        var run = SimulatedDay.Run(BenchStory.Open, requests, day, (ulong)batch, new RandomStepLengths(),
            () => new IterationBudget(20)).Entries.Skip(1).ToList();
        Append(
            [.. run.Select(entry =>
                entry
                with { Provenance = entry.Provenance with { Id = ReportId.Of($"b{batch}-{entry.Provenance.Id}") } })]);
        var end = run[^1].Provenance.Arrived;
        if (withdraws)
        {
            var wanted = Requests(batch, day, 4)[^1];
            var taken = wanted with { Request = wanted.Request with { Kind = RequestKind.Patient } };
            Receive([taken], end);
            Append([new BenchEntry(new BenchEvent.RequestsAdded([taken]), Provenance(end)),
                new BenchEntry(new BenchEvent.RequestWithdrawn(taken.Request.Id), Provenance(end))]);
        }

        if (carriesOver && batch == 2)
        {
            Receive([LeftOver], end);
            Append([new BenchEntry(new BenchEvent.RequestsAdded([LeftOver]), Provenance(end)),
                new BenchEntry(new BenchEvent.RequestCarriedOver(LeftOver.Request.Id), Provenance(end))]);
        }

        if (carriesOver && batch == 3)
            Append([new BenchEntry(new BenchEvent.RequestGivenUp(LeftOver.Request.Id, "not wanted any more"),
                Provenance(end))]);
        var closing = Provenance(end);
        Append(carriesOver && batch == 2
            ? [new BenchEntry(new BenchEvent.BatchClosed(batch), closing), new BenchEntry(
                new BenchEvent.RequestsCarriedOver(batch, [new CarriedRequest(LeftOver, null, end, false)]), closing)]
            : [new BenchEntry(new BenchEvent.BatchClosed(batch), closing)]);
    }

    private void Receive(IReadOnlyList<BenchRequest> requests, Instant at)
    {
        foreach (var wanted in requests)
            if (clinic.Record(new ClinicEvent.RequestReceived(Rows.Bench, wanted.Request, 1),
                Provenance(at)) is ClinicOutcome.Refused refused)
                throw new InvalidOperationException(refused.Why.ToString());
    }

    private void Append(IReadOnlyList<BenchEntry> entries)
    {
        var streams = new BenchStreams(file);
        foreach (var command in entries.GroupBy(entry => entry.Provenance.Id))
            streams.Append(Rows.Bench, file.Log.Head(StreamName.OfBench(Rows.Bench)).Sequence, [.. command]);
    }

    private Provenance Provenance(Instant at) =>
        new(ReportId.Of($"old-{++touches}"), at, at, PersonId.Of("lena"), DeviceId.Of("tablet-1"));
}
