using System.Collections.Immutable;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Record;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Events;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.Retention;

/// <summary>The oldest batches of a bench whose time is over.</summary>
/// <param name="Bench">Which bench.</param>
/// <param name="FirstBatch">Number of the first batch.</param>
/// <param name="LastBatch">Number of the last.</param>
/// <param name="Cartridges">How many cartridges are in them.</param>
/// <param name="OldestClosed">When the first was closed.</param>
/// <param name="NewestClosed">When the last was closed.</param>
/// <param name="UpTo">The last row of the bench's stream that goes.</param>
/// <param name="Checkpoint">What the bench knew after it.</param>
public sealed record ErasureLine(
    BenchId Bench, int FirstBatch, int LastBatch, int Cartridges, Instant OldestClosed, Instant NewestClosed,
        long UpTo, BenchCheckpoint Checkpoint)
{
    /// <summary>How many batches go.</summary>
    public int Batches => LastBatch - FirstBatch + 1;
}

/// <summary>What would be erased.</summary>
/// <param name="Months">The retention in force, in months.</param>
/// <param name="ClosedBefore">Batches closed before this may go.</param>
/// <param name="Benches">What goes, bench by bench; empty where nothing's time is over.</param>
public sealed record ErasurePlan(int Months, Instant ClosedBefore, IReadOnlyList<ErasureLine> Benches)
{
    /// <summary>How many batches go.</summary>
    public int Batches => Benches.Sum(line => line.Batches);

    /// <summary>How many cartridges go.</summary>
    public int Cartridges => Benches.Sum(line => line.Cartridges);
}

/// <summary>
/// For how long closed batches are kept, and their end: whole batches go, the oldest first. Their payloads go, their
/// hashed headers stay, a row that says what the bench knew after them stands in its stream, and that they were erased
/// in the clinic's. May be used from any thread.
/// </summary>
public sealed class RecordRetention(DataFile file, ClinicLog clinic, CartridgeProjection book)
{
    /// <summary>
    /// The retention in force, in months: what the clinic has set, never less than the least, whatever an old record
    /// says.
    /// </summary>
    public int Months => RetentionRules.MonthsOf(clinic.People.RetentionMonths);

    /// <summary>What would be erased at an instant.</summary>
    public ErasurePlan Preview(Instant now)
    {
        var closedBefore = RetentionRules.ClosedBefore(now, Months, clinic.State.Zone ?? DateTimeZone.Utc);
        return new ErasurePlan(Months, closedBefore,
            [.. new BenchStreams(file).All().Select(bench => LineOf(bench, closedBefore)).OfType<ErasureLine>()]);
    }

    /// <summary>
    /// Erases what a preview named, of one bench. What the bench knew after it must stand in its stream by then
    /// (<see cref="BenchCommand.KeepCheckpoint"/>). Nothing is erased where anything but
    /// <see cref="ClinicOutcome.Recorded"/> comes back or something is thrown.
    /// </summary>
    public ClinicOutcome Erase(ErasureLine line, Provenance provenance)
    {
        ArgumentNullException.ThrowIfNull(line);
        var plan = Preview(provenance.Arrived);
        if (!Holds(plan, line))
            return new ClinicOutcome.Refused(ClinicRefusal.RetentionNotOver, line.Bench.Value);
        var stream = StreamName.OfBench(line.Bench);
        if (StandingRow(stream, line.UpTo) is not { } standing)
            return new ClinicOutcome.Refused(ClinicRefusal.StandingMissing, line.Bench.Value);
        // What goes is looked up in tables: they must say what the log says.
        if (Integrity.ProjectionCheck.Now(file, book) is { Count: > 0 } verdict)
            return new ClinicOutcome.Refused(ClinicRefusal.TablesDiffer, string.Join(", ", verdict.Tables));
        var requests = RequestsOf(line);
        var erased = new ClinicEvent.RecordErased(
            line.Bench, line.FirstBatch, line.LastBatch, line.UpTo, line.Cartridges, plan.ClosedBefore, plan.Months,
                requests);
        var outcome = clinic.Record([erased], provenance, context => Delete(context, stream, line, standing, requests));
        book.ForgetErased(line.Bench, line.LastBatch);
        file.EmptyLog();
        return outcome;
    }

    /// <summary>
    /// Whether what a preview named may still go at an instant: hosts ask before they write what the bench knew.
    /// </summary>
    public bool MayErase(ErasureLine line, Instant now) => Holds(Preview(now), line);

    private static bool Holds(ErasurePlan plan, ErasureLine line) =>
        plan.Benches.Any(fresh => fresh.Bench == line.Bench && fresh.FirstBatch == line.FirstBatch
            && fresh.UpTo >= line.UpTo);

    private ErasureLine? LineOf(BenchId bench, Instant closedBefore)
    {
        var before = Nanoseconds.Of(closedBefore);
        var batches = book.Batches(bench);
        var over = batches.TakeWhile(batch => batch.ClosedAt < before).ToList();
        if (over is not [var first, ..] || batches.ElementAtOrDefault(over.Count) is not { Before: { } json } next)
            return null;
        return new ErasureLine(
            bench, first.Number, over[^1].Number, over.Sum(batch => batch.Cartridges),
                Nanoseconds.ToInstant(first.ClosedAt!.Value),
            Nanoseconds.ToInstant(over[^1].ClosedAt!.Value), next.First - 1,
                JsonSerializer.Deserialize<BenchCheckpoint>(json, EventJson.Options)!);
    }

    /// <summary>The row that says what the bench knew after a row, or null.</summary>
    private long? StandingRow(StreamName stream, long upTo)
    {
        List<long> sequences;
        using (var context = file.Read())
        {
            var (name, type) = (stream.ToString(), BenchEvents.Registry.FormOf<BenchEvent.CheckpointKept>().Name);
            sequences = [.. context.EventHeaders.Where(row => row.Stream == name && row.EventType == type)
                .OrderByDescending(row => row.Sequence).Select(row => row.Sequence)];
        }

        foreach (var sequence in sequences)
            if (file.Log.ReadAll(stream, sequence - 1).First() is { Payload: not null } row
                && BenchStreams.EntryOf(row).Event is BenchEvent.CheckpointKept kept && kept.UpTo == upTo)
                return sequence;
        return null;
    }

    /// <summary>
    /// The rows of the clinic's stream by which the requests of the batches came in, by which their results were
    /// amended afterwards, about late reports, about orders that are run as them, and about what
    /// others were told of them; but not of a request that a later
    /// batch has too.
    /// </summary>
    private ImmutableArray<RowRange> RequestsOf(ErasureLine line)
    {
        using var context = file.Read();
        var (bench, last) = (line.Bench.Value, line.LastBatch);
        var gone = context.Cartridges.Where(row => row.Bench == bench && row.Batch <= last).Select(row => row.Request)
            .ToHashSet(StringComparer.Ordinal);
        // What was carried over is kept until the last batch that had it goes.
        gone.ExceptWith(context.Cartridges.Where(row => row.Bench == bench && row.Batch > last)
            .Select(row => row.Request));
        var came = context.Requests.Where(row => row.Bench == line.Bench).Select(row => new { row.Id, row.Sequence })
            .AsEnumerable()
            .Where(row => gone.Contains(row.Id.Value)).Select(row => row.Sequence);
        return RowRange.Of(came.Concat(clinic.Amendments.RowsOf(line.Bench, gone))
            .Concat(clinic.LateReports.RowsOf(line.Bench, gone)).Concat(clinic.Worklist.RowsOf(line.Bench, gone))
            .Concat(clinic.Connections.RowsOf(line.Bench, gone)));
    }

    private static void Delete(RecordsContext context, StreamName stream, ErasureLine line, long standing,
        ImmutableArray<RowRange> requests)
    {
        var (bench, clinic) = (stream.ToString(), StreamName.Clinic.ToString());
        context.Erasures.Where(row => row.Stream == bench).ExecuteDelete();
        context.Erasures.Add(new ErasureRow { Stream = bench, First = 1, Last = line.UpTo, Event = standing });
        context.Erasures.AddRange(
            requests.Select(range =>
                new ErasureRow { Stream = clinic, First = range.First, Last = range.Last, Event = 0 }));
        // The trigger that guards payloads looks for these rows.
        context.SaveChanges();
        context.EventPayloads.Where(row => row.Stream == bench && row.Sequence <= line.UpTo).ExecuteDelete();
        foreach (var range in requests)
        {
            context.EventPayloads.Where(row => row.Stream == clinic && row.Sequence >= range.First
                && row.Sequence <= range.Last).ExecuteDelete();
            context.Requests.Where(row => row.Sequence >= range.First && row.Sequence <= range.Last).ExecuteDelete();
            context.Notices.Where(row => row.Stream == clinic && row.Sequence >= range.First
                && row.Sequence <= range.Last).ExecuteDelete();
            context.Deliveries.Where(row => row.Stream == clinic && row.Sequence >= range.First
                && row.Sequence <= range.Last).ExecuteDelete();
        }
        // What was told of the batches, and what of it still waited, goes with them.
        context.Notices.Where(row => row.Stream == bench && row.Sequence <= line.UpTo).ExecuteDelete();
        context.Deliveries.Where(row => row.Stream == bench && row.Sequence <= line.UpTo).ExecuteDelete();
        // Their headers stay and name the reports.
        var reports = context.EventHeaders.Where(row => row.Stream == bench && row.Sequence <= line.UpTo)
            .Select(row => row.Report);
        context.Uses.Where(row => row.Bench == line.Bench && reports.Contains(row.Report)).ExecuteDelete();
        context.Snapshots.Where(row => row.Stream == bench).ExecuteDelete();
        context.Cartridges.Where(row => row.Bench == line.Bench.Value && row.Batch <= line.LastBatch).ExecuteDelete();
        context.CartridgeTimes.Where(row => row.Bench == line.Bench.Value && row.Batch <= line.LastBatch)
            .ExecuteDelete();
        context.Batches.Where(row => row.Bench == line.Bench.Value && row.Number <= line.LastBatch).ExecuteDelete();
    }
}
