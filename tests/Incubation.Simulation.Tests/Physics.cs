using Incubation.Bench;
using Incubation.Model;
using NodaTime;
using Xunit;

namespace Incubation.Simulation.Tests;

/// <summary>What no day can break, whoever decides: asserted over what was played.</summary>
internal static class Physics
{
    /// <summary>
    /// Hands, slots and readers do one thing at a time; each cartridge goes its way in order, and is read after its
    /// reaction.
    /// </summary>
    public static void Hold(BenchDay day, DayOutcome outcome)
    {
        foreach (var hands in outcome.Steps.Where(s => s.Hands is not null).GroupBy(s => s.Hands))
            OneAtATime(hands.Select(s => (s.Start, s.End)));
        Assert.All(outcome.Steps, step => Assert.True(step.Start >= day.Start && step.Start <= step.End));
        var slots = new List<(int Slot, Instant From, Instant To)>();
        var readers = outcome.Steps.Where(s => s.Action is StepAction.CardChange)
            .Select(s => (s.Action.NeedsReader!.Value, s.Start, s.End)).ToList();
        for (var i = 0; i < day.Requests.Count; i++)
            Follow(day, day.Requests[i], outcome.Cartridges[i], outcome, slots, readers);
        foreach (var slot in slots.GroupBy(s => s.Slot))
            OneAtATime(slot.Select(s => (s.From, s.To)));
        foreach (var reader in readers.GroupBy(r => r.Value))
            OneAtATime(reader.Select(r => (r.Start, r.End)));
        Cards(day, outcome);
    }

    private static void Follow(
        BenchDay day, Request request, CartridgeOutcome end, DayOutcome outcome, List<(int, Instant, Instant)> slots,
            List<(ReaderNumber, Instant, Instant)> readers)
    {
        DoneStep? Step<T>()
            where T : StepAction => outcome.Steps.SingleOrDefault(s => s.Action is T && s.Action.Subject == request.Id);
        var (mix, load, move, read, clear, discard) = (Step<StepAction.Mix>(), Step<StepAction.Load>(),
            Step<StepAction.Move>(), Step<StepAction.Read>(), Step<StepAction.Clear>(), Step<StepAction.Discard>());
        Assert.Equal(mix is null, end.End == CartridgeEnd.NotRun);
        if (mix is null)
            return;
        Assert.True(mix.Start >= request.EffectiveReady(day.Start));
        Assert.All(request.After, id => Assert.True(
            outcome.Steps.SingleOrDefault(s => s.Action is StepAction.Clear or StepAction.Discard
                && s.Action.Subject == id) is not { } before || before.End <= mix.Start));
        Assert.True((clear is null) != (discard is null));
        if (load is null)
            return;
        Assert.True(mix.End <= load.Start);
        if (((StepAction.Load)load.Action).Place is CartridgePlace.InSlot at)
            slots.Add((at.Slot.Value, load.Start, move?.Start ?? discard!.End));
        if (clear is null)
            return;
        var assay = day.Assays.Single(a => a.Code == request.Assay);
        Assert.NotNull(read);
        Assert.True(read.Start + assay.Read <= clear.Start);
        readers.Add((clear.Action.NeedsReader!.Value, (move ?? load).Start, clear.End));
        var opens = load.End + assay.Incubation;
        Assert.True(read.Start >= opens);
        if (end.End == CartridgeEnd.ReadInWindow)
        {
            Assert.True(read.Start <= opens + assay.ReadWindow);
            Assert.Equal(clear.End - request.EffectiveReady(day.Start), end.ToResult);
        }
    }

    /// <summary>A cartridge comes to a reader only when the card of its lot is in it.</summary>
    private static void Cards(BenchDay day, DayOutcome outcome)
    {
        var cards = new Dictionary<ReaderNumber, LotCode>();
        var order = outcome.Steps.Where(s => s.Action is StepAction.CardChange or StepAction.Move
            || s.Action is StepAction.Load { Place: CartridgePlace.InReader });
        foreach (var step in order.OrderBy(s => s.Start).ThenBy(s => s.End))
        {
            if (step.Action is StepAction.CardChange change)
                cards[change.Reader] = change.Lot;
            else
                Assert.Equal(day.Requests.Single(r => r.Id == step.Action.Subject).Lot,
                    cards[step.Action.NeedsReader!.Value]);
        }
    }

    private static void OneAtATime(IEnumerable<(Instant From, Instant To)> times)
    {
        var free = Instant.MinValue;
        foreach (var (from, to) in times.Where(t => t.From < t.To).OrderBy(t => t.From))
        {
            Assert.True(from >= free, $"{from} is before {free}.");
            free = to;
        }
    }
}
