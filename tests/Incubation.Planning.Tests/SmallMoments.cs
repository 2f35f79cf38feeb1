using Incubation.Model;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Planning.Tests;

/// <summary>Days in mid-run whose windows are open or about to be, small enough for plain trial.</summary>
internal static class SmallMoments
{
    private static readonly Instant Start = Instant.FromUtc(2026, 3, 2, 8, 0);
    private static readonly Instant Now = Start + Duration.FromMinutes(30);

    private static Duration Ticks(int ticks) => Duration.FromSeconds(ticks * TickedBench.SecondsOfTick);

    /// <summary>A day of a shape; all its times are whole ticks.</summary>
    public static BenchDay Make(ulong seed, string shape)
    {
        var random = new SeededRandom(seed);
        var two = shape.StartsWith("two", StringComparison.Ordinal);
        var mixtures = shape == "mixtures";
        var bench = new BenchSetup(two || (mixtures && random.Chance(0.3)) ? 2 : 1, random.Between(2, 4),
            two ? random.Between(1, 2) : 1, Ticks(random.Between(1, 4)), Ticks(random.Between(0, 3)), 0);
        List<Assay> assays = [.. Enumerable.Range(1, 2).Select(number => MakeAssay(random, bench, number))];
        var count = random.Between(2, two ? 3 : 4);
        List<Request> requests = [.. Enumerable.Range(1, count).Select(number => MakeRequest(random, assays, number))];
        var maker = new Maker(random, bench, assays, mixtures);
        foreach (var request in requests)
            maker.Begin(request);
        var run = maker.Run();
        var inWork = run.Cartridges.Select(one => one.Request)
            .Concat(run.Steps.Select(step => step.Action.Subject).OfType<RequestId>()).ToHashSet();
        return new BenchDay(Start, bench, assays, [.. requests.Where(request => inWork.Contains(request.Id))],
            shape == "calendar"
                ? [.. Enumerable.Range(0, random.Between(1, 2)).Select(_ => Closing(random, bench))] : [],
            run);
    }

    /// <summary>
    /// A bench whose reader holds a cartridge that was read, and another lot's card than the next cartridge needs; and
    /// when the window of that one closes.
    /// </summary>
    public static (BenchDay Day, Instant Close) OneThatNeedsACard()
    {
        var assay = new Assay(new AssayCode("A1"), "Assay", IncubationPlace.Incubator, Duration.FromSeconds(50),
            Duration.FromMinutes(2), Duration.FromSeconds(25), Duration.FromMinutes(8), Duration.FromSeconds(90),
            Duration.FromSeconds(15), Duration.FromSeconds(40), Duration.FromSeconds(10), Duration.FromSeconds(35),
            Duration.FromSeconds(15));
        Request Of(string id, string lot) => new(new RequestId(id), new SpecimenId("S" + id), assay.Code,
            new LotCode(lot), Start, RequestKind.Patient, true, Priority.Routine, null, null, []);
        var opens = Now + Duration.FromSeconds(30);
        var loadEnd = new InstantRange(opens - assay.Incubation, opens - assay.Incubation);
        return (new BenchDay(Start,
            new BenchSetup(1, 4, 1, Duration.FromSeconds(25), Duration.FromSeconds(15), 0), [assay],
            [Of("R1", "L1"), Of("R2", "L2"), Of("R3", "L1")], [],
            new MidRun(Now, [new CardInReader(new ReaderNumber(1), new LotCode("L1"))], [],
            [
                new CartridgeInWork(new RequestId("R1"), new CartridgePhase.Read(new ReaderNumber(1))),
                new CartridgeInWork(new RequestId("R2"), new CartridgePhase.Reacting(loadEnd,
                    new CartridgePlace.InSlot(new SlotNumber(3)))),
            ])), opens + assay.ReadWindow);
    }

    private static Assay MakeAssay(SeededRandom random, BenchSetup bench, int number)
    {
        var load = random.Between(1, 3);
        var loadShortest = random.Between(1, load);
        return new Assay(new AssayCode($"A{number}"), $"Assay {number}", IncubationPlace.Incubator,
            Ticks(random.Between(2, 5)), Ticks(random.Between(2, 8)), Ticks(load), Ticks(random.Between(3, 10)),
            bench.ReadGuard + Ticks(load - loadShortest + random.Between(1, 12)), Ticks(random.Between(1, 3)),
            Ticks(random.Between(2, 7)), Ticks(random.Between(1, 2)), Ticks(2), Ticks(loadShortest));
    }

    private static Request MakeRequest(SeededRandom random, List<Assay> assays, int number) => new(
        new RequestId($"R{number}"), new SpecimenId($"S{number}"), random.Pick(assays).Code,
        new LotCode($"L{random.Between(1, 2)}"), Start,
        random.Chance(0.2) ? RequestKind.Control : RequestKind.Patient, !random.Chance(0.2),
        random.Chance(0.2) ? Priority.Urgent : Priority.Routine, null, null, []);

    private static CalendarEntry Closing(SeededRandom random, BenchSetup bench)
    {
        var from = Now + Ticks(random.Between(0, 12));
        BenchResource resource = random.Between(0, 2) switch
        {
            0 => new BenchResource.Hands(new HandsNumber(1)),
            1 => new BenchResource.Slot(new SlotNumber(random.Between(1, bench.Slots))),
            _ => new BenchResource.Reader(new ReaderNumber(1)),
        };
        return new CalendarEntry(resource, from, from + Ticks(random.Between(2, 12)), null);
    }

    /// <summary>Puts cartridges where they can be.</summary>
    private sealed class Maker(SeededRandom random, BenchSetup bench, List<Assay> assays, bool mixtures)
    {
        private readonly Stack<int> slots = new(Enumerable.Range(1, bench.Slots));
        private readonly Stack<int> hands = new(Enumerable.Range(1, bench.Hands));
        private readonly Stack<int> readers = new(Enumerable.Range(1, bench.Readers));
        private readonly List<CartridgeInWork> cartridges = [];
        private readonly List<StepInProgress> steps = [];
        private readonly List<CardInReader> cards = [];

        public MidRun Run()
        {
            while (readers.TryPop(out var reader))
            {
                cards.Add(new CardInReader(new ReaderNumber(reader), new LotCode($"L{random.Between(1, 2)}")));
                if (random.Chance(0.15) && hands.TryPop(out var pair))
                    steps.Add(new StepInProgress(new StepAction.CardChange(new ReaderNumber(reader),
                        new LotCode($"L{random.Between(1, 2)}")), new HandsNumber(pair),
                        Now - Ticks(random.Between(0, 4))));
            }

            return new MidRun(Now, cards, steps, cartridges);
        }

        public void Begin(Request request)
        {
            var assay = assays.Single(one => one.Code == request.Assay);
            var kind = random.Between(0, mixtures ? 5 : 9);
            if (kind == 0 && readers.TryPop(out var reader))
                Lies(request, assay, new ReaderNumber(reader));
            else if (mixtures && kind == 1 && hands.TryPop(out var pair))
                steps.Add(new StepInProgress(new StepAction.Mix(request.Id), new HandsNumber(pair),
                    Now - Ticks(random.Between(0, 6))));
            else if (mixtures && kind <= 3)
                cartridges.Add(new CartridgeInWork(request.Id, new CartridgePhase.Mixed(Ended(
                    Now - Ticks(random.Between(0, 4))))));
            else if (slots.TryPop(out var slot))
                Reacts(request, assay, new CartridgePlace.InSlot(new SlotNumber(slot)));
        }

        private InstantRange Ended(Instant latest) => new(latest - Ticks(random.Between(0, 1)), latest);

        private void Lies(Request request, Assay assay, ReaderNumber reader)
        {
            cards.Add(new CardInReader(reader, request.Lot));
            cartridges.Add(new CartridgeInWork(request.Id, random.Chance(0.5) ? new CartridgePhase.Read(reader)
                : new CartridgePhase.Reading(reader, Now - Ticks(random.Between(0, 8)))));
            if (cartridges[^1].Phase is CartridgePhase.Read && random.Chance(0.3) && hands.TryPop(out var pair))
                steps.Add(new StepInProgress(new StepAction.Clear(request.Id, reader), new HandsNumber(pair),
                    Now - Ticks(random.Between(0, 2))));
        }

        private void Reacts(Request request, Assay assay, CartridgePlace.InSlot slot)
        {
            if (random.Chance(0.1) && hands.TryPop(out var pair))
            {
                cartridges.Add(new CartridgeInWork(request.Id, new CartridgePhase.Mixed(Ended(Now - Ticks(3)))));
                steps.Add(new StepInProgress(new StepAction.Load(request.Id, slot), new HandsNumber(pair),
                    Now - Ticks(random.Between(0, 4))));
                return;
            }

            var opens = Now + Ticks(random.Between(-8, 10));
            cartridges.Add(new CartridgeInWork(request.Id,
                new CartridgePhase.Reacting(Ended(opens - assay.Incubation), slot)));
        }
    }
}
