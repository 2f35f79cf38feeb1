using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Service.Text;

/// <summary>The words of a step: what to do, with what, and what its button records.</summary>
public static class StepText
{
    /// <summary>The step's kind as screens know it.</summary>
    public static string Kind(StepAction action) => KebabCase.OfCase(action);

    /// <summary>Verb and object: "Move slot 3 to the reader".</summary>
    public static string Title(BenchState state, StepAction action) => action switch
    {
        StepAction.Mix mix => Say.Of(TextWords.TitleMix, Specimen(state, mix.Request)),
        StepAction.Load load =>
            Say.Of(TextWords.TitleLoad, Specimen(state, load.Request), PlaceName(load.Place, state.Setup)),
        StepAction.Move move =>
            Say.Of(TextWords.TitleMove, Whereabouts(state, move.Request), Say.Reader(move.Reader, state.Setup)),
        StepAction.Read read => Say.Of(TextWords.TitleRead, Specimen(state, read.Request)),
        StepAction.Clear clear => Say.Of(TextWords.TitleClear, Say.Reader(clear.Reader, state.Setup)),
        StepAction.Discard discard => Say.Of(TextWords.TitleDiscard, Whereabouts(state, discard.Request)),
        StepAction.CardChange change when state.Setup.Readers == 1 => Say.Of(TextWords.TitleCardChange, change.Lot),
        StepAction.CardChange change => Say.Of(TextWords.TitleCardChangeOf, change.Reader.Value, change.Lot),
        _ => "",
    };

    /// <summary>The same within a sentence: "move slot 3".</summary>
    public static string Act(BenchState state, StepAction action) => action switch
    {
        StepAction.Load load =>
            Say.Of(TextWords.ActLoad, Specimen(state, load.Request), PlaceName(load.Place, state.Setup)),
        StepAction.Move move => Say.Of(TextWords.ActMove, Whereabouts(state, move.Request)),
        StepAction.Clear clear => Say.Of(TextWords.ActClear, Say.Reader(clear.Reader, state.Setup)),
        StepAction.Discard discard => Say.Of(TextWords.ActDiscard, Whereabouts(state, discard.Request)),
        StepAction.CardChange change when state.Setup.Readers == 1 => Say.Of(TextWords.ActCardChange, change.Lot),
        StepAction.CardChange change => Say.Of(TextWords.ActCardChangeOf, change.Reader.Value, change.Lot),
        _ => Title(state, action),
    };

    /// <summary>
    /// What hands are to do now, with what they are to leave for it: "Leave the mix. Change the card to DB-L1". Hands
    /// that have not been heard of since a step of theirs was not known may still be at that.
    /// </summary>
    public static string Now(BenchState state, HandsNumber hands, StepAction action)
    {
        var title = Title(state, action);
        return state.SilentSince(hands) is { } since
            && state.NotKnown.LastOrDefault(step => step.Hands == hands && step.Since == since) is { } left
            ? Say.Of(Leave(left.Action), title) : title;
    }

    private static string Leave(StepAction left) => left switch
    {
        StepAction.Mix => TextWords.LeaveMix,
        StepAction.Load => TextWords.LeaveLoad,
        StepAction.Move => TextWords.LeaveMove,
        StepAction.Clear => TextWords.LeaveClear,
        _ => TextWords.LeaveDiscard,
    };

    /// <summary>What the button says will be recorded.</summary>
    public static string Button(StepAction action) => action switch
    {
        StepAction.Mix => TextWords.ButtonMixed,
        StepAction.Load => TextWords.ButtonLoaded,
        StepAction.Move => TextWords.ButtonReadStarted,
        StepAction.Clear => TextWords.ButtonCleared,
        StepAction.Discard => TextWords.ButtonDiscarded,
        StepAction.CardChange change => Say.Of(TextWords.ButtonCardChanged, change.Lot),
        _ => "",
    };

    /// <summary>Whose it is and what must be true: "SP-014 · Demo assay C · card A-L1 is in".</summary>
    public static string Detail(BenchState state, StepAction action)
    {
        if (action is StepAction.CardChange change)
        {
            return state.CardIn(change.Reader) is { } present
                ? Say.Of(TextWords.DetailCardNow, present)
                : state.DoubtOf(change.Reader) is not null ? TextWords.DetailCardNotKnown : TextWords.DetailNoCard;
        }

        if (action.Subject is not { } request || state.Find(request) is not { } cartridge)
            return "";
        var wanted = cartridge.Wanted;
        var urgent = wanted.Request.Priority == Priority.Urgent ? Words.Urgent : null;
        var control = wanted.Request.Kind == RequestKind.Control ? Words.Control : null;
        var card = action.NeedsReader is { } reader && action is not StepAction.Clear
            && state.CardIn(reader) is { } lot && lot == wanted.Request.Lot
            ? Say.Of(TextWords.DetailCardIsIn, lot)
            : null;
        var kit = action is StepAction.Mix or StepAction.Load && card is null
            ? Say.Of(TextWords.DetailKitLot, wanted.Request.Lot) : null;
        var waste = action is StepAction.Discard ? TextWords.DetailBiohazard : null;
        return Say.Dotted(urgent, wanted.Request.Specimen.Value, wanted.Assay.Name, control, kit, card, waste);
    }

    /// <summary>Words under the number before the step may begin.</summary>
    public static string CountdownToBegin(StepAction action) =>
        action is StepAction.Move ? TextWords.UntilMoveMayBegin : TextWords.UntilMayBegin;

    /// <summary>Words under the number once it may begin.</summary>
    public static string CountdownToLatest(StepAction action) =>
        action is StepAction.Move ? TextWords.LeftToStartRead : TextWords.AllowedTimeLeft;

    /// <summary>Where a cartridge is, as a person points at it: "slot 3", "the reader", or its specimen.</summary>
    public static string Whereabouts(BenchState state, RequestId request) => state.Find(request)?.Phase switch
    {
        { } phase when phase.FindPlace() is { } inside => PlaceName(inside, state.Setup),
        CartridgePhase.Mixed => Say.Of(TextWords.MixtureOf, Specimen(state, request)),
        _ when PlannedPlace(state, request) is { } place => PlaceName(place, state.Setup),
        _ => Specimen(state, request),
    };

    /// <summary>The specimen of a request, or the request's own id where it is not known.</summary>
    public static string Specimen(BenchState state, RequestId request) =>
        state.Find(request)?.Wanted.Request.Specimen.Value ?? request.Value;

    /// <summary>"slot 4", "the reader".</summary>
    public static string PlaceName(CartridgePlace place, BenchSetup setup) => place switch
    {
        CartridgePlace.InSlot slot => Say.Of(TextWords.SlotNumber, slot.Slot.Value),
        CartridgePlace.InReader inside => Say.Reader(inside.Reader, setup),
        _ => "",
    };

    /// <summary>Where the adopted plan will load a cartridge that is not loaded yet, or null.</summary>
    private static CartridgePlace? PlannedPlace(BenchState state, RequestId request) =>
        state.Adopted?.Remaining.Select(row => row.Step.Action).OfType<StepAction.Load>()
            .FirstOrDefault(load => load.Request == request)?.Place;
}
