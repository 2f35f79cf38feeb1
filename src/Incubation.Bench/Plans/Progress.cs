using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Which offered steps have begun. A begin is never reported: a step counts as begun from when it may begin.
/// </summary>
internal static class Progress
{
    /// <summary>What ends in time needs so long to be told and heard.</summary>
    public static readonly Duration TimeToTell = Duration.FromSeconds(1);

    /// <summary>
    /// When a row of the adopted plan counts as begun: the latest of its planned start, the same hands' previous
    /// report, their return after silence, and the batch's start. A plan made while the batch was prepared may have its
    /// starts long before that.
    /// </summary>
    public static Instant BegunAt(BenchState state, RemainingStep row) =>
        BegunAt(state, row, row.Step.Hands is { } hands ? state.ReturnedAt(hands) : null);

    private static Instant BegunAt(BenchState state, RemainingStep row, Instant? back)
    {
        var begun = Instant.Max(row.Step.Start, state.StartedAt ?? row.Step.Start);
        if (row.Step.Hands is not { } hands)
            return begun;
        if (state.LastReportOf(hands) is { } last)
            begun = Instant.Max(begun, last);
        if (back is { } returned)
            begun = Instant.Max(begun, returned);
        // A slot is free when other hands begin to move out what is in it.
        if (LeavingBefore(state, row) is { } leaving)
            begun = Instant.Max(begun, BegunAt(state, leaving));
        // Hands that are away begin nothing before they are back.
        return BenchResources.Out(state, new BenchResource.Hands(hands), begun) is { } away ? away.To : begun;
    }

    /// <summary>
    /// The row by which other hands move out of a slot what a load's row finds in it; null where that is another's.
    /// </summary>
    private static RemainingStep? LeavingBefore(BenchState state, RemainingStep row) =>
        row.Step.Action is StepAction.Load { Place: CartridgePlace.InSlot into } load
            && state.InSlot(into.Slot) is { } inside && inside.Id != load.Request
            && state.Adopted?.MoveOf(inside.Id) is { } leaving && leaving.Step.Hands != row.Step.Hands
            && leaving.Step.Start <= row.Step.Start ? leaving : null;

    /// <summary>
    /// The earliest at which a row that is reported as done at an instant can have been begun. Hands that were not
    /// heard of were offered one step after the other, so they may have begun it at any time since. What was done
    /// before they were heard of again was not begun at their return.
    /// </summary>
    public static Instant CanHaveBegunAt(BenchState state, RemainingStep row, Instant at)
    {
        if (row.Step.Hands is not { } hands)
            return BegunAt(state, row);
        if (state.SilentSince(hands) is { } silent)
            return Instant.Min(silent, BegunAt(state, row));
        return at < state.ReturnedAt(hands) ? BegunAt(state, row, null) : BegunAt(state, row);
    }

    /// <summary>
    /// Until when a step that has begun has its allowed time; hands that hold a move until its window opens are not
    /// late.
    /// </summary>
    public static Instant AllowedUntil(BenchState state, RemainingStep row)
    {
        var allowed = BegunAt(state, row) + Allowed(state, row.Step.Action);
        return row.Step.Action is StepAction.Move move && state.Find(move.Request) is { } cartridge
            && state.WindowOf(cartridge) is { } window ? Instant.Max(allowed, window.Opens) : allowed;
    }

    /// <summary>
    /// The steps in progress at an instant: for each pair of hands its next row, where that may have begun.
    /// </summary>
    public static IEnumerable<StepInProgress> At(BenchState state, Instant now)
    {
        if (state is not { Phase: BatchPhase.Running, Adopted: { } adopted })
            yield break;
        foreach (var hands in state.Hands)
        {
            if (adopted.NextOf(hands) is { } row && HasBegun(state, row, now))
                yield return new StepInProgress(row.Step.Action, hands, PlannedBegin(state, row));
        }
    }

    /// <summary>
    /// The begin of a step in progress as plans have it. A cartridge that is being moved is not given up while its
    /// window is open: a move that began late is planned to end by the window's close.
    /// </summary>
    private static Instant PlannedBegin(BenchState state, RemainingStep row) =>
        row.Step.Action is StepAction.Move move && state.Find(move.Request) is { } cartridge
            && state.WindowOf(cartridge) is { } window
            ? Instant.Min(BegunAt(state, row), window.Closes - cartridge.Wanted.Assay.Move)
            : BegunAt(state, row);

    /// <summary>
    /// Whether a row has begun: its time has come, its hands have been heard of, it could be begun in time, and nothing
    /// that it needs is still missing.
    /// </summary>
    public static bool HasBegun(BenchState state, RemainingStep row, Instant now) =>
        !IsOfSilentHands(state, row) && BegunAt(state, row) is var begun && begun <= now
            && IsPossible(state, row.Step.Action, begun, now) && !IsOutOfUse(state, row.Step.Action, begun);

    private static bool IsOfSilentHands(BenchState state, RemainingStep row) =>
        row.Step.Hands is { } hands && state.SilentSince(hands) is not null;

    /// <summary>Allowed length of a step on this bench.</summary>
    public static Duration Allowed(BenchState state, StepAction action) => action switch
    {
        StepAction.CardChange => state.Setup.CardChange,
        _ when action.Subject is { } request && state.Find(request) is { } cartridge =>
            AllowedOf(cartridge.Wanted.Assay, action),
        _ => Duration.Zero,
    };

    private static Duration AllowedOf(Assay assay, StepAction action) => action switch
    {
        StepAction.Mix => assay.Mix,
        StepAction.Load => assay.Load,
        StepAction.Move => assay.Move,
        StepAction.Read => assay.Read,
        _ => assay.Clear,
    };

    /// <summary>
    /// Whether a step can begin at an instant. One that could begin at its last instant, when the step before it ended,
    /// still can for as long as that needs to be told and heard.
    /// </summary>
    public static bool CanBegin(BenchState state, StepAction action, Instant now) => !IsOutOfUse(state, action, now)
        && (IsPossible(state, action, now, now) || (state.Adopted?.RowOf(action) is { Step.Hands: not null } row
            && BegunAt(state, row) is var begun && begun <= now && now <= begun + TimeToTell
            && IsPossible(state, action, begun, now)));

    /// <summary>Whether the slot or reader into which a step puts something is out of use at an instant.</summary>
    private static bool IsOutOfUse(BenchState state, StepAction action, Instant at) => action switch
    {
        StepAction.Load { Place: CartridgePlace.InSlot place } =>
            BenchResources.Out(state, new BenchResource.Slot(place.Slot), at) is not null,
        StepAction.Load or StepAction.Move or StepAction.CardChange when action.NeedsReader is { } reader =>
            BenchResources.Out(state, new BenchResource.Reader(reader), at) is not null,
        _ => false,
    };

    /// <summary>Whether nothing hinders a step that is begun at an instant and goes on now.</summary>
    private static bool IsPossible(BenchState state, StepAction action, Instant begun, Instant now)
    {
        if (action.Subject is { } of && UnknownSteps.Of(state, of) is not null)
            return false;
        if (action is StepAction.CardChange change)
            return state.InReader(change.Reader) is null && !state.IsInDoubt(change.Reader)
                && state.CardIn(change.Reader) != change.Lot
                && !IsBeingFilled(state, action, now)
                && UnknownSteps.At(state, new CartridgePlace.InReader(change.Reader)) is null;
        if (action.Subject is not { } request || state.Find(request) is not { } cartridge)
            return false;
        return action switch
        {
            StepAction.Mix => cartridge is { Stage: CartridgeStage.Waiting, HeldBack: false }
                && cartridge.Wanted.Request.Ready <= now
                && !LotGates.KeepsBack(state, cartridge)
                && !UnknownSteps.IsIntoAnUnknownPlace(state, action)
                && cartridge.Wanted.Request.After.All(id => state.Find(id) is not { IsOver: false }),
            StepAction.Load load => IsInTime(state, action, begun)
                && BenchResources.MustGo(state, cartridge, now) is null
                && IsFree(state, load.Place, cartridge, now)
                && !IsBeingFilled(state, action, now),
            // A move that is begun once the window has closed does not count; the cartridge is discarded, or somebody
            // states that the read started in time.
            StepAction.Move move => IsInTime(state, action, begun)
                && BenchResources.MustGo(state, cartridge, now) is null
                && IsReaderFreeFor(state, move.Reader, cartridge)
                && !IsBeingFilled(state, action, now),
            // It may be in another reader than planned; then this is no step that anybody does.
            StepAction.Clear clear => cartridge.Phase?.FindReader() == clear.Reader
                && ReadOver(cartridge) is { } over && over <= now,
            // A cartridge that may still be saved is not treated as discarded until somebody reports the discard.
            StepAction.Discard => cartridge.Stage is CartridgeStage.InWork && !MayBeSaved(state, cartridge, now),
            _ => false,
        };
    }

    /// <summary>Whether a cartridge's time has not run out yet, so that a plan may still be found for it.</summary>
    private static bool MayBeSaved(BenchState state, Cartridge cartridge, Instant now) =>
        BenchResources.MustGo(state, cartridge, now) is null && now <= SavableUntil(state, cartridge);

    /// <summary>
    /// When a mixture is too old to be loaded, or a read window closes; null for any other cartridge.
    /// </summary>
    public static Instant? SavableUntil(BenchState state, Cartridge cartridge) =>
        cartridge.Phase is CartridgePhase.Mixed mixed
            ? mixed.MixEnd.Earliest + cartridge.Wanted.Assay.MixToLoad : state.WindowOf(cartridge)?.Closes;

    /// <summary>
    /// When a mixture is surely too old, however late it was mixed where that is asked, or a read window closes.
    /// </summary>
    public static Instant? PastSaving(BenchState state, Cartridge cartridge) =>
        cartridge.Phase is CartridgePhase.Mixed mixed && Questions.AsksWhenMixed(state, cartridge)
            ? mixed.MixEnd.Latest + cartridge.Wanted.Assay.MixToLoad : SavableUntil(state, cartridge);

    /// <summary>
    /// Until when a mixture that is not being loaded by what was reported is not too old to have been: its load may
    /// begin at the last instant, at which the step before it ends, and nothing can say so before that end was told.
    /// </summary>
    public static Instant LoadUnheardUntil(BenchState state, Cartridge cartridge, CartridgePhase.Mixed mixed)
    {
        var loadBefore = mixed.MixEnd.Earliest + cartridge.Wanted.Assay.MixToLoad;
        if (state is not { Phase: BatchPhase.Running, Adopted: { } adopted }
            || adopted.Remaining.FirstOrDefault(row => IsLoadOf(row, cartridge)) is not { Step.Hands: { } hands } load)
            return loadBefore;
        var first = adopted.Remaining.Where(row => row.Step.Hands == hands).Take(2).ToList();
        return first.Count == 2 && first[1] == load && AllowedUntil(state, first[0]) is var end && end <= loadBefore
            ? Instant.Max(loadBefore, end + TimeToTell) : loadBefore;
    }

    private static bool IsLoadOf(RemainingStep row, Cartridge cartridge) =>
        row.Step.Action is StepAction.Load load && load.Request == cartridge.Id;

    /// <summary>When a cartridge's read is over by the assay's time; null while it is not in a reader.</summary>
    public static Instant? ReadOver(Cartridge cartridge) => cartridge.Phase switch
    {
        CartridgePhase.Reading reading => reading.Start + cartridge.Wanted.Assay.Read,
        CartridgePhase.Reacting { Place: CartridgePlace.InReader } inside =>
            inside.LoadEnd.Latest + cartridge.Wanted.Assay.Incubation + cartridge.Wanted.Assay.Read,
        CartridgePhase.Read => Instant.MinValue,
        _ => null,
    };

    /// <summary>
    /// The cartridge believed to stay in a slot at an instant, or null. A cartridge whose move out has begun does not
    /// count, since nobody reports a move before the read is started: other hands may load the slot meanwhile.
    /// </summary>
    public static Cartridge? Staying(BenchState state, SlotNumber slot, Instant now) =>
        state.Cartridges.FirstOrDefault(cartridge =>
        cartridge.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot at } && at.Slot == slot
            && !IsBeingMoved(state, cartridge.Id, now));

    public static bool IsBeingMoved(BenchState state, RequestId request, Instant now) =>
        MovingSince(state, request, now) is not null;

    /// <summary>Since when a cartridge is being moved to a reader, or null where it is not.</summary>
    public static Instant? MovingSince(BenchState state, RequestId request, Instant now) =>
        state.Adopted?.MoveOf(request) is { Step.Hands: { } hands } row
        && state.Adopted.NextOf(hands) == row
        && HasBegun(state, row, now)
            ? BegunAt(state, row)
            : null;

    /// <summary>
    /// Whether other hands have begun earlier to put a cartridge into the same place, or to change the same reader's
    /// card, and have not reported it yet. The place is theirs until they report, or until the step is not known.
    /// </summary>
    private static bool IsBeingFilled(BenchState state, StepAction action, Instant now)
    {
        if (state.Adopted is not { } adopted || adopted.RowOf(action) is not { } mine)
            return false;
        var begun = BegunAt(state, mine);
        return state.Hands
            .Select(adopted.NextOf)
            .OfType<RemainingStep>()
            .Any(other => other.Step.Hands != mine.Step.Hands && !IsOfSilentHands(state, other)
                && PlaceOf(other.Step.Action) == PlaceOf(action)
                && BegunAt(state, other) is var earlier && earlier <= now
                && other.Step.Action switch
                {
                    StepAction.Load or StepAction.Move => earlier < begun
                        && IsInTime(state, other.Step.Action, earlier),
                    // Of two that begin at once, one is believed.
                    StepAction.CardChange => action is StepAction.CardChange && (earlier < begun
                        || (earlier == begun && other.Step.Hands!.Value.Value < mine.Step.Hands!.Value.Value)),
                    _ => false,
                });
    }

    /// <summary>The slot or reader at which a step is done.</summary>
    private static CartridgePlace? PlaceOf(StepAction action) =>
        (action as StepAction.Load)?.Place
            ?? (action.NeedsReader is { } reader ? new CartridgePlace.InReader(reader) : null);

    /// <summary>
    /// Whether a load or a move that began at an instant can be in progress: its cartridge has reached the phase before
    /// that step, and was not too old for it.
    /// </summary>
    private static bool IsInTime(BenchState state, StepAction action, Instant begun) => action.Subject is { } request
        && state.Find(request) is { } cartridge && action switch
        {
            StepAction.Load => cartridge.Phase is CartridgePhase.Mixed mixed
                && begun <= mixed.MixEnd.Earliest + cartridge.Wanted.Assay.MixToLoad,
            _ => state.WindowOf(cartridge) is { } window && begun <= window.Closes,
        };

    private static bool IsFree(BenchState state, CartridgePlace place, Cartridge forWhich, Instant now) => place switch
    {
        CartridgePlace.InSlot at => Staying(state, at.Slot, now) is null && UnknownSteps.At(state, place) is null
            && !IsLateOut(state, at.Slot, now),
        CartridgePlace.InReader inside => IsReaderFreeFor(state, inside.Reader, forWhich),
        _ => false,
    };

    /// <summary>
    /// Whether a slot's cartridge should have been moved by now, as its window has closed: nobody loads on the belief
    /// that it is gone.
    /// </summary>
    private static bool IsLateOut(BenchState state, SlotNumber slot, Instant now) =>
        state.InSlot(slot) is { } inside && state.WindowOf(inside) is { } window && window.Closes < now;

    private static bool IsReaderFreeFor(BenchState state, ReaderNumber reader, Cartridge cartridge) =>
        state.InReader(reader) is null
        && !state.IsInDoubt(reader)
        && UnknownSteps.At(state, new CartridgePlace.InReader(reader)) is null
        && state.CardIn(reader) == cartridge.Wanted.Request.Lot;
}
