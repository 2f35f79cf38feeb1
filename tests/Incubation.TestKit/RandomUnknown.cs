using Incubation.Model;
using NodaTime;

namespace Incubation.TestKit;

/// <summary>Random days in mid-run on which nobody knows of some steps whether they were done.</summary>
public static class RandomUnknown
{
    /// <summary>
    /// The day with some of its steps in progress, and some steps that could have been begun, as not known. A day on
    /// which nothing has begun stays as it is.
    /// </summary>
    public static BenchDay In(BenchDay day, ulong seed)
    {
        if (day.MidRun is not { } run)
            return day;
        var random = new SeededRandom(seed);
        var steps = run.Steps.Select(step => step with { Unknown = random.Chance(0.5) }).ToList();
        var busy = steps.Select(step => step.Action.Subject).OfType<RequestId>().ToHashSet();
        var freeSlots = new Stack<SlotNumber>(random.Shuffled(FreeSlots(day, run)));
        var freeReaders = new Stack<ReaderNumber>(random.Shuffled(FreeReaders(day, run)));
        foreach (var request in day.Requests.Where(request => !busy.Contains(request.Id) && random.Chance(0.35)))
        {
            var phase = run.Cartridges.FirstOrDefault(cartridge => cartridge.Request == request.Id)?.Phase;
            if (Begun(day, run, request, phase, freeSlots, freeReaders, random) is not { } action)
                continue;
            steps.Add(new StepInProgress(action, new HandsNumber(random.Between(1, day.Bench.Hands)),
                run.Now - Duration.FromSeconds(random.Between(0, 600)), Unknown: true));
        }

        if (freeReaders.TryPop(out var reader) && random.Chance(0.3))
            steps.Add(new StepInProgress(new StepAction.CardChange(reader, random.Pick(day.Requests).Lot),
                new HandsNumber(random.Between(1, day.Bench.Hands)), run.Now - Duration.FromSeconds(90),
                Unknown: true));
        return day with { MidRun = run with { Steps = steps } };
    }

    private static StepAction? Begun(BenchDay day, MidRun run, Request request, CartridgePhase? phase,
        Stack<SlotNumber> slots, Stack<ReaderNumber> readers, SeededRandom random)
    {
        var place = day.Assays.First(assay => assay.Key == request.AssayKey).Place;
        switch (phase)
        {
            case null when !day.Requests.Any(other => request.After.Contains(other.Id)):
                return new StepAction.Mix(request.Id);
            case CartridgePhase.Mixed when random.Chance(0.2):
            case CartridgePhase.Reacting { Place: CartridgePlace.InSlot } when random.Chance(0.2):
                return new StepAction.Discard(request.Id);
            case CartridgePhase.Mixed when place != IncubationPlace.Reader && slots.TryPop(out var slot):
                return new StepAction.Load(request.Id, new CartridgePlace.InSlot(slot));
            case CartridgePhase.Reacting { Place: CartridgePlace.InSlot } when readers.TryPeek(out var reader)
                && run.Cards.Any(card => card.Reader == reader && card.Card == request.Lot):
                return new StepAction.Move(request.Id, readers.Pop());
            case CartridgePhase.Read read:
                return new StepAction.Clear(request.Id, read.Reader);
            default:
                return null;
        }
    }

    private static IEnumerable<SlotNumber> FreeSlots(BenchDay day, MidRun run)
    {
        var taken = run.Cartridges.Select(cartridge => cartridge.Phase.FindPlace())
            .Concat(run.Steps.Select(step => step.Action).OfType<StepAction.Load>().Select(load => load.Place))
            .OfType<CartridgePlace.InSlot>().Select(place => place.Slot).ToHashSet();
        return Enumerable.Range(1, day.Bench.Slots).Select(number => new SlotNumber(number))
            .Where(slot => !taken.Contains(slot));
    }

    private static IEnumerable<ReaderNumber> FreeReaders(BenchDay day, MidRun run)
    {
        var taken = run.Cartridges.Select(cartridge => cartridge.Phase.FindReader())
            .Concat(run.Steps.Select(step => step.Action.NeedsReader)).OfType<ReaderNumber>().ToHashSet();
        return Enumerable.Range(1, day.Bench.Readers).Select(number => new ReaderNumber(number))
            .Where(reader => !taken.Contains(reader));
    }
}
