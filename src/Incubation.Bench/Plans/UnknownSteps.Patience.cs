using System.Collections.Concurrent;
using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>For how long hands are believed to be at a step.</summary>
internal static partial class UnknownSteps
{
    /// <summary>
    /// What is at stake by a row is a matter of the state alone, and is asked for at each look: kept as long as the
    /// state is.
    /// </summary>
    private static readonly ConditionalWeakTable<BenchState, ConcurrentDictionary<RemainingStep, Stake>> AtStake = [];

    /// <summary>What is at stake by a row in progress.</summary>
    /// <param name="KnownBy">By when it must be known whether anybody is at it; null where nothing is at stake.</param>
    /// <param name="Costs">Whether another cartridge is lost by saying then that it is not known.</param>
    private sealed record Stake(Instant? KnownBy, Lazy<bool> Costs);

    /// <summary>Whoever looks at what is asked and begins what it says needs so long.</summary>
    public static readonly Duration TimeToBegin = Duration.FromSeconds(10);

    /// <summary>
    /// When patience with a step in progress ends, or null where it has not begun: no sooner than its allowed time and
    /// what it needs to be told, and before its patience is over where a cartridge would be lost by waiting for that;
    /// but where saying so would itself lose one, for whoever begins by the latest start loses none.
    /// </summary>
    public static Instant? PatienceEnds(BenchState state, RemainingStep row, StepPatience patience, Instant now)
    {
        if (row.Step.Hands is null
            || !Progress.HasBegun(state, row, Instant.Max(now, Progress.BegunAt(state, row))))
            return null;
        var waits = Progress.AllowedUntil(state, row) + patience.With(row.Step.Action);
        var stake = AtStake.GetOrCreateValue(state).GetOrAdd(row, (one, of) => StakeOf(of, one), state);
        if (stake.KnownBy is not { } by || by >= waits)
            return waits;
        if (!stake.Costs.Value)
            return by;
        return row.Spare is { } spare ? Instant.Max(waits,
            row.Step.Start + spare + Progress.Allowed(state, row.Step.Action) + Progress.TimeToTell) : waits;
    }

    private static Stake StakeOf(BenchState state, RemainingStep row)
    {
        var allowed = Progress.AllowedUntil(state, row);
        // What ended just in time is still to be heard.
        Instant? by = BenchViews.Earliest([LastMoment(state, row, allowed), LeftAlone(state, row, allowed)]) is { } last
            ? Instant.Max(allowed + Progress.TimeToTell, last) : null;
        return new Stake(by, new Lazy<bool>(() => by is { } at && Costs(state, row, allowed, at)));
    }

    /// <summary>
    /// Whether the places that a step not known keeps from then on cost a cartridge that is saved as long as somebody
    /// is at it. Where the step only empties a place, not what waiting costs as well if nobody is: others who are there
    /// are asked at once, and their answer frees the place.
    /// </summary>
    private static bool Costs(BenchState state, RemainingStep row, Instant allowed, Instant at)
    {
        var noted = Noted(state, new BenchEvent.StepNotKnown(
            row.Step.Hands!.Value, row.Step.Action, Progress.BegunAt(state, row), at));
        ImmutableArray<RequestId> givenUp = [.. state.Run.GivenUp.Select(lost => lost.Request)];
        var lost = LastMoments.Of(BenchProblem.Of(noted, at, notBegun: []), givenUp).Cartridges
            .Where(one => !one.IsSaved).ToList();
        if (lost.Count == 0)
            return false;
        if (row.Step.Action is StepAction.Clear or StepAction.Discard
            && IsSomebodyElseThere(state, row.Step.Hands!.Value, at))
        {
            var waiting = IfLeft(state, row, allowed);
            lost.RemoveAll(one => waiting.For(one.Request) is { IsSaved: true, BeginBy: { } by }
                && by - TimeToNoticeLeft(state, row) <= at);
        }

        var before = LastMoments.Of(BenchProblem.Of(state, at, notBegun: []), givenUp);
        return lost.Any(one => before.For(one.Request) is not { IsSaved: false });
    }

    /// <summary>
    /// When, after the allowed time of a row, other hands come to a mix or a load by which a cartridge is lost if
    /// nobody is at the row; null where they do not.
    /// </summary>
    private static Instant? LeftAlone(BenchState state, RemainingStep row, Instant allowed)
    {
        var hands = row.Step.Hands!.Value;
        if (state.Run.Trouble is { Works: false } || !IsSomebodyElseThere(state, hands, allowed))
            return null;
        var (gone, begun) = (Left(state, row), Progress.BegunAt(state, row));
        foreach (var other in InProgress(state).Where(other => other.Step.Action is StepAction.Mix or StepAction.Load)
            .OrderBy(other => Progress.BegunAt(state, other)))
        {
            var at = Progress.BegunAt(state, other);
            if (other.Step.Hands == hands || at < allowed || !Progress.HasBegun(state, other, at))
                continue;
            // Perhaps it was mixed: then it must be loaded before those hands are free again.
            if (LastMomentToLoad(state, row) is { } load
                && IsBetween(load, at, Progress.Allowed(state, other.Step.Action)))
                return at;
            if (CostsIfGone(gone, other, at) || (row.Step.Action is StepAction.Mix
                && CostsIfGone(Mixed(gone, row, begun, at), other, at)))
                return at;
        }

        return null;
    }

    /// <summary>
    /// Whether a mix or a load that is begun at an instant loses what is saved while it waits, or what it mixes itself,
    /// if other hands are away.
    /// </summary>
    private static bool CostsIfGone(BenchState gone, RemainingStep row, Instant at)
    {
        var waiting = LastMoments.Of(BenchProblem.Of(gone, at, notBegun: [row]));
        var begun = LastMoments.Of(BenchProblem.Of(gone, at, notBegun: []));
        return (row.Step.Action is StepAction.Mix mix && begun.For(mix.Request) is { IsSaved: false })
            || waiting.Cartridges.Any(one => one.IsSaved && begun.For(one.Request) is { IsSaved: false });
    }

    /// <summary>The bench if a mix was done that nobody has told, as quickly as can be.</summary>
    private static BenchState Mixed(BenchState state, RemainingStep row, Instant begun, Instant at)
    {
        var mix = (StepAction.Mix)row.Step.Action;
        return BatchChanges.With(state, mix.Request, cartridge => cartridge.Stage is not CartridgeStage.Waiting
            ? cartridge : cartridge with
            {
                Stage = new CartridgeStage.InWork(new CartridgePhase.Mixed(new InstantRange(
                    Instant.Min(begun + cartridge.Wanted.Assay.MixShortest, at), at))),
            });
    }

    /// <summary>
    /// Whether a mix or a load that is begun at an instant costs a cartridge if nobody is at a step of other hands.
    /// </summary>
    public static bool CostsIfLeft(BenchState state, RemainingStep left, RemainingStep row, Instant at) =>
        CostsIfGone(Left(state, left), row, at);

    /// <summary>
    /// The bench if nobody is at a step: its hands are away since its begin, and are not at what comes after it.
    /// </summary>
    private static BenchState Left(BenchState state, RemainingStep row) =>
        PlanChanges.WithoutFirstRow(state, row.Step.Action).InCheckpoint(bench => bench with
        {
            OutOfUse = bench.OutOfUse.Add(Absence(row.Step.Hands!.Value, Progress.BegunAt(state, row))),
        });

    private static CalendarEntry Absence(HandsNumber hands, Instant at) =>
        new(new BenchResource.Hands(hands), at, at + BenchResources.OpenEndedEntryLength, null);

    /// <summary>
    /// By when it must be known that nobody is at a step, or a cartridge is lost: in time for whoever looks to begin
    /// what saves it; and, where that is another one, before somebody who left the step and comes back begins it anew,
    /// as the screen still says. Null where nothing is at stake.
    /// </summary>
    private static Instant? LastMoment(BenchState state, RemainingStep row, Instant allowed) => BenchViews.Earliest(
        [
            LastMomentOfOthers(state, row, allowed) - TimeToNoticeLeft(state, row),
            LastMomentToLoad(state, row) - TimeToBegin,
        ]);

    /// <summary>Until when what was perhaps mixed by a row, as quickly as can be, must be loaded.</summary>
    private static Instant? LastMomentToLoad(BenchState state, RemainingStep row) =>
        LastMomentToLoad(state, row.Step.Action, Progress.BegunAt(state, row));

    /// <summary>
    /// Until when what was perhaps mixed by a step, as quickly as can be, must be loaded; null where it is no mix.
    /// </summary>
    public static Instant? LastMomentToLoad(BenchState state, StepAction action, Instant begun) =>
        action is StepAction.Mix mix && state.Find(mix.Request)?.Wanted.Assay is { } assay
            ? begun + assay.MixShortest + assay.MixToLoad : null;

    /// <summary>Whether hands that are at something from one instant on let another pass by.</summary>
    public static bool IsBetween(Instant passes, Instant from, Duration length) =>
        from <= passes && passes < from + length;

    /// <summary>
    /// Until when hands may stay idle before a cartridge is lost, if they are at nothing by the end of the allowed time
    /// of a step and have not begun it.
    /// </summary>
    private static Instant? LastMomentOfOthers(BenchState state, RemainingStep row, Instant allowed)
    {
        if (state.Run.Trouble is { Works: false }
            || !state.Cartridges.Any(cartridge => cartridge.Stage is CartridgeStage.InWork))
            return null;
        var moments = IfLeft(state, row, allowed);
        return moments.NeedsGuard ? allowed : moments.BeginBy;
    }

    /// <summary>The last useful moments if nobody is at a step by the end of its allowed time.</summary>
    private static LastMoments IfLeft(BenchState state, RemainingStep row, Instant allowed) => LastMoments.Of(
        BenchProblem.Of(PlanChanges.WithoutFirstRow(state, row.Step.Action), allowed),
        [.. state.Run.GivenUp.Select(lost => lost.Request)]);

    /// <summary>
    /// Whoever looks begins within so long; and before that somebody who left the step may have begun it anew.
    /// </summary>
    private static Duration TimeToNoticeLeft(BenchState state, RemainingStep row) =>
        Duration.Max(TimeToBegin, Progress.Allowed(state, row.Step.Action));

    /// <summary>The next instant at which patience with a step ends, or null.</summary>
    public static Instant? NextAt(BenchState state, StepPatience patience, Instant now) =>
        BenchViews.Earliest(InProgress(state).Select(row => PatienceEnds(state, row, patience, now)));

    /// <summary>The steps with which patience has ended at an instant.</summary>
    public static ImmutableArray<RemainingStep> Due(BenchState state, StepPatience patience, Instant now) =>
    [
        .. InProgress(state).Where(row => Progress.HasBegun(state, row, now)
            && PatienceEnds(state, row, patience, now) <= now),
    ];
}
