using System.Collections.Concurrent;
using Incubation.Bench;
using Incubation.Clinic.Reports;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Snapshots;
using NodaTime;

namespace Incubation.Service.Screens;

/// <summary>What the wall says of the clinic's day, all benches together.</summary>
/// <param name="ServerTime">The server's time when this was worked out.</param>
/// <param name="ClearedLastHour">Cartridges read and taken out in the last 60 minutes.</param>
/// <param name="PlannedLastHour">Cartridges that were to be taken out in those 60 minutes by the first plan that had
/// them.</param>
/// <param name="Results">Patients' cartridges read and taken out today.</param>
/// <param name="MedianToResult">Seconds from when the specimen could be worked on until its cartridge was taken out:
/// half took no longer; null without any.</param>
/// <param name="NinetiethToResult">Nine tenths took no longer, in seconds.</param>
/// <param name="ReadInWindow">Reads of today that started inside the window.</param>
/// <param name="Reads">All reads of today.</param>
/// <param name="Discarded">Cartridges thrown away today.</param>
/// <param name="UrgentWaiting">Urgent requests not cleared.</param>
/// <param name="UrgentSince">Since when the longest waiting of them could be worked on, or null.</param>
/// <param name="Late">Requests whose due time has passed.</param>
/// <param name="Finish">When the last planned cartridge is to be taken out, or null.</param>
/// <param name="Open">Requests of present batches that are over without a value, and of which nobody has said what
/// becomes.</param>
public sealed record DaySnapshot(
    Instant ServerTime, int ClearedLastHour, int PlannedLastHour, int Results, double? MedianToResult,
        double? NinetiethToResult,
    int ReadInWindow, int Reads, int Discarded, int UrgentWaiting, Instant? UrgentSince, int Late, Instant? Finish,
    int Open);

/// <summary>
/// The clinic's day so far. Running batches are followed in memory; what was closed today is read from the record once.
/// May be used from any thread.
/// </summary>
public sealed class DayProjection : IDisposable
{
    private readonly BenchRegistry benches;
    private readonly CartridgeProjection book;
    private readonly ClinicHost clinic;
    private readonly BenchClock clock;
    private readonly ConcurrentDictionary<BenchId, Kept> kept = new();

    /// <summary>Follows the benches.</summary>
    public DayProjection(BenchRegistry benches, CartridgeProjection book, ClinicHost clinic, BenchClock clock)
    {
        (this.benches, this.book, this.clinic, this.clock) = (benches, book, clinic, clock);
        benches.Changed += Note;
    }

    private sealed record ClosedBatch(BatchTally Tally, Instant At);

    private sealed class Kept
    {
        public Dictionary<int, ClosedBatch> Closed { get; } = [];

        /// <summary>Up to this one, batches were closed before the day began: they are not read again.</summary>
        public int Older { get; set; }

        /// <summary>The batch that <see cref="Running"/> is of; 0 before it was read from the record.</summary>
        public int Batch { get; set; }

        public BatchTally Running { get; set; } = BatchTally.Nothing;
    }

    /// <summary>The day as it stands.</summary>
    public DaySnapshot Present()
    {
        var now = clock.Now;
        var zone = clinic.Facts.Zone;
        var begins = zone.AtStartOfDay(now.InZone(zone).Date).ToInstant();
        var present = benches.All.Select(runner => runner.Present.State).ToList();
        var day = ClinicDay.Of([.. present.SelectMany(state => BatchesOf(state, begins))], present, begins, now);
        return new DaySnapshot(
            now, day.ClearedLastHour, day.PlannedLastHour, day.Results, day.MedianToResult?.TotalSeconds,
                day.NinetiethToResult?.TotalSeconds,
            day.ReadInWindow, day.Reads, day.Discarded, day.UrgentWaiting, day.UrgentSince, day.Late, day.Finish,
            present.Sum(state => Fates.Open(LiveBench.Readable(state)).Count(cartridge => cartridge.IsOver)));
    }

    /// <inheritdoc/>
    public void Dispose() => benches.Changed -= Note;

    /// <summary>A plan that is replaced soon is seen here; who asks later would not know of it.</summary>
    private void Note(BenchMoment view)
    {
        var one = kept.GetOrAdd(view.State.Id, _ => new Kept());
        lock (one)
            if (one.Batch == view.State.Batch)
                one.Running = one.Running.With(view.State);
    }

    private List<BatchTally> BatchesOf(BenchState state, Instant begins)
    {
        var one = kept.GetOrAdd(state.Id, _ => new Kept());
        lock (one)
        {
            if (one.Batch != state.Batch)
            {
                one.Running = book.Entries(state.Id, state.Batch) is { } recorded
                    ? BatchTally.Of(recorded.Before, recorded.Entries) : BatchTally.Nothing;
                one.Batch = state.Batch;
            }

            one.Running = one.Running.With(state);
            return [.. ClosedToday(one, state, begins), one.Running];
        }
    }

    private IEnumerable<BatchTally> ClosedToday(Kept one, BenchState state, Instant begins)
    {
        foreach (var old in one.Closed.Where(batch => batch.Value.At < begins).Select(batch => batch.Key).ToList())
        {
            one.Closed.Remove(old);
            one.Older = Math.Max(one.Older, old);
        }

        for (var number = state.Batch - 1; number > one.Older; number--)
        {
            if (!one.Closed.TryGetValue(number, out var closed))
            {
                if (book.Entries(state.Id, number) is not { IsClosed: true } recorded
                    || recorded.Entries[^1].Provenance.Arrived < begins)
                {
                    one.Older = number;
                    yield break;
                }

                closed = one.Closed[number] = new ClosedBatch(BatchTally.Of(recorded.Before, recorded.Entries),
                    recorded.Entries[^1].Provenance.Arrived);
            }

            yield return closed.Tally;
        }
    }
}
