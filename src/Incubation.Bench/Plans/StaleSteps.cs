using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Steps that hands would come to by a plan that does not know the last report yet, and that would cost a cartridge
/// which can still be saved. They are not offered and do not count as begun, so that the plan made from that report is
/// free to put first what saves. None is kept back where just that, now, loses what counting it as begun would save.
/// </summary>
internal static class StaleSteps
{
    /// <summary>
    /// Nobody has begun what was offered so shortly before an answer: it came to the tablet, was read and taken in
    /// hand, and the answer has needed its way too.
    /// </summary>
    private static readonly Duration TimeToTurn = Duration.FromSeconds(2);

    /// <summary>
    /// The rows kept back at an instant: of a plan that does not know all that was reported, those that wait for what
    /// is asked, and those that wait for hands that were heard of late.
    /// </summary>
    public static ImmutableArray<RemainingStep> KeptBack(BenchState state, Instant now)
    {
        var unplanned = OfAnOldPlan(state, now);
        ImmutableArray<RemainingStep> waiting = [.. WaitingForAnswers(state, now), .. WaitingForTheLate(state, now)];
        return waiting.IsEmpty ? unplanned : [.. unplanned.Union(waiting)];
    }

    /// <summary>
    /// Mixes that wait while other hands, of which nothing was heard but what they did long ago, can be at what saves
    /// a cartridge: if nobody is, it must be done instead. They wait no longer than that has its allowed time.
    /// </summary>
    private static IEnumerable<RemainingStep> WaitingForTheLate(BenchState state, Instant now)
    {
        if (state.Run.Returned.IsEmpty)
            return [];
        var rows = UnknownSteps.InProgress(state).Where(row => Progress.HasBegun(state, row, now)).ToList();
        var late = rows.Where(row => row.Step.Action is not (StepAction.Mix or StepAction.Discard)
            && state.ReturnedAt(row.Step.Hands!.Value) is not null
            && now <= Progress.AllowedUntil(state, row) + Progress.TimeToTell).ToList();
        return rows.Where(row => row.Step.Action is StepAction.Mix && late.Any(other =>
            other.Step.Hands != row.Step.Hands
            && Progress.BegunAt(state, row) >= state.ReturnedAt(other.Step.Hands!.Value) - UnknownSteps.TimeToBegin
            && UnknownSteps.CostsIfLeft(state, other, row, Progress.BegunAt(state, row))));
    }

    /// <summary>
    /// Whether a mix or a load that is begun at an instant costs a cartridge of which a step is not known: it may be
    /// that the step was not begun, and that it can still be done in time.
    /// </summary>
    public static bool CostsWhatIsAsked(BenchState state, RemainingStep row, Instant at)
    {
        if (state.NotKnown.IsEmpty || row.Step.Action is not (StepAction.Mix or StepAction.Load))
            return false;
        // What other hands have perhaps mixed can still be loaded, and could not be after this.
        if (state.NotKnown.Any(step => step.Hands != row.Step.Hands
            && UnknownSteps.LastMomentToLoad(state, step.Action, step.Begun) is { } load
            && UnknownSteps.IsBetween(load, at, Progress.Allowed(state, row.Step.Action))))
            return true;
        var steps = state.NotKnown.Where(step => step.Action is StepAction.Load or StepAction.Move).ToList();
        if (steps.Count == 0)
            return false;
        var notBegun = steps.Aggregate(state, (one, step) => UnknownSteps.Ended(one, step.Action.Subject!.Value));
        var free = LastMoments.Of(BenchProblem.Of(notBegun, at, notBegun: [row]));
        var end = at + Progress.Allowed(state, row.Step.Action);
        return steps.Any(step => free.For(step.Action.Subject!.Value) is { IsSaved: true, BeginBy: { } by }
            && by < end);
    }

    private static ImmutableArray<RemainingStep> WaitingForAnswers(BenchState state, Instant now)
    {
        if (state.NotKnown.IsEmpty)
            return [];
        var since = state.NotKnown.Max(step => step.Since);
        return
        [
            .. UnknownSteps.InProgress(state)
                .Where(row => Progress.BegunAt(state, row) >= since && Progress.HasBegun(state, row, now)
                    && CostsWhatIsAsked(state, row, Progress.BegunAt(state, row))),
        ];
    }

    private static ImmutableArray<RemainingStep> OfAnOldPlan(BenchState state, Instant now)
    {
        if (state is not { Phase: BatchPhase.Running, HasUnplanned: true, News: { } news })
            return [];
        ImmutableArray<RemainingStep> fresh =
        [
            .. UnknownSteps.InProgress(state)
                .Where(row => IsCome(state, news, row)
                    && Progress.HasBegun(state, row, now)),
        ];
        if (fresh.IsEmpty || !state.Cartridges.Any(cartridge => cartridge.Stage is CartridgeStage.InWork))
            return [];
        // As of the last report and not of the present, so that what is kept back stays so until there is a plan.
        var at = fresh.Max(row => Progress.BegunAt(state, row));
        foreach (var hands in state.Hands)
            at = state.LastReportOf(hands) is { } last ? Instant.Max(at, last) : at;
        at = Instant.Min(at, now);
        var free = MomentsOf(state, at, fresh);
        if (!free.Cartridges.Any(one => one.IsSaved) && !fresh.Any(row => row.Step.Action is StepAction.Mix))
            return [];
        ImmutableArray<RemainingStep> costly = [.. fresh.Where(row => Costs(state, free, fresh, row, at))];
        return [.. costly.Where(row => !IsLostByWaiting(state, costly, row, now))];
    }

    /// <summary>
    /// Whether keeping a row back loses more at an instant than counting it as begun: its own latest start may be that
    /// of the report, and the report has needed time to come.
    /// </summary>
    private static bool IsLostByWaiting(BenchState state, ImmutableArray<RemainingStep> costly, RemainingStep row,
        Instant now)
    {
        var waiting = MomentsOf(state, now, costly);
        // What is discarded is lost already.
        var discarded = (row.Step.Action as StepAction.Discard)?.Request;
        return waiting.Cartridges.Any(one => !one.IsSaved && one.Request != discarded)
            && Lost(state, waiting, discarded).CompareTo(
                Lost(state, MomentsOf(state, now, costly.Remove(row)), discarded)) > 0;
    }

    /// <summary>What is lost, as plans weigh it: those with no specimen left, urgent ones, patients, all.</summary>
    private static (int NoRepeat, int Urgent, int Patients, int All) Lost(BenchState state, LastMoments moments,
        RequestId? without)
    {
        List<Request> lost = [.. moments.Cartridges.Where(one => !one.IsSaved && one.Request != without)
            .Select(one => state.Find(one.Request)?.Wanted.Request).OfType<Request>()];
        return (lost.Count(one => !one.RepeatLeft), lost.Count(one => one.Priority == Priority.Urgent),
            lost.Count(one => one.Kind == RequestKind.Patient), lost.Count);
    }

    /// <summary>
    /// Whether hands have come to a row by or since what the plan does not know yet; or so shortly before somebody
    /// answered a question that whoever reads it can hardly have begun: a mix takes no place, and may be left. What
    /// they were at before that is theirs: a plan that was looked at and kept is not adopted anew, and says nothing
    /// against it.
    /// </summary>
    private static bool IsCome(BenchState state, NewsToPlan news, RemainingStep row) =>
        Progress.BegunAt(state, row) >= (!news.IsAnswer ? news.Arrived
            : news.Arrived - (row.Step.Action is StepAction.Mix ? UnknownSteps.TimeToBegin : TimeToTurn))
        // A stated time is right within some seconds, and the hands were free at its latest.
        || (state.LastReportOf(row.Step.Hands!.Value) is { } last
            && news.At.Any(at => at <= last && last <= at + ReportDecisions.StatedWithin));

    private static bool Costs(BenchState state, LastMoments free, ImmutableArray<RemainingStep> fresh,
        RemainingStep row, Instant at)
    {
        if (new Dangers(state, free, fresh).IsKeptBack(row, at))
            return true;
        var begun = MomentsOf(state, at, fresh.Remove(row));
        // A mixture for which there will be no place in time is lost by being made.
        return (begun.NeedsGuard && !free.NeedsGuard)
            || (row.Step.Action is StepAction.Mix mix && begun.For(mix.Request) is { IsSaved: false })
            || free.Cartridges.Any(one => one.IsSaved && begun.For(one.Request) is { IsSaved: false });
    }

    private static LastMoments MomentsOf(BenchState state, Instant at, ImmutableArray<RemainingStep> notBegun) =>
        LastMoments.Of(BenchProblem.Of(state, at, notBegun: notBegun));
}

/// <summary>What was told since a plan was last adopted.</summary>
/// <param name="At">When each thing was.</param>
/// <param name="Arrived">When the host heard of the first.</param>
/// <param name="IsAnswer">Whether it answers a question, says what became of a step that was not known, or corrects
/// what was told.</param>
internal sealed record NewsToPlan(ImmutableArray<Instant> At, Instant Arrived, bool IsAnswer);
