using System.Collections.Immutable;
using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Simulation.Capacity;

/// <summary>
/// Plays one day of a demand at a bench: requests go to the bench as they come, a batch is begun with the first that
/// waits and closed as soon as nothing is left in it. The bench and its planner are the real ones; the adopted plan is
/// pulled earlier after each report, and a search is made only where demand changes or a step has left its spare time.
/// </summary>
public sealed class CapacityDay
{
    /// <summary>For each search; counted, so that a seed always gives the same day. More gives little.</summary>
    private const long SearchIterations = 30;

    /// <summary>
    /// At most so many requests stand in a plan before they are mixed; others wait at the door, urgent ones never. A
    /// plan for more than a bench can begin in the next while costs much and gains nothing.
    /// </summary>
    private const int MaxPlanned = 8;

    /// <summary>What waits at the door is let in when fewer than this stand in the plan.</summary>
    private const int LeastPlanned = 4;

    private static readonly Instant Midnight = Instant.FromUtc(2026, 1, 5, 0, 0);
    private static readonly BenchId Bench = new("bench");

    private readonly CapacityQuestion question;
    private readonly Dictionary<AssayCode, Assay> assays;
    private readonly VirtualBench bench;
    private readonly Queue<BenchRequest> door = [];
    private readonly Dictionary<RequestId, (int Index, Arrival Arrival)> came = [];
    private readonly PlayedRequest?[] played;
    private int named;

    private CapacityDay(CapacityQuestion question, ImmutableArray<Arrival> arrivals, ulong seed)
    {
        this.question = question;
        assays = question.Assays.ToDictionary(assay => assay.Code);
        played = new PlayedRequest?[arrivals.Length];
        var start = Midnight + question.Demand.Open;
        bench = new VirtualBench(start, seed, new Hands(this, new HandsLengths(question.Times, seed)),
            () => new IterationBudget(SearchIterations), SearchPolicy.Frugal);
        bench.Say(new BenchCommand.OpenBench(Bench, Bench.Value, question.Bench, Duration.Zero), VirtualBench.Host);
    }

    /// <summary>Plays a day whose requests come by chance.</summary>
    /// <param name="question">The bench and the demand.</param>
    /// <param name="seed">Seed of every chance: the same seed brings the same requests, and hands as quick, to every
    /// bench.</param>
    public static PlayedDay Play(CapacityQuestion question, ulong seed)
    {
        ArgumentNullException.ThrowIfNull(question);
        return Play(question, Arrivals.Draw(question.Demand, Seeds.Mix(seed, 0)), seed);
    }

    /// <summary>Plays a day with these requests.</summary>
    public static PlayedDay Play(CapacityQuestion question, ImmutableArray<Arrival> arrivals, ulong seed)
    {
        ArgumentNullException.ThrowIfNull(question);
        var day = new CapacityDay(question, arrivals, Seeds.Mix(seed, 1));
        day.Play(arrivals);
        return day.Result(arrivals);
    }

    /// <summary>Plays a bench for which more waits than it can do, from its opening time.</summary>
    /// <param name="question">The bench; of the demand only what part each assay has of it counts.</param>
    /// <param name="seed">Seed of every chance.</param>
    internal static StretchedRun Stretch(CapacityQuestion question, ulong seed)
    {
        var waiting = StretchedRun.Waiting(question.Demand, Seeds.Mix(seed, 0));
        var day = new CapacityDay(question, waiting, Seeds.Mix(seed, 1));
        day.Play(waiting);
        return StretchedRun.Of(day.bench.Steps);
    }

    private void Play(ImmutableArray<Arrival> arrivals)
    {
        foreach (var arrival in arrivals)
        {
            PlayUntil(Midnight + arrival.At);
            Receive(arrival);
        }

        PlayUntil(null);
    }

    /// <summary>Hands that let in who waits at the door as soon as there is room in the plan.</summary>
    private sealed class Hands(CapacityDay day, HandsLengths lengths) : VirtualHands
    {
        public override Duration LengthOf(StepAction action, Duration allowed) => lengths.Of(action, allowed);

        public override IEnumerable<BenchCommand> Then(StepAction done, VirtualBench bench)
        {
            if (done is StepAction.Clear clear)
                yield return new BenchCommand.ResultEntered(clear.Request, new ShownResult.Value("1"));
            if (done is StepAction.Mix or StepAction.Discard && day.LetIn() is { Count: > 0 } more)
                yield return new BenchCommand.AddRequests(more);
        }
    }

    private void PlayUntil(Instant? until)
    {
        while (!bench.PlayUntil(until))
        {
            // Nothing is left to do: what is over is closed, and what waits begins the next batch.
            if (bench.State.Phase == BatchPhase.Running)
                CloseBatch();
            if (door.Count > 0)
                Bring(LetIn());
            else if (until is { } end)
                bench.WaitUntil(end);
            if (door.Count == 0 && bench.State.Phase != BatchPhase.Running)
                return;
        }
    }

    private const string NotRun = "not run on the simulated day";

    private void CloseBatch()
    {
        foreach (var cartridge in bench.State.Cartridges)
            Settle(cartridge);
        foreach (var left in bench.State.Cartridges.Where(cartridge => cartridge.Stage is CartridgeStage.Waiting)
            .ToList())
            bench.Say(new BenchCommand.WithdrawRequest(left.Id, NotRun), VirtualBench.Host);
        foreach (var open in Fates.Open(bench.State).ToList())
            bench.Say(new BenchCommand.GiveUpRequest(open.Id, NotRun, Confirmed: true), VirtualBench.Host);
        bench.Say(new BenchCommand.CloseBatch(), VirtualBench.Host);
    }

    private void Settle(Cartridge cartridge)
    {
        var (index, arrival) = came[cartridge.Id];
        var (left, end) = cartridge.Stage switch
        {
            CartridgeStage.Cleared cleared =>
                (cleared.End, cartridge.ReadInWindow == true ? CartridgeEnd.ReadInWindow : CartridgeEnd.Missed),
            CartridgeStage.Discarded discarded => (discarded.End, CartridgeEnd.Missed),
            _ => (bench.Now, CartridgeEnd.NotRun),
        };
        played[index] = new PlayedRequest(arrival.At, arrival.Priority, end, left - Midnight);
    }

    private void Receive(Arrival arrival)
    {
        var assay = assays[arrival.Assay];
        var name = string.Create(CultureInfo.InvariantCulture, $"{named}");
        var request = new Request(
            new RequestId(name), new SpecimenId(name), assay.Code, new LotCode(assay.Code.Value), Midnight
                + arrival.At, RequestKind.Patient,
            true, arrival.Priority, null, null, []);
        came[request.Id] = (named++, arrival);
        var wanted = new BenchRequest(request, assay, 1, "1");
        if (HasRoom && (arrival.Priority == Priority.Urgent || (door.Count == 0 && Waiting < MaxPlanned)))
            Bring([wanted]);
        else
            door.Enqueue(wanted);
    }

    private int Waiting => bench.State.Cartridges.Count(cartridge => cartridge.Stage is CartridgeStage.Waiting);

    private bool HasRoom => bench.State.Cartridges.Length < BenchDay.MaximumRequests;

    private List<BenchRequest> LetIn()
    {
        var more = new List<BenchRequest>();
        var waiting = Waiting;
        if (waiting < LeastPlanned)
            while (door.Count > 0 && waiting + more.Count < MaxPlanned
                && bench.State.Cartridges.Length + more.Count < BenchDay.MaximumRequests)
                more.Add(door.Dequeue());
        return more;
    }

    private void Bring(IReadOnlyList<BenchRequest> wanted)
    {
        if (bench.State.Phase == BatchPhase.Running)
        {
            bench.Tell(new BenchCommand.AddRequests(wanted), VirtualBench.Host);
            return;
        }

        bench.Say(new BenchCommand.AddRequests(wanted), VirtualBench.Host);
        bench.Tell(new BenchCommand.StartBatch(), VirtualBench.Host);
    }

    private PlayedDay Result(ImmutableArray<Arrival> arrivals)
    {
        var (open, close) = (question.Demand.Open, question.Demand.Close);
        ImmutableArray<PlayedRequest> requests = [.. played.Select(request => request!)];
        return new PlayedDay(
            requests, DayUse.InSystem(arrivals, bench.Entries, Midnight), open, requests.Select(request => request.Left)
                .Append(close).Max(),
            DayUse.Of(bench.Steps, Midnight + open, Midnight + close));
    }
}
