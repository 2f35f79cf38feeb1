using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Chart;

/// <summary>Gathers what is drawn, lane by lane.</summary>
internal sealed class SceneBuilder(BenchSetup setup)
{
    private readonly Dictionary<(LaneKind, int), List<LaneItem>> _items = [];
    private readonly Dictionary<RequestId, Track> _tracks = [];

    /// <summary>The tracks added so far.</summary>
    public IReadOnlyDictionary<RequestId, Track> Tracks => _tracks;

    /// <summary>Adds or replaces a cartridge's way.</summary>
    public void Put(Track track) => _tracks[track.Request.Id] = track;

    /// <summary>Adds a step to its cartridge's way, and to the hands that do it.</summary>
    public void Step(StepAction action, HandsNumber? hands, Span span, Instant now)
    {
        if (action.Subject is { } id && _tracks.TryGetValue(id, out var track))
            Put(track = track.With(action, span, now));
        else
            track = null;
        var says = Say(action, track);
        if (action is StepAction.CardChange change)
            Add(LaneKind.Reader, change.Reader.Value, new LaneItem.CardChange(span.From, span.To, span.Planned, says));
        if (hands is { } pair)
        {
            var number = action is StepAction.Load or StepAction.Move ? track?.SlotText : null;
            Add(LaneKind.Hands, pair.Value,
                new LaneItem.HandsWork(span.From, span.To, span.Planned, says, number, action is StepAction.Discard));
        }
    }

    /// <summary>Adds a calendar entry to every lane that it closes.</summary>
    public void Away(CalendarEntry entry)
    {
        var item = new LaneItem.Away(entry.From, entry.To, entry.Why ?? Words.Away);
        switch (entry.Resource)
        {
            case BenchResource.Hands hands:
                Add(LaneKind.Hands, hands.Number.Value, item);
                break;
            case BenchResource.Slot slot:
                Add(LaneKind.Slot, slot.Number.Value, item);
                break;
            case BenchResource.Reader reader:
                Add(LaneKind.Reader, reader.Number.Value, item);
                break;
            default:
                for (var slot = 1; slot <= setup.Slots; slot++)
                    Add(LaneKind.Slot, slot, item);
                break;
        }
    }

    /// <summary>Turns the cartridges' ways into what is drawn in slots and readers.</summary>
    public void DrawTracks()
    {
        foreach (var track in _tracks.Values)
            if (track.Place is CartridgePlace.InSlot at)
                DrawSlot(at.Slot.Value, track);
        foreach (var track in _tracks.Values)
            DrawReader(track);
    }

    /// <summary>What is drawn in a lane, by start.</summary>
    public IReadOnlyList<LaneItem> Items(LaneKind kind, int number) =>
        _items.TryGetValue((kind, number), out var items) ? items.OrderBy(item => item.From).ToList() : [];

    private void DrawSlot(int slot, Track track)
    {
        if (track.Load is { } load)
            Add(LaneKind.Slot, slot,
                new LaneItem.Loading(load.From, load.To, load.Planned, Phrase.Of(Words.SaysLoad, track.Name)));
        if (track.LoadEnd is not { } loadEnd)
            return;
        var planned = track.Load is { Planned: true };
        var window = ReadWindow.Of(track.Assay, setup, loadEnd);
        var left = track.Move is { Planned: false } move ? move.From
            : track.Discard is { Planned: false } gone ? gone.To
            : track.OutOfSlot;
        var reactionTo = Instant.Max(loadEnd.Latest, left ?? window.Opens);
        Add(LaneKind.Slot, slot, new LaneItem.Reaction(
            loadEnd.Latest, reactionTo, planned, Phrase.Of(Words.SaysReacting, track.Name), track.Name,
                track.IsUrgent));
        if (track.Discard is { Planned: false } thrown && left == thrown.To)
            Add(LaneKind.Slot, slot, new LaneItem.Thrown(thrown.To, Phrase.Of(Words.SaysDiscard, track.Name)));
        if (left is not null)
            return;
        var moveAt = track.Move?.From;
        var lostFrom = track.Discard is not null ? loadEnd.Latest : planned ? (Instant?)null : window.Closes;
        var closes = Instant.Max(window.Opens, window.Closes);
        Add(LaneKind.Slot, slot, new LaneItem.Window(
            window.Opens, closes, planned, Phrase.Of(Words.SaysWindow, track.Name), window.GuardFrom,
            planned ? null : moveAt, lostFrom, Instant.Max(closes, track.Discard?.To ?? Instant.MaxValue),
                track.IsUrgent));
        if (moveAt is { } at)
            Add(LaneKind.Slot, slot, new LaneItem.MoveTick(at, Phrase.Of(Words.SaysMove, track.Name)));
    }

    private void DrawReader(Track track)
    {
        var reader = (track.Place as CartridgePlace.InReader)?.Reader.Value ?? ReaderOf(track);
        if (reader is not { } number)
            return;
        if (track.Place is CartridgePlace.InReader)
            DrawInReader(number, track);
        var taken = track.Place is CartridgePlace.InReader ? track.Load ?? track.Read : track.Move ?? track.Read;
        var end = track.Clear ?? track.Discard ?? track.Read;
        if (taken is { } first && end is { } last && last.To > first.From)
            Add(LaneKind.Reader, number, new LaneItem.Taken(
                first.From, last.To, first.Planned, Phrase.Of(Words.SaysTaken, track.Name)));
        if (track.Read is { } read)
            Add(LaneKind.Reader, number, new LaneItem.Reading(
                read.From, read.To, read.Planned, Phrase.Of(Words.SaysRead, track.Name), track.SlotText));
    }

    private void DrawInReader(int reader, Track track)
    {
        if (track.Load is { } load)
            Add(LaneKind.Reader, reader,
                new LaneItem.Loading(load.From, load.To, load.Planned, Phrase.Of(Words.SaysLoad, track.Name)));
        if (track.LoadEnd is not { } loadEnd)
            return;
        var to = Instant.Max(loadEnd.Latest, track.Read?.From ?? loadEnd.Latest + track.Assay.Incubation);
        Add(LaneKind.Reader, reader, new LaneItem.Reaction(
            loadEnd.Latest, to, track.Load is { Planned: true }, Phrase.Of(Words.SaysReacting, track.Name), track.Name,
                track.IsUrgent));
    }

    private readonly Dictionary<RequestId, int> _readers = [];

    /// <summary>Says in which reader a cartridge is, or will be, read.</summary>
    public void InReader(RequestId request, ReaderNumber reader) => _readers[request] = reader.Value;

    private int? ReaderOf(Track track) => _readers.TryGetValue(track.Request.Id, out var reader) ? reader : null;

    private void Add(LaneKind kind, int number, LaneItem item)
    {
        if (!_items.TryGetValue((kind, number), out var items))
            _items[(kind, number)] = items = [];
        items.Add(item);
    }

    private static string Say(StepAction action, Track? track)
    {
        var name = track?.Name ?? action.Subject?.Value ?? "";
        return action switch
        {
            StepAction.Mix => Phrase.Of(Words.SaysMix, name),
            StepAction.Load => Phrase.Of(Words.SaysLoad, name),
            StepAction.Move => Phrase.Of(Words.SaysMove, name),
            StepAction.Read => Phrase.Of(Words.SaysRead, name),
            StepAction.Clear => Phrase.Of(Words.SaysClear, name),
            StepAction.Discard => Phrase.Of(Words.SaysDiscard, name),
            StepAction.CardChange change => Phrase.Of(Words.SaysCardChange, change.Lot.Value),
            _ => name,
        };
    }
}
