using Incubation.Model;
using Incubation.Planning;

namespace Incubation.Chart;

/// <summary>What a planned day shows.</summary>
internal static class DayScene
{
    public static Scene Of(BenchDay day, Plan plan, string? title)
    {
        var assays = day.Assays.ToDictionary(assay => assay.Key);
        var builder = new SceneBuilder(day.Bench);
        foreach (var request in day.Requests)
            if (assays.TryGetValue(request.AssayKey, out var assay))
                builder.Put(new Track(request, assay));
        if (day.MidRun is { } run)
            foreach (var cartridge in run.Cartridges)
                Place(builder, cartridge);
        foreach (var step in plan.Steps)
        {
            var begun = day.MidRun is not null && step.Start < day.Now;
            if (step.Action is StepAction.Move or StepAction.Read or StepAction.Clear
                && step.Action is { Subject: { } id, NeedsReader: { } reader })
                builder.InReader(id, reader);
            builder.Step(step.Action, step.Hands, Span.Of(step, !begun), day.Now);
        }
        foreach (var entry in day.Calendar)
            builder.Away(entry);
        builder.DrawTracks();
        return new Scene(title ?? Words.PlanTitle, LanesOf(day, builder), NotesOf(plan));
    }

    private static void Place(SceneBuilder builder, CartridgeInWork cartridge)
    {
        if (!builder.Tracks.TryGetValue(cartridge.Request, out var track))
            return;
        switch (cartridge.Phase)
        {
            case CartridgePhase.Reacting reacting:
                builder.Put(track with { Place = reacting.Place, LoadEnd = reacting.LoadEnd });
                break;
            case CartridgePhase.Reading reading:
                builder.InReader(cartridge.Request, reading.Reader);
                builder.Put(track with { Read = new Span(reading.Start, reading.Start + track.Assay.Read, false) });
                break;
            case CartridgePhase.Read read:
                builder.InReader(cartridge.Request, read.Reader);
                break;
        }
    }

    private static List<Lane> LanesOf(BenchDay day, SceneBuilder builder)
    {
        var lanes = new List<Lane>();
        for (var slot = 1; slot <= day.Bench.Slots; slot++)
            lanes.Add(LaneOf(builder, LaneKind.Slot, slot, LaneNames.Number(slot), null));
        for (var reader = 1; reader <= day.Bench.Readers; reader++)
        {
            var card = day.MidRun?.Cards.FirstOrDefault(inReader => inReader.Reader.Value == reader)?.Card;
            lanes.Add(LaneOf(builder, LaneKind.Reader, reader, LaneNames.Reader(reader, day.Bench.Readers),
                card is { } lot ? Phrase.Of(Words.Card, lot) : null));
        }
        for (var hands = 1; hands <= day.Bench.Hands; hands++)
            lanes.Add(LaneOf(builder, LaneKind.Hands, hands, LaneNames.Hands(hands, day.Bench.Hands), null));
        return lanes;
    }

    private static Lane LaneOf(SceneBuilder builder, LaneKind kind, int number, string label, string? caption)
    {
        var items = builder.Items(kind, number);
        var name = kind == LaneKind.Slot ? Phrase.Of(Words.Slot, number) : label;
        var names = items.OfType<LaneItem.Reaction>()
            .Select(reaction => reaction.Urgent ? $"{reaction.Name} ({Words.Urgent})" : reaction.Name)
            .Distinct().ToList();
        var spoken = kind == LaneKind.Hands || (kind == LaneKind.Reader && names.Count == 0)
            ? Phrase.Of(Words.SpokenSteps, name,
                items.Count(item => item is LaneItem.HandsWork or LaneItem.Reading or LaneItem.CardChange))
            : names.Count == 0
            ? Phrase.Of(Words.SpokenFree, name) : Phrase.Of(Words.SpokenIn, name, string.Join(", ", names));
        return new Lane(kind, number, label, caption, false, null, items, spoken);
    }

    private static List<string> NotesOf(Plan plan) =>
    [
        .. plan.Unplaced.Select(left => Phrase.Of(Words.NoteUnplaced, left.Request, LeftOutText.Of(left.Why))),
        .. plan.Lost.Select(left => Phrase.Of(Words.NoteLost, left.Request, LeftOutText.Of(left.Why))),
    ];
}
