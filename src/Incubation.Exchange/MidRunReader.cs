using Incubation.Exchange.Json;
using Incubation.Model;
using NodaTime;

namespace Incubation.Exchange;

/// <summary>A bench in mid-run, with the places of all its parts.</summary>
internal sealed record LocatedMidRun(
    Instant Now,
    IReadOnlyList<Located<CardInReader>> Cards,
    IReadOnlyList<Located<StepInProgress>> Steps,
    IReadOnlyList<Located<CartridgeInWork>> Cartridges)
{
    public MidRun Value => new(
        Now, [.. Cards.Select(card => card.Value)], [.. Steps.Select(step => step.Value)],
            [.. Cartridges.Select(cartridge => cartridge.Value)]);
}

/// <summary>Reads the state of a bench in mid-run. Nothing in it is later than now.</summary>
internal static class MidRunReader
{
    /// <summary>The state; empty where only `now` is given; null without it.</summary>
    public static LocatedMidRun? Read(Members root, Instant? now, StepRanges ranges, FaultList faults)
    {
        if (!root.Has("state"))
            return now is { } bare ? new LocatedMidRun(bare, [], [], []) : null;
        if (Members.Of(root.At("state"), faults)?.Only("readers", "steps", "cartridges") is not { } state)
            return null;
        var cards = state.OptionalItems("readers", ranges.Readers).Select(card => Card(card, ranges, faults))
            .OfType<Located<CardInReader>>().ToList();
        var steps = state.OptionalItems("steps", BenchDay.MaximumRequests)
            .Select(step => Step(step, now, ranges, faults)).OfType<Located<StepInProgress>>().ToList();
        var cartridges = state.OptionalItems("cartridges", BenchDay.MaximumRequests)
            .Select(cartridge => Cartridge(cartridge, now, ranges, faults)).OfType<Located<CartridgeInWork>>().ToList();
        return now is { } present ? new LocatedMidRun(present, cards, steps, cartridges) : null;
    }

    private static Located<CardInReader>? Card(JsonItem item, StepRanges ranges, FaultList faults)
    {
        if (Members.Of(item, faults)?.Only("reader", "card") is not { } row)
            return null;
        var reader = row.Required("reader", Values.Number<ReaderNumber>(ranges.Readers));
        var card = row.Required<LotCode>("card", Values.Id<LotCode>);
        return reader is { } number && card is { } lot ? new(new CardInReader(number, lot), row) : null;
    }

    private static Located<StepInProgress>? Step(JsonItem item, Instant? now, StepRanges ranges, FaultList faults)
    {
        if (Members.Of(item, faults) is not { } row)
            return null;
        var done = StepReader.Read(row, Wordlists.HandsSteps, ranges, faults, "start", "unknown");
        var start = row.Required<Instant>("start", Values.Instant);
        NotAfterNow(row.At("start"), start, now, faults);
        var unknown = row.Optional<bool>("unknown", Values.Truth) == true;
        return done is { Hands: { } hands } step && start is { } began
            ? new(new StepInProgress(step.Action, hands, began, unknown), row) : null;
    }

    private static Located<CartridgeInWork>? Cartridge(JsonItem item, Instant? now, StepRanges ranges, FaultList faults)
    {
        if (Members.Of(item, faults) is not { } row)
            return null;
        var request = row.Required<RequestId>("request", Values.Id<RequestId>);
        CartridgePhase? phase = row.Required("phase", Values.OneOf(Wordlists.Phases)) switch
        {
            PhaseWord.Mixed => Mixed(row.Only("request", "phase", "mixEnd", "mustDiscard"), now, faults),
            PhaseWord.Reacting =>
                Reacting(row.Only("request", "phase", "loadEnd", "slot", "reader", "mustDiscard"), now, ranges, faults),
            PhaseWord.Reading => Reading(row.Only("request", "phase", "reader", "start"), now, ranges, faults),
            PhaseWord.Read => HasBeenRead(row.Only("request", "phase", "reader"), ranges),
            _ => null,
        };
        var mustDiscard = phase is CartridgePhase.Mixed or CartridgePhase.Reacting
            && row.Optional<bool>("mustDiscard", Values.Truth) == true;
        return request is { } id && phase is not null ? new(new CartridgeInWork(id, phase, mustDiscard), row) : null;
    }

    private static CartridgePhase.Mixed? Mixed(Members row, Instant? now, FaultList faults) =>
        End(row, "mixEnd", now, faults) is { } end ? new CartridgePhase.Mixed(end) : null;

    private static CartridgePhase.Reacting? Reacting(Members row, Instant? now, StepRanges ranges, FaultList faults)
    {
        var end = End(row, "loadEnd", now, faults);
        return StepReader.Place(row, ranges, faults) is { } place && end is { } known
            ? new CartridgePhase.Reacting(known, place) : null;
    }

    private static CartridgePhase.Reading? Reading(Members row, Instant? now, StepRanges ranges, FaultList faults)
    {
        var reader = row.Required("reader", Values.Number<ReaderNumber>(ranges.Readers));
        var start = row.Required<Instant>("start", Values.Instant);
        NotAfterNow(row.At("start"), start, now, faults);
        return reader is { } number && start is { } began ? new CartridgePhase.Reading(number, began) : null;
    }

    private static CartridgePhase.Read? HasBeenRead(Members row, StepRanges ranges) =>
        row.Required("reader", Values.Number<ReaderNumber>(ranges.Readers)) is { } reader
            ? new CartridgePhase.Read(reader) : null;

    private static InstantRange? End(Members row, string name, Instant? now, FaultList faults)
    {
        var end = row.Required<InstantRange>(name, Values.Range);
        NotAfterNow(row.At(name), end?.Latest, now, faults);
        return end;
    }

    private static void NotAfterNow(JsonItem where, Instant? instant, Instant? now, FaultList faults)
    {
        if (instant > now)
            faults.Add(where, FaultList.Text(Words.AfterNow, IsoInstant.Format(instant.Value)),
                FaultList.Text(Words.AllowedUntilNow, IsoInstant.Format(now.Value)));
    }
}
