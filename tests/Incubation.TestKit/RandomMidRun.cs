using Incubation.Model;
using NodaTime;

namespace Incubation.TestKit;

/// <summary>
/// Random states of a bench in mid-run: what lies where does not exclude itself (one cartridge a slot and a reader, one
/// step a pair of hands, the card of a reader's cartridge in that reader), ages are such as slow and quick hands leave
/// them, and now and then a window that has closed.
/// </summary>
internal sealed class RandomMidRun
{
    private readonly SeededRandom random;
    private readonly Dictionary<AssayCode, Assay> assays;
    private readonly Instant now;
    private readonly bool wholeSeconds;
    private readonly Stack<int> freeSlots;
    private readonly Stack<int> freeReaders;
    private readonly Stack<int> freeHands;
    private readonly List<CardInReader> cards = [];
    private readonly List<StepInProgress> steps = [];
    private readonly List<CartridgeInWork> cartridges = [];

    private RandomMidRun(SeededRandom random, BenchSetup bench, IReadOnlyList<Assay> assays)
    {
        this.random = random;
        this.assays = assays.ToDictionary(a => a.Code);
        wholeSeconds = random.Chance(0.5);
        freeSlots = new Stack<int>(random.Shuffled(Enumerable.Range(1, bench.Slots)));
        freeReaders = new Stack<int>(random.Shuffled(Enumerable.Range(1, bench.Readers)));
        freeHands = new Stack<int>(random.Shuffled(Enumerable.Range(1, bench.Hands)));
        now = RandomDays.Start + Span(0, 5400);
    }

    /// <summary>A state in which some of the requests are in work.</summary>
    public static MidRun Make(SeededRandom random, BenchSetup bench, IReadOnlyList<Assay> assays,
        IReadOnlyList<Request> requests)
    {
        var maker = new RandomMidRun(random, bench, assays);
        var share = random.Between(20, 100) / 100.0;
        foreach (var request in requests)
            if (random.Chance(share))
                maker.Begin(request);
        maker.SettleFreeReaders(requests);
        return new MidRun(maker.now, maker.cards, maker.steps, maker.cartridges);
    }

    /// <summary>
    /// The requests with what a cartridge in work has already waited for taken out: what it comes after has been
    /// cleared and so is absent, its specimen was ready.
    /// </summary>
    public static List<Request> WithoutBegunOrders(SeededRandom random, IReadOnlyList<Request> requests, MidRun run)
    {
        var begun = run.Cartridges.Select(c => c.Request)
            .Concat(run.Steps.Select(s => s.Action.Subject).OfType<RequestId>()).ToHashSet();
        return requests.Select(request =>
        {
            if (begun.Contains(request.Id))
                return request with { After = [], Ready = Instant.Min(request.Ready, RandomDays.Start) };
            return random.Chance(0.1) ? request with { After = [.. request.After, new RequestId("R99")] } : request;
        }).ToList();
    }

    private Duration Span(int low, int high) =>
        wholeSeconds ? Duration.FromSeconds(random.Between(low, high))
            : Duration.FromMilliseconds(random.Between(low * 1000, high * 1000));

    private Duration Share(Duration of) =>
        wholeSeconds
            ? Duration.FromSeconds((long)(of.TotalSeconds * random.Between(0, 100) / 100))
            : Duration.FromMilliseconds((long)(of.TotalMilliseconds * random.Between(0, 1000) / 1000));

    /// <summary>
    /// An end that was so long ago, known as an interval as wide as the step's spread and a tap's delay make it.
    /// </summary>
    private InstantRange Ended(Duration ago, Duration spread) =>
        new(Instant.Max(RandomDays.Start - Duration.FromHours(1), now - ago - Share(spread)), now - ago);

    private void Begin(Request request)
    {
        var assay = assays[request.Assay];
        switch (random.Between(0, 9))
        {
            case 0: BeginMix(request, assay); break;
            case 1: Mixed(request, assay); break;
            case 2: ReadOrReading(request, assay); break;
            case 3 when assay.Place != IncubationPlace.Incubator: ReactingInReader(request, assay); break;
            default: ReactingInSlot(request, assay); break;
        }
    }

    private void BeginMix(Request request, Assay assay)
    {
        if (freeHands.TryPop(out var hands))
            steps.Add(new StepInProgress(new StepAction.Mix(request.Id), new HandsNumber(hands), Begun(assay.Mix)));
    }

    /// <summary>The start of a step in progress: mostly within its allowed length, sometimes long overdue.</summary>
    private Instant Begun(Duration length) => now - (random.Chance(0.15) ? length + Span(0, 90) : Share(length));

    private void Mixed(Request request, Assay assay)
    {
        var age = random.Chance(0.1) ? assay.MixToLoad + Span(0, 20) : Share(assay.MixToLoad);
        cartridges.Add(
            new CartridgeInWork(request.Id, new CartridgePhase.Mixed(Ended(age, assay.Mix - assay.MixShortest))));
        if (!random.Chance(0.4) || freeHands.Count == 0)
            return;
        CartridgePlace place;
        if (assay.Place != IncubationPlace.Reader && freeSlots.TryPop(out var slot))
            place = new CartridgePlace.InSlot(new SlotNumber(slot));
        else if (assay.Place != IncubationPlace.Incubator && freeReaders.TryPop(out var reader))
        {
            place = new CartridgePlace.InReader(new ReaderNumber(reader));
            cards.Add(new CardInReader(new ReaderNumber(reader), request.Lot));
        }
        else
            return;
        steps.Add(new StepInProgress(new StepAction.Load(request.Id, place), new HandsNumber(freeHands.Pop()),
            Begun(assay.Load)));
    }

    private void ReadOrReading(Request request, Assay assay)
    {
        if (!freeReaders.TryPop(out var number))
            return;
        var reader = new ReaderNumber(number);
        cards.Add(new CardInReader(reader, request.Lot));
        if (random.Chance(0.5))
        {
            cartridges.Add(new CartridgeInWork(request.Id, new CartridgePhase.Reading(reader, Begun(assay.Read))));
            return;
        }

        cartridges.Add(new CartridgeInWork(request.Id, new CartridgePhase.Read(reader)));
        if (random.Chance(0.5) && freeHands.TryPop(out var hands))
            steps.Add(new StepInProgress(new StepAction.Clear(request.Id, reader), new HandsNumber(hands),
                Begun(assay.Clear)));
    }

    private void ReactingInReader(Request request, Assay assay)
    {
        if (!freeReaders.TryPop(out var number))
            return;
        var reader = new ReaderNumber(number);
        cards.Add(new CardInReader(reader, request.Lot));
        cartridges.Add(new CartridgeInWork(request.Id, new CartridgePhase.Reacting(
            Ended(Share(assay.Incubation + assay.Read), assay.Load - assay.LoadShortest),
                new CartridgePlace.InReader(reader))));
    }

    private void ReactingInSlot(Request request, Assay assay)
    {
        if (assay.Place == IncubationPlace.Reader || !freeSlots.TryPop(out var slot))
            return;
        var spread = assay.Load - assay.LoadShortest;
        var age = random.Between(0, 9) switch
        {
            0 => assay.Incubation + Share(assay.ReadWindow),
            1 when random.Chance(0.4) => assay.Incubation + assay.ReadWindow + Span(0, 60),
            _ => Share(assay.Incubation),
        };
        var loadEnd = Ended(age, spread);
        cartridges.Add(
            new CartridgeInWork(request.Id,
                new CartridgePhase.Reacting(loadEnd, new CartridgePlace.InSlot(new SlotNumber(slot)))));
        var toOpening = loadEnd.Latest + assay.Incubation - now;
        if (freeHands.Count == 0)
            return;
        if (toOpening <= assay.Move && toOpening > -assay.ReadWindow / 2 && random.Chance(0.5)
            && freeReaders.TryPop(out var number))
        {
            var reader = new ReaderNumber(number);
            cards.Add(new CardInReader(reader, request.Lot));
            steps.Add(new StepInProgress(new StepAction.Move(request.Id, reader), new HandsNumber(freeHands.Pop()),
                Begun(assay.Move)));
        }
        else if (toOpening < -assay.ReadWindow && random.Chance(0.3))
            steps.Add(new StepInProgress(new StepAction.Discard(request.Id), new HandsNumber(freeHands.Pop()),
                Begun(assay.Clear)));
    }

    private void SettleFreeReaders(IReadOnlyList<Request> requests)
    {
        foreach (var number in freeReaders)
        {
            var reader = new ReaderNumber(number);
            if (random.Chance(0.6))
                cards.Add(new CardInReader(reader, random.Pick(requests).Lot));
            if (random.Chance(0.15) && freeHands.TryPop(out var hands))
                steps.Add(new StepInProgress(
                    new StepAction.CardChange(reader, random.Pick(requests).Lot), new HandsNumber(hands),
                        now - Span(0, 30)));
        }
    }
}
