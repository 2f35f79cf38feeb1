using System.Collections.Concurrent;
using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>A step of which nobody knows whether it was done.</summary>
/// <param name="Hands">The hands that were at it.</param>
/// <param name="Action">What they were doing; never a read or a card change.</param>
/// <param name="Begun">When they can have begun it at the earliest.</param>
/// <param name="Since">Since when it is not known.</param>
public sealed record UnknownStep(HandsNumber Hands, StepAction Action, Instant Begun, Instant Since)
{
    /// <summary>
    /// What was planned for its cartridge when it came to be not known, the step itself included: what a screen without
    /// its server goes on with once somebody says what became of it.
    /// </summary>
    public ImmutableArray<RemainingStep> Planned { get; init; } = [];
}

/// <summary>
/// Hands that left a step not known and have not been heard of since: the steps that they are offered count as not
/// begun, however late it is.
/// </summary>
/// <param name="Hands">Which.</param>
/// <param name="Since">Since when.</param>
public sealed record SilentHands(HandsNumber Hands, Instant Since);

/// <summary>
/// Hands that were silent, or told late, and have been heard of: whatever they told was perhaps long ago, and what they
/// are offered next counts as begun no earlier than this.
/// </summary>
/// <param name="Hands">Which.</param>
/// <param name="At">When they were heard of.</param>
public sealed record ReturnedHands(HandsNumber Hands, Instant At);

/// <summary>
/// Steps that are not known: when one comes to be so, what it keeps, and what ends it. Since when is an event; nothing
/// here is derived from the time where an event is applied.
/// </summary>
internal static class UnknownSteps
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
    /// is at it. Not what waiting costs as well if nobody is: others who are there are asked at once, and their answer
    /// frees the place.
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
        if (IsSomebodyElseThere(state, row.Step.Hands!.Value, at))
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

    /// <summary>The next row of each pair of hands in a running batch.</summary>
    public static IEnumerable<RemainingStep> InProgress(BenchState state) =>
        state is { Phase: BatchPhase.Running, Adopted: { } adopted }
            ? state.Hands.Select(adopted.NextOf).OfType<RemainingStep>() : [];

    /// <summary>
    /// Records that a step is not known. Only what has begun, and has had its allowed time, can be so; the card of a
    /// reader whose card change is not known is in doubt.
    /// </summary>
    public static Decision Decide(BenchState state, BenchCommand.NoteStepNotKnown note, Instant at)
    {
        if (InProgress(state).FirstOrDefault(row => row.Step.Hands == note.Hands && row.Step.Action == note.Action)
            is not { } row || !Progress.HasBegun(state, row, at) || Progress.AllowedUntil(state, row) > at)
            return Decisions.Refuse(Refusal.NoSuchThing, note.Hands.ToString());
        var notKnown = new BenchEvent.StepNotKnown(note.Hands, note.Action, Progress.BegunAt(state, row), at);
        var events = ImmutableArray.Create<BenchEvent>(notKnown);
        if (note.Action is StepAction.CardChange change)
            events = events.Add(new BenchEvent.CardDoubted(change.Reader, CardDoubtCause.StepNotKnown));
        return Decisions.Accept(events);
    }

    /// <summary>
    /// What was decided, with which silent hands count as away from then on: those that others are there for, who have
    /// been heard of or have come back. Where the last of these goes away, the silent ones count as there again.
    /// </summary>
    public static ImmutableArray<BenchEvent> WithAbsences(BenchState state, BenchCommand command,
        ImmutableArray<BenchEvent> decided, Provenance by)
    {
        if (state.Run.Silent.IsEmpty && !decided.Any(one => one is BenchEvent.StepNotKnown))
            return decided;
        var next = After(state, decided, by);
        // A card seen and an answer name no hands; whoever says so is there, and nobody else is.
        if (command is BenchCommand.CardSeen or BenchCommand.AnswerQuestion && OnlySilent(next) is { } there
            && !IsSomebodyElseThere(next, there, by.Arrived))
        {
            decided = decided.Add(new BenchEvent.PutBackInUse(new BenchResource.Hands(there)));
            next = After(state, decided, by);
        }

        // The last who was there goes away: of the others nobody knows better any more than that they are free.
        if (decided.Any(one => one is BenchEvent.PutOutOfUse { Entry.Resource: BenchResource.Hands }
                or BenchEvent.HandsChanged)
            && next.Run.Silent.All(silent => !IsSomebodyElseThere(next, silent.Hands, by.Arrived)))
            return
            [
                .. decided,
                .. next.Run.Silent.Where(silent => AreTakenAsAway(next, silent.Hands))
                    .Select(silent => new BenchEvent.PutBackInUse(new BenchResource.Hands(silent.Hands))),
            ];
        return
        [
            .. decided,
            .. next.Run.Silent.Select(silent => silent.Hands).Where(hands => !AreTakenAsAway(next, hands)
                    && IsSomebodyElseThere(next, hands, by.Arrived))
                .Select(hands => new BenchEvent.PutOutOfUse(Absence(hands, by.Arrived))),
        ];
    }

    private static BenchState After(BenchState state, ImmutableArray<BenchEvent> decided, Provenance by) =>
        decided.Aggregate(state, (at, one) => Changes.Apply(at, new BenchEntry(one, by)));

    /// <summary>
    /// The one pair of hands that is silent and not taken as away; null where there is none, or more.
    /// </summary>
    private static HandsNumber? OnlySilent(BenchState state) =>
        state.Run.Silent.Select(one => one.Hands).Where(hands => !AreTakenAsAway(state, hands)).Take(2).ToArray()
            is [var only] ? only : null;

    /// <summary>
    /// Whether other hands have been heard of: then they are given what there is to do, and those that are silent count
    /// as away until they report or say that they are back. Of the last nobody knows better than that they are free.
    /// </summary>
    private static bool IsSomebodyElseThere(BenchState state, HandsNumber hands, Instant at) =>
        state.Hands.Any(other => other != hands && state.SilentSince(other) is null
            && BenchResources.Out(state, new BenchResource.Hands(other), at) is null);

    /// <summary>The hands are free; the step leaves the adopted plan, with what was planned after it for its
    /// cartridge.</summary>
    public static BenchState Noted(BenchState state, BenchEvent.StepNotKnown happened)
    {
        var left = happened.Action.Subject is { } subject
            ? PlanChanges.WithoutRows(state, action => action.Subject == subject)
            : PlanChanges.WithoutFirstRow(state, happened.Action);
        return left.InRun(run => run with
        {
            NotKnown = happened.Action.Subject is null ? run.NotKnown
                : run.NotKnown.RemoveAll(other => other.Action.Subject == happened.Action.Subject).Add(new UnknownStep(
                    happened.Hands, happened.Action, happened.Begun, happened.Since)
                { Planned = RowsOf(state, happened.Action.Subject.Value) }),
            Silent = Without(run.Silent, happened.Hands).Add(new SilentHands(happened.Hands, happened.Since)),
        });
    }

    private static ImmutableArray<RemainingStep> RowsOf(BenchState state, RequestId request) =>
        [.. state.Adopted?.Remaining.Where(row => row.Step.Action.Subject == request) ?? []];

    /// <summary>
    /// Hands have been heard of. Hands that count as away have not been by what they did before: somebody else can have
    /// told that.
    /// </summary>
    public static BenchState Heard(BenchState state, HandsNumber hands, Instant at) =>
        state.SilentSince(hands) is not { } since || (at < since && AreTakenAsAway(state, hands))
            ? state : Back(state, hands);

    /// <summary>
    /// Hands that an entry has brought back or that told late, with those that have not reported since: until then the
    /// screen said that they were at what they told.
    /// </summary>
    public static ImmutableArray<ReturnedHands> Returned(BenchState? before, BenchState after, Instant arrived)
    {
        if (before is null || after.Phase != BatchPhase.Running)
            return [];
        var late = after.Hands.Where(hands => after.LastReportOf(hands) is { } last
            && last != before.LastReportOf(hands) && arrived - last > ReportDecisions.StatedWithin).ToList();
        if (before.Run.Silent.IsEmpty && after.Run.Returned.IsEmpty && late.Count == 0)
            return [];
        return
        [
            .. late.Where(hands => after.SilentSince(hands) is null && before.SilentSince(hands) is null)
                .Select(hands => new ReturnedHands(hands, arrived)),
            .. after.Run.Returned.Where(one => after.SilentSince(one.Hands) is null
                && before.SilentSince(one.Hands) is null && !late.Contains(one.Hands)
                && (after.LastReportOf(one.Hands) is not { } last || last < one.At)),
            .. before.Run.Silent.Where(one => after.SilentSince(one.Hands) is null)
                .Select(one => new ReturnedHands(one.Hands, arrived)),
        ];
    }

    /// <summary>Whether hands count as away because nothing was heard of them.</summary>
    public static bool AreTakenAsAway(BenchState state, HandsNumber hands) => state.SilentSince(hands) is not null
        && state.OutOfUse.Any(entry => entry.Resource == new BenchResource.Hands(hands));

    /// <summary>With the batch nobody is looked for any more.</summary>
    public static BenchState AllBack(BenchState state) =>
        state.Run.Silent.Aggregate(state, (next, silent) => Back(next, silent.Hands));

    private static BenchState Back(BenchState state, HandsNumber hands) => state
        .InRun(run => run with { Silent = Without(run.Silent, hands) })
        .InCheckpoint(bench => bench with
        {
            OutOfUse = bench.OutOfUse.RemoveAll(entry => entry.Resource == new BenchResource.Hands(hands)),
        });

    /// <summary>A step is known again: whatever else is known of its cartridge says how far it has come.</summary>
    public static BenchState Ended(BenchState state, RequestId request) => state.InRun(run => run with
    {
        NotKnown = run.NotKnown.RemoveAll(step => step.Action.Subject == request),
    });

    /// <summary>
    /// Without the steps whose cartridge has gone on: whatever told so has answered what was not known.
    /// </summary>
    public static BenchState Kept(BenchState state) => state.Run.NotKnown.IsEmpty ? state : state.InRun(run => run with
    {
        NotKnown = run.NotKnown.RemoveAll(step => !IsBefore(state.Find(step.Action.Subject!.Value), step.Action)),
    });

    /// <summary>Whether a cartridge stands where a step of it would begin.</summary>
    private static bool IsBefore(Cartridge? cartridge, StepAction action) => (action, cartridge?.Stage) switch
    {
        (StepAction.Mix, CartridgeStage.Waiting) => true,
        (StepAction.Load, CartridgeStage.InWork { Phase: CartridgePhase.Mixed }) => true,
        (StepAction.Move, CartridgeStage.InWork work) =>
            work.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot },
        (StepAction.Clear, CartridgeStage.InWork work) => work.Phase.FindReader() is not null,
        (StepAction.Discard, CartridgeStage.InWork) => true,
        _ => false,
    };

    /// <summary>The step of a request that is not known, or null.</summary>
    public static UnknownStep? Of(BenchState state, RequestId request) =>
        state.Run.NotKnown.FirstOrDefault(step => step.Action.Subject == request);

    /// <summary>The step that is not known and would fill or empty a place, or null.</summary>
    public static UnknownStep? At(BenchState state, CartridgePlace place) =>
        state.Run.NotKnown.FirstOrDefault(step => Places(state, step).Contains(place));

    /// <summary>
    /// Whether a step would put something where a step that is not known may have put something, or mixes what would go
    /// there.
    /// </summary>
    public static bool IsIntoAnUnknownPlace(BenchState state, StepAction action)
    {
        if (state.NotKnown.IsEmpty)
            return false;
        var into = action is StepAction.Mix mix
            ? state.Adopted?.Remaining.Select(row => row.Step.Action).OfType<StepAction.Load>()
                .FirstOrDefault(load => load.Request == mix.Request)?.Place
            : (action as StepAction.Load)?.Place ?? (action is StepAction.Move or StepAction.CardChange
                ? new CartridgePlace.InReader(action.NeedsReader!.Value) : null);
        return into is not null && At(state, into) is not null;
    }

    private static IEnumerable<CartridgePlace> Places(BenchState state, UnknownStep step)
    {
        if (step.Action is StepAction.Load load)
            yield return load.Place;
        else if (step.Action.NeedsReader is { } reader)
            yield return new CartridgePlace.InReader(reader);
        if (state.Find(step.Action.Subject!.Value)?.Phase?.FindPlace() is { } lies)
            yield return lies;
    }

    private static ImmutableArray<SilentHands> Without(ImmutableArray<SilentHands> silent, HandsNumber hands) =>
        silent.RemoveAll(one => one.Hands == hands);
}
