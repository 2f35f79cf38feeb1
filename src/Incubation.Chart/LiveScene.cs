using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Chart;

/// <summary>What a bench at work shows: what was really done, and what the adopted plan still asks for.</summary>
internal static class LiveScene
{
    public static Scene Of(BenchState state, BenchView look, string? title)
    {
        var builder = new SceneBuilder(state.Setup);
        foreach (var cartridge in state.Cartridges)
            Put(builder, cartridge);
        foreach (var done in state.Done)
            Step(builder, done.Action, done.Hands, Span.Of(done), look.At);
        foreach (var (step, _) in state.Adopted?.Remaining ?? [])
        {
            // A read that has begun was drawn from its report; the plan repeats it.
            if (step.Action is StepAction.Read
                && builder.Tracks.GetValueOrDefault(step.Action.Subject!.Value)?.Read is { Planned: false })
                continue;
            Step(builder, step.Action, step.Hands, Span.Of(step, true), look.At);
        }
        foreach (var cartridge in state.Cartridges)
            if (cartridge.Phase is not CartridgePhase.Reacting && cartridge.Stage is not CartridgeStage.Waiting)
                MarkOut(builder, builder.Tracks[cartridge.Id], look.At);
        builder.DrawTracks();
        return new Scene(title ?? Phrase.Of(Words.LanesTitle, state.Name), LanesOf(state, look, builder), []);
    }

    private static void Put(SceneBuilder builder, Cartridge cartridge)
    {
        var track = new Track(cartridge.Wanted.Request, cartridge.Wanted.Assay);
        if (cartridge.Phase is CartridgePhase.Reacting reacting)
            track = track with { Place = reacting.Place, LoadEnd = reacting.LoadEnd };
        if (cartridge.Phase is CartridgePhase.Reading reading)
        {
            builder.InReader(cartridge.Id, reading.Reader);
            track = track with { Read = new Span(reading.Start, reading.Start + track.Assay.Read, false) };
        }
        builder.Put(track);
    }

    /// <summary>
    /// Reports can skip the move; a cartridge that is known to be elsewhere must not look as if it still reacted.
    /// </summary>
    private static void MarkOut(SceneBuilder builder, Track track, Instant now)
    {
        if (track.Load is { Planned: false } && track.Move is not { Planned: false })
            builder.Put(track with
            {
                Move = null,
                OutOfSlot = track.Read?.From ?? track.Clear?.From
                ?? track.Discard?.To ?? now
            });
    }

    private static void Step(SceneBuilder builder, StepAction action, HandsNumber? hands, Span span, Instant now)
    {
        if (action is StepAction.Move or StepAction.Read or StepAction.Clear
            && action is { Subject: { } id, NeedsReader: { } reader })
            builder.InReader(id, reader);
        builder.Step(action, hands, span, now);
    }

    private static List<Lane> LanesOf(BenchState state, BenchView look, SceneBuilder builder)
    {
        var lanes = new List<Lane>();
        foreach (var slot in look.Slots)
            lanes.Add(SlotLane(slot, builder, state));
        foreach (var reader in look.Readers)
            lanes.Add(ReaderLane(reader, state.Setup, builder));
        for (var hands = 1; hands <= state.Setup.Hands; hands++)
        {
            var items = builder.Items(LaneKind.Hands, hands);
            var label = LaneNames.Hands(hands, state.Setup.Hands);
            var spoken = Phrase.Of(Words.SpokenSteps, label, items.Count(item => item.Planned));
            lanes.Add(new Lane(LaneKind.Hands, hands, label, null, false, null, items, spoken));
        }
        return lanes;
    }

    private static Lane SlotLane(SlotView slot, SceneBuilder builder, BenchState state)
    {
        var number = slot.Slot.Value;
        var specimen = slot.Cartridge?.Wanted.Request.Specimen.Value;
        var urgent = slot.Cartridge?.Wanted.Request.Priority == Priority.Urgent;
        var count = slot.Window is { } window ? CountOf(slot, window, state) : null;
        var name = Phrase.Of(Words.Slot, number);
        var spoken = specimen is null ? slot.OutOfUse is null
            ? Phrase.Of(Words.SpokenFree, name) : Phrase.Of(Words.SpokenIn, name, Words.OutOfUse)
            : Phrase.Of(urgent ? Words.SpokenUrgent : Words.SpokenIn, name, specimen);
        return new Lane(LaneKind.Slot, number, LaneNames.Number(number), specimen
            ?? (slot.OutOfUse is null ? null : Words.OutOfUse), urgent, count, builder.Items(LaneKind.Slot, number),
            spoken);
    }

    /// <summary>To the move, then to the close; one that the plan gives up has nothing to wait for.</summary>
    private static LaneCount CountOf(SlotView slot, ReadWindow window, BenchState state) =>
        slot.Cartridge is { Phase: CartridgePhase.Reacting reacting } cartridge
            && state.Adopted?.Plan.Lost.Any(left => left.Request == cartridge.Id) == true
            ? new LaneCount(reacting.LoadEnd.Latest, reacting.LoadEnd.Latest)
            : new LaneCount(slot.MoveAt ?? window.Opens, window.Closes);

    private static Lane ReaderLane(ReaderView reader, BenchSetup setup, SceneBuilder builder)
    {
        var number = reader.Reader.Value;
        var label = LaneNames.Reader(number, setup.Readers);
        var card = reader.OutOfUse is not null ? Words.OutOfUse
            : reader.CardDoubt is not null ? Words.CardNotKnown
            : reader.Card is { } lot ? Phrase.Of(Words.Card, lot)
            : Words.NoCard;
        var spoken = reader.Cartridge is { } inside
            ? Phrase.Of(Words.SpokenIn, label, $"{inside.Wanted.Request.Specimen}, {card}")
            : Phrase.Of(Words.SpokenIn, label, card);
        return new Lane(LaneKind.Reader, number, label, card, false, null, builder.Items(LaneKind.Reader, number),
            spoken);
    }
}
