using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Which offered steps have begun. Nobody taps a begin: a step counts as begun from when it may begin.</summary>
internal static class Progress
{
    /// <summary>
    /// When a row of the adopted plan counts as begun: the latest of its planned start, the same hands' previous report and
    /// the batch's start. A plan made while the batch was prepared may have its starts long before that.
    /// </summary>
    public static Instant BegunAt(BenchState state, RemainingStep row)
    {
        var begun = Instant.Max(row.Step.Start, state.StartedAt ?? row.Step.Start);
        return row.Step.Hands is { } hands && state.LastReport.TryGetValue(hands.Value, out var last)
            ? Instant.Max(begun, last)
            : begun;
    }

    /// <summary>The steps in progress at an instant: for each pair of hands its next row, where that may have begun.</summary>
    public static IEnumerable<StepInProgress> At(BenchState state, Instant now)
    {
        if (state is not { Phase: BatchPhase.Running, Adopted: { } adopted })
            yield break;
        for (var number = 1; number <= state.Setup.Hands; number++)
        {
            var hands = new HandsNumber(number);
            if (adopted.NextOf(hands) is { } row && HasBegun(state, row, now))
                yield return new StepInProgress(row.Step.Action, hands, BegunAt(state, row));
        }
    }

    /// <summary>Whether a row has begun: its time has come, and nothing that it needs is still missing.</summary>
    public static bool HasBegun(BenchState state, RemainingStep row, Instant now) =>
        BegunAt(state, row) <= now && CanBegin(state, row.Step.Action, now);

    /// <summary>Allowed length of a step on this bench.</summary>
    public static Duration Allowed(BenchState state, StepAction action) => action switch
    {
        StepAction.CardChange => state.Setup.CardChange,
        _ when action.Subject is { } request && state.Find(request) is { } cartridge => AllowedOf(cartridge.Wanted.Assay, action),
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

    public static bool CanBegin(BenchState state, StepAction action, Instant now)
    {
        if (action is StepAction.CardChange change)
            return state.InReader(change.Reader) is null;
        if (action.Subject is not { } request || state.Find(request) is not { } cartridge)
            return false;
        return action switch
        {
            StepAction.Mix => cartridge.Stage is CartridgeStage.Waiting
                && cartridge.Wanted.Request.Ready <= now
                && cartridge.Wanted.Request.After.All(id => state.Find(id) is not { IsOver: false }),
            // A load that began in time but outlasts its allowed time by now is no longer believed.
            StepAction.Load load => cartridge.Phase is CartridgePhase.Mixed mixed
                && now <= mixed.MixEnd.Earliest + cartridge.Wanted.Assay.MixToLoad + cartridge.Wanted.Assay.Load
                && IsFree(state, load.Place, cartridge, now),
            // A move that ends after the window has closed is none: what is left is to discard, or to say that it was in time.
            StepAction.Move move => state.WindowOf(cartridge) is { } window
                && now <= window.Closes
                && IsReaderFreeFor(state, move.Reader, cartridge),
            StepAction.Clear => ReadOver(cartridge) is { } over && over <= now,
            StepAction.Discard => cartridge.Stage is CartridgeStage.InWork,
            _ => false,
        };
    }

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
    /// What is believed to stay in a slot at an instant. A slot is taken until the move out of it begins, which nobody
    /// reports before the read is started: other hands may load it meanwhile.
    /// </summary>
    public static Cartridge? Staying(BenchState state, SlotNumber slot, Instant now) => state.Cartridges.FirstOrDefault(c =>
        c.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot at } && at.Slot == slot && !IsBeingMoved(state, c.Id, now));

    public static bool IsBeingMoved(BenchState state, RequestId request, Instant now) =>
        state.Adopted?.MoveOf(request) is { Step.Hands: { } hands } row
        && state.Adopted.NextOf(hands) == row
        && HasBegun(state, row, now);

    private static bool IsFree(BenchState state, CartridgePlace place, Cartridge forWhich, Instant now) => place switch
    {
        CartridgePlace.InSlot at => Staying(state, at.Slot, now) is null,
        CartridgePlace.InReader inside => IsReaderFreeFor(state, inside.Reader, forWhich),
        _ => false,
    };

    private static bool IsReaderFreeFor(BenchState state, ReaderNumber reader, Cartridge cartridge) =>
        state.InReader(reader) is null
        && state.Cards.TryGetValue(reader.Value, out var card)
        && card == cartridge.Wanted.Request.Lot;
}
