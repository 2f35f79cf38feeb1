using NodaTime;

namespace Incubation.Model.Controls;

/// <content>How a control is judged beside those before it.</content>
public sealed partial record LotHistory
{
    /// <summary>
    /// A control judged by the rules, with those of its lot on its bench before it. One that was judged before takes
    /// its old place among them.
    /// </summary>
    /// <remarks>
    /// A kit lot carries a calibration of its own, and so has a bench's reader: values of another lot or bench are not
    /// compared. After a corrective action the rules begin anew (common practice, from memory): what was put right is
    /// not held against what comes after.
    /// </remarks>
    /// <param name="run">The control; its run number, revision, violations and verdict are worked out here.</param>
    /// <param name="rules">Which rules are on.</param>
    public ControlRun Judged(ControlRun run, ControlRules rules)
    {
        ArgumentNullException.ThrowIfNull(run);
        var latest = Latest.ToList();
        var before = latest.Find(one => one.Run.Request == run.Request);
        var place = before?.First ?? Runs.Count;
        var begin = Actions.LastOrDefault(action => action.AfterRuns <= place)?.AfterRuns ?? 0;
        var earlier = latest.Where(one => one.First < place && one.Run.Bench == run.Bench).ToList();
        var sinceAction = earlier.Where(one => one.First >= begin).Select(one => one.Run).ToList();
        var numbered = run with
        {
            Run = before?.Run.Run ?? RunOf(run, earlier.LastOrDefault()?.Run, sinceAction),
            Revision = RevisionOf(run.Request),
        };
        if (run.Target is null || run.Shown.Length == 0)
            return numbered with { Violations = [], Verdict = ControlVerdict.NotJudged };
        if (numbered.Point is not { } point)
            return numbered with
            {
                Violations = [],
                Verdict = IsBeyondRange(run.Shown) ? ControlVerdict.Rejected : ControlVerdict.NotJudged,
            };
        var violations = ControlJudging.Violations(rules,
            [.. sinceAction.Where(other => other.Verdict != ControlVerdict.SetAside)
                .Select(other => other.Point).OfType<ControlPoint>()], point);
        return numbered with
        {
            Violations = violations,
            Verdict = violations.Any(violation => ControlRules.Rejects(violation.Rule))
                ? ControlVerdict.Rejected : ControlVerdict.Accepted,
        };
    }

    /// <summary>A judgement set aside: the control's result waits for a person.</summary>
    /// <param name="standing">How it was judged last.</param>
    /// <param name="at">When it is set aside.</param>
    /// <param name="cause">Why.</param>
    public ControlRun SetAside(ControlRun standing, Instant at, JudgementCause cause)
    {
        ArgumentNullException.ThrowIfNull(standing);
        return standing with
        {
            JudgedAt = at,
            Violations = [],
            Verdict = ControlVerdict.SetAside,
            Revision = RevisionOf(standing.Request),
            Cause = cause,
        };
    }

    /// <summary>How often a control was judged, or its judgement set aside.</summary>
    public int RevisionOf(RequestId request) => Runs.Count(run => run.Request == request);

    /// <summary>The controls of one batch belong to one run until a material comes again.</summary>
    private static int RunOf(ControlRun run, ControlRun? last, List<ControlRun> sinceAction)
    {
        if (last is null)
            return 1;
        var together = sinceAction.Where(other => other.Run == last.Run).ToList();
        return together.Count > 0 && last.Batch == run.Batch && !together.Exists(other => other.Control == run.Control)
            ? last.Run : last.Run + 1;
    }

    /// <summary>Whether the reader says that the value lies below or above what it can measure.</summary>
    private static bool IsBeyondRange(string shown) => shown[0] is '<' or '>';
}
