using System.Globalization;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench.Tests;

/// <summary>What was truly done with a cartridge: the ends of its steps so far, and where.</summary>
internal sealed record Truth(Instant? Mixed = null, CartridgePlace? LoadedIn = null, Instant? Loaded = null,
    CartridgePlace? ReadIn = null, Instant? Read = null, Instant? Out = null, bool IsThrown = false)
{
    /// <summary>Where it lies; null where it lies in no slot and no reader.</summary>
    public CartridgePlace? Place => IsThrown || Out is not null ? null : ReadIn ?? LoadedIn;
}

/// <summary>
/// A day with a truth of its own, of which the bench is told a part: people who do things in their own order, in places
/// of their own choice, and forget, mistake or invent reports.
/// </summary>
internal sealed class ToldDay
{
    private const int Cartridges = 5;
    private const int Slots = 4;

    private readonly Random random;
    private readonly Dictionary<RequestId, Truth> truth = [];
    private readonly int readers;
    private static int count;

    public ToldDay(Random random)
    {
        this.random = random;
        readers = random.Next(1, 3);
        var scene = Scene.Open(hands: random.Next(1, 3), slots: Slots, readers: readers);
        var requests = Enumerable.Range(1, Cartridges).Select(number => Scene.Request(
            "R" + number.ToString(CultureInfo.InvariantCulture),
            Scene.Assay("A" + number.ToString(CultureInfo.InvariantCulture),
                (IncubationPlace)(random.Next(3) == 0 ? random.Next(3) : 0)))).ToArray();
        scene.Say(0, new BenchCommand.AddRequests(requests));
        scene.Say(0, new BenchCommand.StartBatch());
        scene.Plan(0);
        State = scene.Now;
        Now = Scene.At(1);
        foreach (var wanted in requests)
            truth[wanted.Request.Id] = new Truth();
    }

    public BenchState State { get; private set; }

    public Instant Now { get; private set; }

    public Truth TruthOf(RequestId request) => truth[request];

    /// <summary>So many things happen; some are told, some otherwise than they were, some not at all.</summary>
    public void GoOn(int steps)
    {
        for (var step = 0; step < steps; step++)
        {
            Now += Duration.FromSeconds(random.Next(15, 120));
            Do();
            if (random.Next(3) > 0)
                Plan();
        }
    }

    /// <summary>A cartridge of which the bench believes something else than is true; null where it knows all.</summary>
    public RequestId? Untrue()
    {
        // Where two are believed in one place, the one that is not there is told first.
        var wrong = truth.Keys.Where(request => !IsBelieved(request)).ToList();
        return wrong.Count == 0 ? null
            : wrong.OrderBy(request => State.Find(request)!.Stage is CartridgeStage.Astray).First();
    }

    /// <summary>Tells one thing that is true of a cartridge; false where no telling says it.</summary>
    public bool TellTruth(RequestId request)
    {
        Now += Duration.FromSeconds(1);
        var real = truth[request];
        var can = Tellings.List(State, Now).FirstOrDefault(cartridge => cartridge.Request == request)?.Can ?? [];
        foreach (var (what, place, at) in Says(State.Find(request)!, real))
            if (can.FirstOrDefault(one => one.What == what
                && (place is null ? one.Places.IsEmpty : one.Places.Contains(place))) is { } telling
                && (at is null || telling.Earliest is null || at >= telling.Earliest)
                && Tell(State, telling, place, at ?? Now, Now) is { } after)
            {
                State = after;
                Plan();
                return true;
            }

        return false;
    }

    public static Provenance Said(Instant at, Instant? arrived = null) => new(
        new ReportId($"D{Interlocked.Increment(ref count)}"), at, arrived ?? at, new PersonId("aide"),
        new DeviceId("other"));

    /// <summary>The bench after a telling; null where it was refused.</summary>
    public static BenchState? Tell(BenchState state, Telling telling, CartridgePlace? place, Instant at, Instant now)
    {
        foreach (var said in telling.Says(place, at, now, "So it is"))
            if (Apply(state, said.Command, Said(said.At, now)) is { } after)
                state = after;
            else
                return null;
        return state;
    }

    private static BenchState? Apply(BenchState state, BenchCommand command, Provenance said) =>
        LiveBench.Decide(state, command, said) is Decision.Accepted accepted
            ? accepted.Entries(said).Aggregate(state, (before, entry) => LiveBench.Apply(before, entry)) : null;

    private void Plan()
    {
        foreach (var adopt in PlanReplacement.Propose(State, Now, PlanCause.Report, 1, new IterationBudget(20)))
            if (Apply(State, adopt, Said(Now)) is { } after)
            {
                State = after;
                return;
            }
    }

    /// <summary>Whether the bench believes what is true of a cartridge, give or take what a person can state.</summary>
    private bool IsBelieved(RequestId request)
    {
        var (real, cartridge) = (truth[request], State.Find(request)!);
        return cartridge.Stage switch
        {
            CartridgeStage.Discarded => real.IsThrown,
            _ when real.IsThrown => false,
            CartridgeStage.Waiting => real.Mixed is null,
            CartridgeStage.Cleared => real.Out is not null,
            CartridgeStage.InWork { Phase: CartridgePhase.Mixed mixed } =>
                real is { Mixed: { } at, Loaded: null } && Holds(mixed.MixEnd, at),
            CartridgeStage.InWork { Phase: CartridgePhase.Reacting reacting } =>
                real is { Loaded: { } at, Read: null, Out: null } && real.Place == reacting.Place
                    && Holds(reacting.LoadEnd, at),
            CartridgeStage.InWork { Phase: CartridgePhase.Reading reading } =>
                real is { Read: { } at, Out: null } && real.Place == new CartridgePlace.InReader(reading.Reader)
                    && Holds(new InstantRange(reading.Start, reading.Start), at),
            _ => false,
        };
    }

    private static bool Holds(InstantRange believed, Instant at) =>
        at >= believed.Earliest - Duration.FromSeconds(5) && at <= believed.Latest + Duration.FromSeconds(5);

    /// <summary>One thing that somebody truly does, and what is told of it.</summary>
    private void Do()
    {
        var request = truth.Keys.ElementAt(random.Next(truth.Count));
        var (real, assay) = (truth[request], State.Find(request)!.Wanted.Assay);
        var taken = truth.Values.Select(one => one.Place).OfType<CartridgePlace>().ToHashSet();
        var slots = Places(Slots, number => Scene.Slot(number)).Where(place => !taken.Contains(place)).ToList();
        var inside = Places(readers, InReader).Where(place => !taken.Contains(place)).ToList();
        if (real.IsThrown || real.Out is not null)
            return;
        if (random.Next(12) == 0 && real.Mixed is not null)
            Does(real with { IsThrown = true }, new BenchCommand.Discarded(request, DiscardReason.Bubbles, null));
        else if (random.Next(12) == 0)
            Told(Invented(request, real));
        else if (real.Mixed is null)
            Does(real with { Mixed = Now }, new BenchCommand.Mixed(request));
        else if (real.LoadedIn is null)
        {
            var into = assay.Place == IncubationPlace.Reader ? inside : slots;
            if (into.Count == 0)
                return;
            var place = into[random.Next(into.Count)];
            Does(real with { LoadedIn = place, Loaded = Now }, new BenchCommand.Loaded(request,
                place is CartridgePlace.InSlot && random.Next(5) == 0 ? Scene.Slot(random.Next(1, Slots + 1)) : place,
                TimeStated: true));
        }
        else if (real is { Read: null, LoadedIn: CartridgePlace.InSlot })
        {
            if (inside.Count == 0)
                return;
            var into = (CartridgePlace.InReader)inside[random.Next(inside.Count)];
            Does(real with { ReadIn = into, Read = Now }, new BenchCommand.ReadStarted(request, into.Reader, false));
        }
        else
            Does(real with { Out = Now }, new BenchCommand.Cleared(request,
                ((CartridgePlace.InReader)real.Place!).Reader));

        void Does(Truth then, BenchCommand report)
        {
            truth[request] = then;
            if (random.Next(3) > 0)
                Told(report);
        }

        // Some say another time than it was.
        void Told(BenchCommand report) => State = Apply(State, report, Said(
            random.Next(6) == 0 ? Now - Duration.FromSeconds(random.Next(8, 14)) : Now, Now)) ?? State;
    }

    /// <summary>A tap of something that nobody has done: the next step of a cartridge.</summary>
    private BenchCommand Invented(RequestId request, Truth real) => real switch
    {
        { Mixed: null } => new BenchCommand.Mixed(request),
        { LoadedIn: null } => new BenchCommand.Loaded(request, Scene.Slot(random.Next(1, Slots + 1)), false),
        { Read: null, LoadedIn: CartridgePlace.InSlot } =>
            new BenchCommand.ReadStarted(request, new ReaderNumber(random.Next(1, readers + 1)), false),
        _ => new BenchCommand.Cleared(request, ((CartridgePlace.InReader)real.Place!).Reader),
    };

    private static IEnumerable<CartridgePlace> Places(int number, Func<int, CartridgePlace> place) =>
        Enumerable.Range(1, number).Select(place);

    private static CartridgePlace InReader(int number) => new CartridgePlace.InReader(new ReaderNumber(number));

    /// <summary>What a person would tell of a cartridge: the first of it that is offered.</summary>
    private IEnumerable<(TellingKind What, CartridgePlace? Place, Instant? At)> Says(Cartridge believed, Truth real)
    {
        var reached = believed.Reached;
        if (real.IsThrown)
        {
            yield return (TellingKind.Gone, null, null);
            yield return (TellingKind.Mixed, null, real.Mixed);
            foreach (var reader in Places(readers, InReader))
                yield return (TellingKind.StillHere, reader, null);
            yield break;
        }

        if (believed.Stage is CartridgeStage.Discarded)
        {
            foreach (var place in Places(Slots, number => Scene.Slot(number)).Concat(Places(readers, InReader))
                .OrderByDescending(place => place == real.Place))
                yield return (TellingKind.NotThrownAway, place, null);
            yield return (TellingKind.NotThrownAway, null, null);
        }
        else if (believed.Stage is CartridgeStage.Cleared)
            foreach (var reader in Places(readers, InReader))
                yield return (TellingKind.StillHere, reader, null);
        else if (believed.Stage is CartridgeStage.Waiting)
            yield return real.Loaded is null ? (TellingKind.Mixed, null, real.Mixed)
                : (TellingKind.Loaded, real.LoadedIn, real.Loaded);
        else if (reached is CartridgePhase.Mixed)
        {
            if (real.Loaded is not null)
                yield return (TellingKind.Loaded, real.LoadedIn, real.Loaded);
            else if (real.Mixed is not null)
                yield return (TellingKind.OtherTime, null, real.Mixed);
            // Told twice: taken back, and told as it was.
            yield return (TellingKind.NotMixed, null, null);
        }
        else if (reached is CartridgePhase.Reacting { Place: var lies })
        {
            if (real.Loaded is null)
                yield return (TellingKind.StillMixed, null, null);
            else if (real.ReadIn is { } into && lies is CartridgePlace.InSlot)
                yield return (TellingKind.ReadStarted, into, real.Read);
            else if (real.Out is { } taken)
                yield return (TellingKind.Cleared, lies, taken);
            else if (real.Place != lies)
                yield return (TellingKind.Elsewhere, real.Place, null);
            else
            {
                yield return (TellingKind.OtherTime, null, real.Loaded);
                yield return (TellingKind.StillMixed, null, null);
            }
        }
        else if (reached is CartridgePhase.Reading { Reader: var reader })
        {
            CartridgePlace inside = new CartridgePlace.InReader(reader);
            if (real.Read is null)
                foreach (var slot in Places(Slots, number => Scene.Slot(number))
                    .OrderByDescending(place => place == real.Place))
                    yield return (TellingKind.Elsewhere, slot, null);
            else if (real.Out is { } taken)
                yield return (TellingKind.Cleared, inside, taken);
            else if (real.ReadIn != inside)
                yield return (TellingKind.Elsewhere, real.ReadIn, null);
            else
            {
                yield return (TellingKind.OtherTime, null, real.Read);
                yield return (TellingKind.Elsewhere, real.LoadedIn, null);
            }
        }
    }
}
