using System.Collections.Immutable;
using Incubation.Model;
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
internal static partial class UnknownSteps
{
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
        OthersThere(state, hands, at).Any();

    /// <summary>Other hands that have been heard of and are not away.</summary>
    public static IEnumerable<HandsNumber> OthersThere(BenchState state, HandsNumber hands, Instant at) =>
        state.Hands.Where(other => other != hands && state.SilentSince(other) is null
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
