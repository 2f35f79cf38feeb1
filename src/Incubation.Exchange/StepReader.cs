using Incubation.Exchange.Json;
using Incubation.Model;

namespace Incubation.Exchange;

/// <summary>How many of each a step may name; where a plan is read without its day, more than any bench has.</summary>
internal sealed record StepRanges(int Hands, int Slots, int Readers)
{
    public static readonly StepRanges Widest = new(BenchLimits.Hands, BenchLimits.Slots, BenchLimits.Readers);
}

/// <summary>Reads what is done in a step, with just the members that such a step has.</summary>
internal static class StepReader
{
    /// <summary>The action and the hands of a step; null with a fault where it cannot be read.</summary>
    /// <param name="step">The members of the row.</param>
    /// <param name="words">The steps that may stand here.</param>
    /// <param name="ranges">What the bench has.</param>
    /// <param name="faults">Where faults go.</param>
    /// <param name="alsoAllowed">Members that every row here has besides.</param>
    public static (StepAction Action, HandsNumber? Hands)? Read(Members step,
        IReadOnlyDictionary<string, StepWord> words, StepRanges ranges, FaultList faults, params string[] alsoAllowed)
    {
        if (step.Required("step", Values.OneOf(words)) is not { } word)
            return null;
        step.Only(["step", .. MembersOf(word), .. alsoAllowed]);
        var hands = word == StepWord.Read ? null : step.Required("hands", Values.Number<HandsNumber>(ranges.Hands));
        var action = word == StepWord.CardChange ? CardChange(step, ranges) : OfRequest(word, step, ranges, faults);
        return action is null || (hands is null && word != StepWord.Read) ? null : (action, hands);
    }

    /// <summary>
    /// Where a load or a reacting cartridge is: a slot or a reader, one of them; null with a fault else.
    /// </summary>
    public static CartridgePlace? Place(Members source, StepRanges ranges, FaultList faults)
    {
        if (source.Has("slot") == source.Has("reader"))
        {
            faults.Add(source.Source, source.Has("slot") ? Words.SlotAndReader : Words.NeitherSlotNorReader,
                Words.AllowedSlotOrReader);
            return null;
        }
        if (source.Has("slot"))
            return source.Required("slot", Values.Number<SlotNumber>(ranges.Slots)) is { } slot
                ? new CartridgePlace.InSlot(slot) : null;
        return source.Required("reader", Values.Number<ReaderNumber>(ranges.Readers)) is { } reader
            ? new CartridgePlace.InReader(reader) : null;
    }

    private static string[] MembersOf(StepWord word) => word switch
    {
        StepWord.Mix or StepWord.Discard => ["request", "hands"],
        StepWord.Load => ["request", "hands", "slot", "reader"],
        StepWord.Move or StepWord.Clear => ["request", "hands", "reader"],
        StepWord.Read => ["request", "reader"],
        _ => ["hands", "reader", "lot"],
    };

    private static StepAction.CardChange? CardChange(Members step, StepRanges ranges)
    {
        var reader = step.Required("reader", Values.Number<ReaderNumber>(ranges.Readers));
        var lot = step.Required<LotCode>("lot", Values.Id<LotCode>);
        return reader is { } number && lot is { } code ? new StepAction.CardChange(number, code) : null;
    }

    private static StepAction? OfRequest(StepWord word, Members step, StepRanges ranges, FaultList faults)
    {
        var request = step.Required<RequestId>("request", Values.Id<RequestId>);
        if (word == StepWord.Load)
            return Place(step, ranges, faults) is { } place && request is { } loaded
                ? new StepAction.Load(loaded, place) : null;
        var needsReader = word is StepWord.Move or StepWord.Read or StepWord.Clear;
        var reader = needsReader ? step.Required("reader", Values.Number<ReaderNumber>(ranges.Readers)) : null;
        if (request is not { } id || (needsReader && reader is null))
            return null;
        return word switch
        {
            StepWord.Mix => new StepAction.Mix(id),
            StepWord.Discard => new StepAction.Discard(id),
            StepWord.Move => new StepAction.Move(id, reader!.Value),
            StepWord.Read => new StepAction.Read(id, reader!.Value),
            _ => new StepAction.Clear(id, reader!.Value),
        };
    }
}
