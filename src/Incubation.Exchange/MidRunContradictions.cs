using Incubation.Exchange.Json;
using Incubation.Model;

namespace Incubation.Exchange;

/// <summary>
/// States that cannot be: two things in one place, a step in progress on a cartridge that is not there for it.
/// </summary>
internal sealed class MidRunContradictions(
    LocatedMidRun run, IReadOnlyList<Assay> assays, IReadOnlyList<Request> requests, FaultList faults)
{
    private readonly Dictionary<RequestId, Request> _requests = requests.GroupBy(request => request.Id)
        .ToDictionary(group => group.Key, group => group.First());
    private readonly Dictionary<AssayCode, Assay> _assays = assays.GroupBy(assay => assay.Code)
        .ToDictionary(group => group.Key, group => group.First());
    private readonly Dictionary<RequestId, CartridgePhase> _phases = run.Cartridges.GroupBy(cartridge =>
        cartridge.Value.Request)
        .ToDictionary(group => group.Key, group => group.First().Value.Phase);

    /// <summary>Adds a fault for each contradiction.</summary>
    public void Find()
    {
        EachOnce(run.Cards, card => card.Reader, "reader", Words.ReaderTwice);
        EachOnce([.. run.Steps.Where(step => !step.Value.Unknown)], step => step.Hands, "hands", Words.HandsTwice);
        EachOnce(run.Cartridges, cartridge => cartridge.Request, "request", Words.CartridgeTwice);
        EachOnce([.. run.Steps.Where(step => step.Value.Action.Subject is not null)],
            step => step.Action.Subject!.Value, "request", Words.StepTwice);
        RequestsExist();
        StepsStandInThePhaseBefore();
        PlacesSuitTheAssay();
        NothingSharesAPlace();
        CardsAreOfTheCartridgesLot();
    }

    private void EachOnce<T, TKey>(IReadOnlyList<Located<T>> all, Func<T, TKey> key, string member, string fault)
        where TKey : notnull
    {
        var seen = new HashSet<TKey>();
        foreach (var one in all.Where(one => !seen.Add(key(one.Value))))
            faults.Add(one.At.At(member), FaultList.Text(fault, key(one.Value)), Words.AllowedOnce);
    }

    private void RequestsExist()
    {
        var named = run.Cartridges.Select(cartridge => (cartridge.Value.Request, cartridge.At))
            .Concat(run.Steps.Where(step => step.Value.Action.Subject is not null)
                .Select(step => (step.Value.Action.Subject!.Value, step.At)));
        foreach (var (request, at) in named.Where(one => !_requests.ContainsKey(one.Item1)))
            faults.Add(at.At("request"), FaultList.Text(Words.UnknownRequest, request), Words.AllowedRequest);
    }

    private void StepsStandInThePhaseBefore()
    {
        foreach (var step in run.Steps)
        {
            if (step.Value.Action.Subject is not { } request)
                continue;
            var phase = _phases.GetValueOrDefault(request);
            var (isRight, allowed) = step.Value.Action switch
            {
                StepAction.Mix => (phase is null, Words.AllowedPhaseNone),
                StepAction.Load => (phase is CartridgePhase.Mixed, Words.AllowedPhaseMixed),
                StepAction.Move => (IsInSlot(phase), Words.AllowedPhaseInSlot),
                StepAction.Clear => (phase is CartridgePhase.Read || IsReactingInReader(phase), Words.AllowedPhaseRead),
                _ => (phase is CartridgePhase.Mixed || IsInSlot(phase), Words.AllowedPhaseDiscard),
            };
            if (!isRight)
                faults.Add(step.At.At("request"), FaultList.Text(Words.WrongPhase, request, WordOf(phase)), allowed);
            else if (step.Value.Action is StepAction.Clear clear && phase?.FindReader() != clear.Reader)
                faults.Add(step.At.At("reader"), FaultList.Text(Words.ClearElsewhere, request, phase?.FindReader()!),
                    FaultList.Text(Words.AllowedReader, phase?.FindReader()!));
        }
    }

    private void PlacesSuitTheAssay()
    {
        foreach (var cartridge in run.Cartridges)
            Suits(cartridge.Value.Request, (cartridge.Value.Phase as CartridgePhase.Reacting)?.Place, cartridge.At);
        foreach (var step in run.Steps)
        {
            if (step.Value.Action is StepAction.Load load)
                Suits(load.Request, load.Place, step.At);
            else if (step.Value.Action is StepAction.Move move
                && AssayOf(move.Request) is { Place: IncubationPlace.Reader })
                faults.Add(step.At.At("step"), FaultList.Text(Words.OnlyInReader, move.Request), Words.AllowedInReader);
        }
    }

    private void Suits(RequestId request, CartridgePlace? place, Members at)
    {
        if (place is CartridgePlace.InReader && AssayOf(request) is { Place: IncubationPlace.Incubator })
            faults.Add(at.At("reader"), FaultList.Text(Words.OnlyInIncubator, request), Words.AllowedInSlot);
        if (place is CartridgePlace.InSlot && AssayOf(request) is { Place: IncubationPlace.Reader })
            faults.Add(at.At("slot"), FaultList.Text(Words.OnlyInReader, request), Words.AllowedInReader);
    }

    /// <summary>
    /// One cartridge in a slot, one cartridge or card change in a reader. A slot is left as the move or the discard
    /// begins; a reader is taken as the move or the load into it begins. What is not known keeps the slot too, and a
    /// card change that is not known keeps nothing.
    /// </summary>
    private void NothingSharesAPlace()
    {
        var leaves = run.Steps
            .Where(step => !step.Value.Unknown && step.Value.Action is StepAction.Move or StepAction.Discard)
            .Select(step => step.Value.Action.Subject!.Value).ToHashSet();
        var slots = new Dictionary<SlotNumber, string>();
        var readers = new Dictionary<ReaderNumber, string>();
        foreach (var cartridge in run.Cartridges.DistinctBy(cartridge => cartridge.Value.Request))
        {
            if (cartridge.Value.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot place }
                && !leaves.Contains(cartridge.Value.Request))
                Take(slots, place.Slot, cartridge.Value.Request.Value, cartridge.At.At("slot"), Words.SlotTaken);
            if (cartridge.Value.Phase?.FindReader() is { } reader)
                Take(readers, reader, cartridge.Value.Request.Value, cartridge.At.At("reader"), Words.ReaderTaken);
        }
        foreach (
            var step in run.Steps.Where(step => step.Value is not { Unknown: true, Action: StepAction.CardChange }))
        {
            if (step.Value.Action is StepAction.Load { Place: CartridgePlace.InSlot place } load)
                Take(slots, place.Slot, load.Request.Value, step.At.At("slot"), Words.SlotTaken);
            if (step.Value.Action is StepAction.Load or StepAction.Move or StepAction.CardChange
                && step.Value.Action.NeedsReader is { } reader)
                Take(readers, reader, step.Value.Action.Subject?.Value ?? Words.ACardChange, step.At.At("reader"),
                    Words.ReaderTaken);
        }
    }

    private void Take<T>(Dictionary<T, string> taken, T place, string by, JsonItem where, string fault)
        where T : notnull
    {
        if (!taken.TryAdd(place, by))
            faults.Add(where, FaultList.Text(fault, place, taken[place]), Words.AllowedOneThing);
    }

    /// <summary>A reader that is known to hold a card holds the one that its cartridge needs.</summary>
    private void CardsAreOfTheCartridgesLot()
    {
        var cards = run.Cards.GroupBy(card => card.Value.Reader)
            .ToDictionary(group => group.Key, group => group.First().Value.Card);
        var stays = run.Cartridges.Select(cartridge =>
            (cartridge.Value.Request, Reader: cartridge.Value.Phase?.FindReader(), cartridge.At))
            .Concat(run.Steps.Where(step => step.Value.Action is StepAction.Load or StepAction.Move)
                .Select(step =>
                    (Request: step.Value.Action.Subject!.Value, Reader: step.Value.Action.NeedsReader, step.At)));
        foreach (var (request, reader, at) in stays)
        {
            if (reader is { } number && cards.TryGetValue(number, out var card)
                && _requests.TryGetValue(request, out var wanted) && wanted.Lot != card)
                faults.Add(at.At("reader"), FaultList.Text(Words.WrongCard, number, card, request, wanted.Lot),
                    FaultList.Text(Words.AllowedCard, wanted.Lot));
        }
    }

    private Assay? AssayOf(RequestId request) =>
        _requests.TryGetValue(request, out var known) ? _assays.GetValueOrDefault(known.Assay) : null;

    private static bool IsInSlot(CartridgePhase? phase) =>
        phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot };

    private static bool IsReactingInReader(CartridgePhase? phase) =>
        phase is CartridgePhase.Reacting { Place: CartridgePlace.InReader };

    private static string WordOf(CartridgePhase? phase) => phase switch
    {
        CartridgePhase.Mixed => Wordlists.Phases.WordOf(PhaseWord.Mixed),
        CartridgePhase.Reacting => Wordlists.Phases.WordOf(PhaseWord.Reacting),
        CartridgePhase.Reading => Wordlists.Phases.WordOf(PhaseWord.Reading),
        CartridgePhase.Read => Wordlists.Phases.WordOf(PhaseWord.Read),
        _ => Words.PhaseNone,
    };
}
