using System.ComponentModel.DataAnnotations;
using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Chart;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Alarms;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Playback;

/// <summary>A moment of a batch: something was recorded.</summary>
/// <param name="Index">Its place in the batch, from 0.</param>
/// <param name="At">When the server recorded it.</param>
/// <param name="Kind">"report", "plan", "trouble" or "other".</param>
/// <param name="Text">What it was, in words.</param>
/// <param name="Who">By whom; empty where the bench did it by itself.</param>
public sealed record Moment(
    int Index, Instant At, [property: AllowedValues("report", "plan", "trouble", "other")] string Kind, string Text,
        string Who);

/// <summary>A batch to be played again.</summary>
/// <param name="Zone">IANA name of the clinic's time zone.</param>
/// <param name="Begins">When it was started, or its first moment where it never was.</param>
/// <param name="Ends">Its last moment.</param>
/// <param name="Moments">What was recorded, in order.</param>
public sealed record BatchMoments(string Zone, Instant Begins, Instant Ends, IReadOnlyList<Moment> Moments);

/// <summary>
/// Batches from the log, moment by moment: the bench as it stood and what it showed after each row. The last few that
/// were asked for are kept. May be used from any thread.
/// </summary>
public sealed class PlaybackService(CartridgeProjection book, ClinicHost clinic, BenchClock clock)
{
    private const int MaxKept = 3;

    /// <summary>Without the alarms of this server, which are of today.</summary>
    private readonly SnapshotWriter writer = new(clinic, clock, new NoHostAlarms());
    private readonly Lock gate = new();
    private readonly List<Played> kept = [];

    private sealed record Played(BenchId Bench, int Batch, ImmutableArray<BenchEntry> Entries,
        ImmutableArray<BenchState> States);

    /// <summary>What was recorded of a batch; null where there is no such batch.</summary>
    public BatchMoments? Moments(BenchId bench, int batch)
    {
        if (Find(bench, batch, 0) is not { } played)
            return null;
        var moments = played.Entries.Select((entry, at) => MomentOf(played, entry, at)).ToList();
        var start = played.Entries.FirstOrDefault(entry => entry.Event is BenchEvent.BatchStarted);
        return moments.Count == 0
            ? new BatchMoments(clinic.Facts.Zone.Id, clock.Now, clock.Now, [])
            : new BatchMoments(clinic.Facts.Zone.Id, start?.Provenance.Arrived ?? moments[0].At,
                moments.Max(moment => moment.At), moments);
    }

    /// <summary>What the bench showed after a moment; null where there is none.</summary>
    public BenchSnapshot? Show(BenchId bench, int batch, int index)
    {
        if (index < 0 || Find(bench, batch, index) is not { } played || index >= played.States.Length)
            return null;
        var at = played.Entries[index].Provenance.Arrived;
        var state = played.States[index];
        return writer.Write(new BenchMoment(state, LiveBench.View(state, at)), LaneLayout.Wide) with
        { Labels = [], Undos = [], Reports = [], Rate = 1 };
    }

    /// <summary>The whole batch as one drawing, as it ended or stands; empty where nothing was planned.</summary>
    public string Picture(BenchId bench, int batch)
    {
        if (Find(bench, batch, 0) is not { States.IsEmpty: false } played)
            return "";
        var last = played.States.Length - 1;
        if (played.Entries[last].Event is BenchEvent.BatchClosed && last > 0)
            last--;
        var state = played.States[last];
        return state.Adopted is null ? "" : DayChart.Render(
            state, LiveBench.View(state, played.Entries[last].Provenance.Arrived),
                new ChartOptions(new ChartAxis.Clock(clinic.Facts.Zone), SelfContained: false, Key: "play"));
    }

    private Played? Find(BenchId bench, int batch, int index)
    {
        lock (gate)
        {
            var found = kept.Find(one => one.Bench == bench && one.Batch == batch);
            // Of a running batch what is kept may be old: the first moment is asked for at every opening.
            if (found is not null
                && (found.Entries.IsEmpty || found.Entries[^1].Event is BenchEvent.BatchClosed
                    || (index > 0 && index < found.Entries.Length)))
                return found;
            if (book.Entries(bench, batch) is not { } recorded)
                return null;
            var states = ImmutableArray.CreateBuilder<BenchState>(recorded.Entries.Length);
            var state = recorded.Before;
            foreach (var entry in recorded.Entries)
                states.Add(LiveBench.Readable(state = LiveBench.Apply(state, entry)));
            var played = new Played(bench, batch, recorded.Entries, states.ToImmutable());
            kept.RemoveAll(one => one.Bench == bench && one.Batch == batch);
            kept.Add(played);
            if (kept.Count > MaxKept)
                kept.RemoveAt(0);
            return played;
        }
    }

    private Moment MomentOf(Played played, BenchEntry entry, int at)
    {
        // Words are those of the bench before a report took something away, and after it brought something.
        var state = entry.Event is BenchEvent.BatchClosed && at > 0 ? played.States[at - 1] : played.States[at];
        var (kind, text) = MomentText.Of(state, entry, clinic);
        return new Moment(at, entry.Provenance.Arrived, kind, text, kind == "plan"
            ? "" : Names.Of(entry.Provenance.Person, clinic.Log.People));
    }
}
