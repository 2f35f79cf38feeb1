using NodaTime;

namespace Incubation.Model.Controls;

/// <content>What waits for a person: rejected controls, and what went out on a gate that was wrong.</content>
public sealed partial record LotHistory
{
    /// <summary>The rejected controls about which no corrective action is written down.</summary>
    public IReadOnlyList<ControlRun> AwaitingAction
    {
        get
        {
            var after = Actions.LastOrDefault()?.AfterRuns ?? 0;
            return [.. Latest.Where(one => one.Last >= after && one.Run.Verdict == ControlVerdict.Rejected)
                .OrderBy(one => one.Last).Select(one => one.Run)];
        }
    }

    /// <summary>
    /// Since when results that were released are to be reviewed, on each bench on which since the last review a control
    /// was rejected, or one that had been accepted is so no longer: since the last set of the lot's controls on that
    /// bench before it of which none was rejected, until that was known.
    /// </summary>
    public IReadOnlyDictionary<BenchId, ReviewSpan> AwaitingReview
    {
        get
        {
            var spans = new Dictionary<BenchId, ReviewSpan>();
            foreach (var wrong in ToReview)
            {
                var (since, batch) = GoodBefore(wrong.First, wrong.Run);
                var span = new ReviewSpan(since, wrong.Run.JudgedAt, batch, wrong.Run.Batch);
                spans[wrong.Run.Bench] = spans.TryGetValue(wrong.Run.Bench, out var other) ? span.With(other) : span;
            }

            return spans;
        }
    }

    /// <summary>
    /// The controls by which results that were released are to be reviewed, as they were judged last.
    /// </summary>
    public IReadOnlyList<ControlRun> ReviewedFor => [.. ToReview.Select(one => one.Run)];

    private IEnumerable<Place> ToReview => Latest
        .Where(one => one.Last >= (Reviews.LastOrDefault()?.AfterRuns ?? 0) && IsWrong(one.Run))
        .OrderBy(one => one.Last);

    /// <summary>Whether what went out with this control as a witness is in doubt.</summary>
    private bool IsWrong(ControlRun run) => run.Verdict == ControlVerdict.Rejected
        || (run.Verdict != ControlVerdict.Accepted
            && Runs.Exists(other => other.Request == run.Request && other.Verdict == ControlVerdict.Accepted));

    /// <summary>When the last good set of controls before one came out of the reader, and in which batch.</summary>
    private (Instant At, int Batch) GoodBefore(int place, ControlRun run)
    {
        var before = Latest.Where(one => one.First < place && one.Run.Bench == run.Bench && one.Run.Run != run.Run)
            .Select(one => one.Run).ToList();
        var bad = before.Where(other => other.Verdict == ControlVerdict.Rejected).Select(other => other.Run)
            .ToHashSet();
        var good = before.Where(other => other.Verdict == ControlVerdict.Accepted && !bad.Contains(other.Run)).ToList();
        return good.Count == 0 ? (Instant.MinValue, 0) : (good.Max(one => one.At), good.Max(one => one.Batch));
    }
}
