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
/// <param name="Runs">Controls as they were judged, in that order.</param>
/// <param name="Actions">Corrective actions, in their order.</param>
/// <param name="Reviews">Reviews of what was released, in their order.</param>
public sealed record LotHistory(ImmutableList<ControlRun> Runs, ImmutableList<CorrectiveAction> Actions,
    ImmutableList<ReleasedReview> Reviews)
{
    /// <summary>Nothing yet.</summary>
    public static LotHistory Empty { get; } = new([], [], []);

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
        ImmutableArray<int> missing = [.. Enumerable.Range(1, policy.Levels).Where(level => !Runs.Exists(run =>
            run.Bench == bench && run.Control.Level == level && run.Verdict == ControlVerdict.Accepted
                && run.At >= since))];
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
    /// set on their bench; or null.
    /// </summary>
    private (bool ActionMissing, Dictionary<BenchId, SortedSet<int>> ToRepeat)? Failure(ControlPolicy policy)
    {
        var rejected = new Dictionary<BenchId, SortedSet<int>>();
        var toRepeat = new Dictionary<BenchId, SortedSet<int>>();
        var actions = new Queue<CorrectiveAction>(Actions);
        for (var at = 0; at <= Runs.Count; at++)
        {
            while (actions.TryPeek(out var action) && action.AfterRuns <= at)
            {
                actions.Dequeue();
                foreach (var (bench, levels) in rejected)
                    toRepeat[bench] = [.. levels, .. Enumerable.Range(1, policy.Levels)];
                rejected.Clear();
            }

            if (at == Runs.Count)
                break;
            var run = Runs[at];
            if (run.Verdict == ControlVerdict.Rejected)
            {
                rejected.TryAdd(run.Bench, []);
                rejected[run.Bench].Add(run.Control.Level);
            }
            else if (run.Verdict == ControlVerdict.Accepted && toRepeat.TryGetValue(run.Bench, out var levels)
                && levels.Remove(run.Control.Level) && levels.Count == 0)
            {
                toRepeat.Remove(run.Bench);
            }
        }

        if (rejected.Count > 0)
            return (true, []);
        return toRepeat.Count > 0 ? (false, toRepeat) : null;
    }

    /// <summary>The rejected controls about which no corrective action is written down.</summary>
    public IReadOnlyList<ControlRun> AwaitingAction =>
        [.. Runs.Skip(Actions.LastOrDefault()?.AfterRuns ?? 0).Where(run => run.Verdict == ControlVerdict.Rejected)];

    /// <summary>
    /// Since when results that were released are to be reviewed, on each bench with a rejected control since the last
    /// review: since the last set of the lot's controls on that bench of which none was rejected, until the rejection
    /// was known.
    /// </summary>
    public IReadOnlyDictionary<BenchId, (Instant Since, Instant Until)> AwaitingReview
    {
        get
        {
            var reviewed = Reviews.LastOrDefault()?.AfterRuns ?? 0;
            var spans = new Dictionary<BenchId, (Instant, Instant)>();
            for (var at = reviewed; at < Runs.Count; at++)
            {
                var run = Runs[at];
                if (run.Verdict != ControlVerdict.Rejected)
                    continue;
                var since = spans.TryGetValue(run.Bench, out var span) ? span.Item1 : Runs.Take(at)
                    .Where(earlier => earlier.Bench == run.Bench && earlier.Run != run.Run
                        && earlier.Verdict == ControlVerdict.Accepted)
                    .Where(earlier => !Runs.Exists(other => other.Bench == run.Bench && other.Run == earlier.Run
                        && other.Verdict == ControlVerdict.Rejected))
                    .Select(earlier => earlier.At).DefaultIfEmpty(Instant.MinValue).Max();
                spans[run.Bench] = (since, run.JudgedAt);
            }

            return spans;
        }
    }

    /// <summary>A control judged by the rules, with those of its lot on its bench before it.</summary>
    /// <remarks>
    /// A kit lot carries a calibration of its own, and so has a bench's reader: values of another lot or bench are not
    /// compared. After a corrective action the rules begin anew (common practice, from memory): what was put right is
    /// not held against what comes after.
    /// </remarks>
    /// <param name="run">The control; its run number, violations and verdict are worked out here.</param>
    /// <param name="rules">Which rules are on.</param>
    public ControlRun Judged(ControlRun run, ControlRules rules)
    {
        ArgumentNullException.ThrowIfNull(run);
        var earlier = Runs.Skip(Actions.LastOrDefault()?.AfterRuns ?? 0).Where(other => other.Bench == run.Bench)
            .ToList();
        var numbered = run with { Run = RunOf(run, earlier) };
        if (run.Target is null || run.Shown.Length == 0)
            return numbered with { Violations = [], Verdict = ControlVerdict.NotJudged };
        if (numbered.Point is not { } point)
            return numbered with
            {
                Violations = [],
                Verdict = IsBeyondRange(run.Shown)
                ? ControlVerdict.Rejected : ControlVerdict.NotJudged
            };
        var violations = ControlJudging.Violations(rules,
            [.. earlier.Select(other => other.Point).OfType<ControlPoint>()], point);
        return numbered with
        {
            Violations = violations,
            Verdict = violations.Any(violation => ControlRules.Rejects(violation.Rule))
                ? ControlVerdict.Rejected : ControlVerdict.Accepted,
        };
    }

    /// <summary>The controls of one batch belong to one run until a material comes again.</summary>
    private int RunOf(ControlRun run, List<ControlRun> sinceAction)
    {
        var last = Runs.LastOrDefault(other => other.Bench == run.Bench);
        if (last is null)
            return 1;
        var together = sinceAction.Where(other => other.Run == last.Run).ToList();
        return together.Count > 0 && last.Batch == run.Batch && !together.Exists(other => other.Control == run.Control)
            ? last.Run : last.Run + 1;
    }

    /// <summary>Whether the reader says that the value lies below or above what it can measure.</summary>
    private static bool IsBeyondRange(string shown) => shown[0] is '<' or '>';
}
