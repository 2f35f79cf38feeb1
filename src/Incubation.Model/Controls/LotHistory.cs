using System.Collections.Immutable;
using NodaTime;

namespace Incubation.Model.Controls;

/// <summary>Where a kit lot stands on a bench.</summary>
public abstract record LotStatus
{
    private LotStatus() { }

    /// <summary>No controls are asked for.</summary>
    public sealed record Free : LotStatus;

    /// <summary>The last set of controls that was due is in, and none of them is rejected.</summary>
    public sealed record Accepted : LotStatus;

    /// <summary>Controls are due.</summary>
    /// <param name="Levels">Those of which none has been accepted since they are due.</param>
    public sealed record Due(ImmutableArray<int> Levels) : LotStatus
    {
        /// <inheritdoc/>
        public bool Equals(Due? other) => other is not null && Levels.SequenceEqual(other.Levels);

        /// <inheritdoc/>
        public override int GetHashCode() => Levels.Length;
    }

    /// <summary>A control was rejected, here or on another bench.</summary>
    /// <param name="ActionMissing">Whether a corrective action is still to be written down.</param>
    /// <param name="Levels">What is to be run and accepted on this bench before the lot is good again.</param>
    public sealed record Failed(bool ActionMissing, ImmutableArray<int> Levels) : LotStatus
    {
        /// <inheritdoc/>
        public bool Equals(Failed? other) => other is not null && ActionMissing == other.ActionMissing
            && Levels.SequenceEqual(other.Levels);

        /// <inheritdoc/>
        public override int GetHashCode() => Levels.Length;
    }
}

/// <summary>What can make controls due beside the day.</summary>
/// <param name="CameIn">When parts of the kit lot came in, in any order.</param>
/// <param name="Serviced">When a reader of the bench was last serviced, or null.</param>
public sealed record ControlOccasions(IReadOnlyList<Instant> CameIn, Instant? Serviced);

/// <summary>The controls of a kit lot, on all benches, and what was done about them. Immutable; grows only.</summary>
/// <param name="Runs">
/// Controls as they were judged, in that order. One that is judged again stands here again: what it said before is
/// history, and opens no gate.
/// </param>
/// <param name="Actions">Corrective actions, in their order.</param>
/// <param name="Reviews">Reviews of what was released, in their order.</param>
public sealed partial record LotHistory(ImmutableList<ControlRun> Runs, ImmutableList<CorrectiveAction> Actions,
    ImmutableList<ReleasedReview> Reviews)
{
    /// <summary>Nothing yet.</summary>
    public static LotHistory Empty { get; } = new([], [], []);

    /// <summary>Each control as it was judged last, in the order in which they were judged first.</summary>
    public IEnumerable<ControlRun> Present => Latest.Select(one => one.Run);

    /// <summary>Each control as it was judged last, where that judgement is not set aside.</summary>
    public IEnumerable<ControlRun> Standing => Present.Where(run => run.Verdict != ControlVerdict.SetAside);

    /// <summary>Whether a judgement of this lot was superseded by a later one of the same control.</summary>
    public bool IsSuperseded(ControlRun run)
    {
        ArgumentNullException.ThrowIfNull(run);
        return Runs.Exists(other => other.Request == run.Request && other.Revision > run.Revision);
    }

    /// <summary>Where the lot stands on a bench.</summary>
    /// <param name="policy">How its assay is controlled.</param>
    /// <param name="bench">The bench.</param>
    /// <param name="occasions">What can make controls due.</param>
    /// <param name="now">The present.</param>
    /// <param name="zone">The clinic's zone: its day is the day of use.</param>
    public LotStatus On(ControlPolicy policy, BenchId bench, ControlOccasions occasions, Instant now, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(policy);
        ArgumentNullException.ThrowIfNull(occasions);
        ArgumentNullException.ThrowIfNull(zone);
        if (Failure(policy) is { } failure)
            return new LotStatus.Failed(failure.ActionMissing, [.. failure.ToRepeat.GetValueOrDefault(bench, [])]);
        if (DueSince(policy, occasions, now, zone) is not { } since)
            return new LotStatus.Free();
        var accepted = Standing.Where(run => run.Bench == bench && run.Verdict == ControlVerdict.Accepted
            && run.At >= since).Select(run => run.Control.Level).ToHashSet();
        ImmutableArray<int> missing = [.. Enumerable.Range(1, policy.Levels).Where(level => !accepted.Contains(level))];
        return missing.IsEmpty ? new LotStatus.Accepted() : new LotStatus.Due(missing);
    }

    /// <summary>
    /// Since when a set of controls is due, the latest of what the policy names: the day of use has begun (42 CFR
    /// 493.1256(d)(3) asks for controls on each day of testing), the lot is used for the first time, more of it has
    /// come in, a reader was serviced. Null where none is ever due.
    /// </summary>
    private static Instant? DueSince(ControlPolicy policy, ControlOccasions occasions, Instant now, DateTimeZone zone)
    {
        if (policy.Levels == 0)
            return null;
        var since = new List<Instant>();
        if (policy.EachDay)
            since.Add(zone.AtStartOfDay(now.InZone(zone).Date).ToInstant());
        if (policy.NewLot)
            since.Add(Instant.MinValue);
        if (policy.NewShipment)
            since.AddRange(occasions.CameIn.Where(at => at <= now));
        if (policy.AfterService && occasions.Serviced is { } serviced)
            since.Add(serviced);
        return since.Count == 0 ? null : since.Max();
    }

    /// <summary>
    /// The rejected controls that are not yet made good by a corrective action and then an accepted repeat of the whole
    /// set on their bench, run after it; or null. A control that came out of the reader before the action is no
    /// repeat, whenever its result was entered or released.
    /// </summary>
    private (bool ActionMissing, Dictionary<BenchId, SortedSet<int>> ToRepeat)? Failure(ControlPolicy policy)
    {
        var rejected = new Dictionary<BenchId, SortedSet<int>>();
        var toRepeat = new Dictionary<(BenchId Bench, int Level), CorrectiveAction>();
        var actions = new Queue<CorrectiveAction>(Actions);
        var latest = Latest.ToDictionary(one => one.Last);
        for (var at = 0; at <= Runs.Count; at++)
        {
            while (actions.TryPeek(out var action) && action.AfterRuns <= at)
            {
                actions.Dequeue();
                foreach (var (bench, levels) in rejected)
                    foreach (var level in levels.Union(Enumerable.Range(1, policy.Levels)))
                        toRepeat[(bench, level)] = action;
                rejected.Clear();
            }

            if (!latest.TryGetValue(at, out var judged))
                continue;
            var run = judged.Run;
            var place = (run.Bench, run.Control.Level);
            if (run.Verdict == ControlVerdict.Rejected)
            {
                rejected.TryAdd(run.Bench, []);
                rejected[run.Bench].Add(run.Control.Level);
            }
            else if (run.Verdict == ControlVerdict.Accepted && toRepeat.TryGetValue(place, out var after)
                && judged.First >= after.AfterRuns && run.At >= after.At)
            {
                toRepeat.Remove(place);
            }
        }

        if (rejected.Count > 0)
            return (true, []);
        return toRepeat.Count > 0
            ? (false, toRepeat.Keys.GroupBy(one => one.Bench, one => one.Level)
                .ToDictionary(bench => bench.Key, bench => new SortedSet<int>(bench)))
            : null;
    }

    /// <summary>Each control with where among <see cref="Runs"/> it stands first and last.</summary>
    private IEnumerable<Place> Latest => Runs.Select((run, at) => (run, at)).GroupBy(one => one.run.Request)
        .Select(of => new Place(of.First().at, of.Last().at, of.Last().run));

    private sealed record Place(int First, int Last, ControlRun Run);
}
