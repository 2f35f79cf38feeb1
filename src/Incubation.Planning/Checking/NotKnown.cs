using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Checking;

/// <summary>A slot or reader that a step which is not known would fill or empty.</summary>
/// <param name="Resource">The slot or reader.</param>
/// <param name="Request">Whose cartridge it may hold.</param>
/// <param name="Until">Until when no plan may use it; the latest instant of all where the bench can use
/// another.</param>
internal sealed record PlaceNotKnown(BenchResource Resource, RequestId Request, Instant Until);

/// <summary>What a day's steps that are not known leave to a plan, read from the day alone.</summary>
internal sealed class NotKnown
{
    private readonly BenchDay _day;
    private readonly HashSet<RequestId> _unsure;

    public NotKnown(BenchDay day)
    {
        _day = day;
        var steps = (day.MidRun?.Steps ?? []).Where(step => step.Unknown).Select(step => step.Action).ToList();
        _unsure = [.. steps.Where(action => action.Subject is not null).Select(action => action.Subject!.Value)];
        ReadersWithoutCard = steps.OfType<StepAction.CardChange>().Select(change => change.Reader.Value).ToHashSet();
        Waiting = WhatWaits();
        var taken = steps.SelectMany(PlacesOf).ToList();
        var all = taken.Select(place => place.Resource).ToHashSet();
        Places = [.. taken.Select(place => CanUseAnother(place.Resource, all)
            ? place with { Until = Instant.MaxValue } : place)];
    }

    /// <summary>Readers of which nobody knows the card, by number.</summary>
    public IReadOnlySet<int> ReadersWithoutCard { get; }

    public IReadOnlyList<PlaceNotKnown> Places { get; }

    /// <summary>Requests not begun that come after one whose step is not known, directly or not.</summary>
    public IReadOnlySet<RequestId> Waiting { get; }

    public bool Concerns(RequestId request) => _unsure.Contains(request);

    private HashSet<RequestId> WhatWaits()
    {
        var inWork = (_day.MidRun?.Cartridges ?? []).Select(cartridge => cartridge.Request)
            .Concat((_day.MidRun?.Steps ?? []).Where(step => step.Action.Subject is not null)
                .Select(step => step.Action.Subject!.Value)).ToHashSet();
        var waiting = new HashSet<RequestId>();
        // As many rounds as requests: each round that matters adds one at least.
        for (var round = 0; round < _day.Requests.Count; round++)
        {
            foreach (var request in _day.Requests.Where(request => !inWork.Contains(request.Id)))
            {
                if (request.After.Any(before => _unsure.Contains(before) || waiting.Contains(before)))
                    waiting.Add(request.Id);
            }
        }

        return waiting;
    }

    private IEnumerable<PlaceNotKnown> PlacesOf(StepAction action)
    {
        if (action.Subject is not { } id)
            return [];
        var request = _day.Requests.Single(one => one.Id == id);
        var assay = _day.Assays.Single(one => one.Key == request.AssayKey);
        var lies = _day.MidRun!.Cartridges.FirstOrDefault(one => one.Request == id)?.Phase.FindPlace();
        var inReader = assay.Read + assay.Clear;
        return action switch
        {
            StepAction.Load { Place: CartridgePlace.InSlot } load =>
                [At(load.Place, assay.Load + assay.Incubation + assay.ReadWindow)],
            StepAction.Load load => [At(load.Place, assay.Load + assay.Incubation + inReader)],
            StepAction.Move move => [At(new CartridgePlace.InReader(move.Reader), assay.Move + inReader),
                At(lies!, assay.Move)],
            StepAction.Clear clear => [At(new CartridgePlace.InReader(clear.Reader), assay.Clear)],
            StepAction.Discard when lies is not null => [At(lies, assay.Clear)],
            _ => [],
        };

        PlaceNotKnown At(CartridgePlace place, Duration stay) => new(place is CartridgePlace.InSlot slot
            ? new BenchResource.Slot(slot.Slot)
            : new BenchResource.Reader(((CartridgePlace.InReader)place).Reader), id, _day.Now + stay);
    }

    /// <summary>Whether another slot, or reader, is known and not out of use now.</summary>
    private bool CanUseAnother(BenchResource resource, HashSet<BenchResource> notKnown)
    {
        var kind = resource.Parts.Kind;
        var count = kind == ResourceKind.Slot ? _day.Bench.Slots : _day.Bench.Readers;
        for (var number = 1; number <= count; number++)
        {
            BenchResource one = kind == ResourceKind.Slot
                ? new BenchResource.Slot(new SlotNumber(number)) : new BenchResource.Reader(new ReaderNumber(number));
            if (!notKnown.Contains(one) && _day.Calendar.All(entry =>
                !entry.Resource.Includes(one) || _day.Now < entry.From || entry.To <= _day.Now))
                return true;
        }

        return false;
    }
}
