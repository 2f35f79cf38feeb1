using System.Collections.Immutable;
using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Simulation;

/// <summary>How a batch went.</summary>
/// <param name="Cartridges">Requests of the batch.</param>
/// <param name="ReadInWindow">Reads that started inside their window.</param>
/// <param name="ReadOutside">Reads that did not.</param>
/// <param name="Discarded">Cartridges thrown away.</param>
/// <param name="Finish">From the start to the last clear.</param>
/// <param name="LeastSpare">The least spare time with which a step that had a window to keep began; null when none had.</param>
/// <param name="MedianSpare">The median of those spare times.</param>
public sealed record DaySummary(int Cartridges, int ReadInWindow, int ReadOutside, int Discarded, Duration Finish, Duration? LeastSpare, Duration? MedianSpare);

/// <summary>A simulated day.</summary>
/// <param name="Entries">What the bench recorded, entry by entry.</param>
/// <param name="State">The bench at the end.</param>
/// <param name="Steps">What the virtual hands and readers really did, in the order in which hands' steps ended.</param>
/// <param name="Summary">How it went.</param>
public sealed record SimulatedRun(ImmutableArray<BenchEntry> Entries, BenchState State, ImmutableArray<DoneStep> Steps, DaySummary Summary);

/// <summary>Runs one batch on virtual time: the real bench, the real planner, virtual hands.</summary>
public sealed class SimulatedDay
{
    /// <summary>A batch that has not ended after so many turns never will.</summary>
    private const int MostTurns = 200_000;

    private static readonly PersonId Aide = new("virtual aide");
    private static readonly PersonId Host = new("bench");
    private static readonly DeviceId Device = new("simulation");

    private readonly VirtualAide aide;
    private readonly HandsLengths lengths;
    private readonly Func<ISearchBudget> budget;
    private readonly ulong seed;
    private readonly List<BenchEntry> entries = [];
    private readonly List<DoneStep> steps = [];
    private readonly List<Duration> spares = [];
    private readonly Dictionary<int, (StepAction Action, Instant Begun, Instant Finish)> busy = [];
    private PlanPolicy? policy;
    private BenchState? state;
    private Instant now;
    private Instant notBefore;
    private int count;

    private SimulatedDay(ulong seed, StepTimes times, Func<ISearchBudget> budget, Instant start)
    {
        this.seed = seed;
        this.budget = budget;
        aide = new VirtualAide(times, new Random(unchecked((int)seed)));
        lengths = new HandsLengths(times, seed);
        now = start;
    }

    /// <summary>Plays a batch from its start to the last clear and result.</summary>
    /// <param name="open">The bench.</param>
    /// <param name="requests">What is wanted.</param>
    /// <param name="start">When the batch starts.</param>
    /// <param name="seed">Seed of every chance.</param>
    /// <param name="times">How long steps take.</param>
    /// <param name="budget">Makes the search budget of each re-plan.</param>
    /// <param name="policy">How the adopted plan is kept; as the live bench does where none is given.</param>
    public static SimulatedRun Run(BenchCommand.OpenBench open, IReadOnlyList<BenchRequest> requests, Instant start, ulong seed, StepTimes times, Func<ISearchBudget> budget, PlanPolicy? policy = null)
    {
        var day = new SimulatedDay(seed, times, budget, start) { policy = policy };
        day.Say(open, Host);
        day.Say(new BenchCommand.AddRequests(requests), Host);
        day.Say(new BenchCommand.StartBatch(), Aide);
        day.Plan(PlanCause.BatchStarted);
        day.Play();
        return day.Result(start);
    }

    private BenchState State => state ?? throw new InvalidOperationException("The bench is not open yet.");

    private void Play()
    {
        for (var turn = 0; turn < MostTurns; turn++)
        {
            Begin();
            if (Next() is not { } next)
                return;
            now = Instant.Max(now, next);
            if (!Finish() && ReplanAt() <= now)
                Plan(PlanCause.StepOverran);
        }
        throw new InvalidOperationException(string.Create(CultureInfo.InvariantCulture, $"The day with seed {seed} did not end in {MostTurns} turns."));
    }

    /// <summary>Hands that are idle begin what they are offered, as soon as it may begin and what it needs is there.</summary>
    private void Begin()
    {
        foreach (var offer in LiveBench.Offers(State))
        {
            if (busy.ContainsKey(offer.Hands.Value) || offer.MayBegin > now || !LiveBench.CanBegin(State, offer.Action, now))
                continue;
            if (offer.LatestStart is { } latest)
                spares.Add(latest - now);
            // Hands that are quicker than a read may start hold until it may.
            var ends = now + lengths.Of(offer.Action, offer.PlannedEnd - offer.MayBegin);
            busy[offer.Hands.Value] = (offer.Action, now, Instant.Max(ends, offer.ReportFrom));
        }
    }

    /// <summary>When something happens next: a step ends, one may begin, or the plan is made anew; null where no step is left.</summary>
    private Instant? Next()
    {
        var offers = LiveBench.Offers(State);
        if (busy.Count == 0 && offers.IsEmpty)
            return null;
        var next = ReplanAt() ?? Instant.MaxValue;
        foreach (var (_, _, finish) in busy.Values)
            next = Instant.Min(next, finish);
        foreach (var offer in offers)
            if (offer.MayBegin > now && !busy.ContainsKey(offer.Hands.Value))
                next = Instant.Min(next, offer.MayBegin);
        return next < Instant.MaxValue ? next : null;
    }

    private Instant? ReplanAt() =>
        LiveBench.ReplanAt(State, now) is { } due ? Instant.Max(due, notBefore) : null;

    /// <summary>Reports the first step that has ended by now.</summary>
    private bool Finish()
    {
        var ended = busy.Where(b => b.Value.Finish <= now).OrderBy(b => b.Value.Finish).ThenBy(b => b.Key).Take(1).ToList();
        if (ended.Count == 0)
            return false;
        var (hands, (action, begun, finish)) = (ended[0].Key, ended[0].Value);
        busy.Remove(hands);
        Note(action, new HandsNumber(hands), begun, finish);
        Say(VirtualAide.ReportOf(action), Aide, finish);
        if (action is StepAction.Clear clear)
            Say(new BenchCommand.ResultEntered(clear.Request, new ReadResult.Measured(aide.InventedResult(), State.Find(clear.Request)!.Wanted.Unit)), Aide);
        Plan(PlanCause.Report);
        return true;
    }

    /// <summary>Keeps what was really done, and the read that it starts.</summary>
    private void Note(StepAction action, HandsNumber hands, Instant begun, Instant finish)
    {
        steps.Add(new DoneStep(action, hands, begun, finish));
        if (action.Subject is not { } request || State.Find(request)?.Wanted.Assay is not { } assay)
            return;
        if (action is StepAction.Move move)
            steps.Add(new DoneStep(new StepAction.Read(request, move.Reader), null, finish, finish + assay.Read));
        else if (action is StepAction.Load { Place: CartridgePlace.InReader inside })
            steps.Add(new DoneStep(new StepAction.Read(request, inside.Reader), null, finish + assay.Incubation, finish + assay.Incubation + assay.Read));
    }

    private void Plan(PlanCause cause)
    {
        notBefore = now + PlanKeeping.AskAgainAfter;
        foreach (var adopt in PlanKeeping.Propose(State, now, cause, seed, budget(), policy))
            if (TrySay(adopt, Host, now) is not Decision.Refused)
                return;
    }

    private void Say(BenchCommand command, PersonId person, Instant? at = null)
    {
        if (TrySay(command, person, at ?? now) is Decision.Refused refused)
            throw new InvalidOperationException($"The bench refused {command.GetType().Name}: {refused.Why} {refused.Detail}");
    }

    private Decision TrySay(BenchCommand command, PersonId person, Instant at)
    {
        var id = new ReportId(string.Create(CultureInfo.InvariantCulture, $"S{seed}-{++count}"));
        var touch = new Touch(id, at, now, person, Device);
        var decision = LiveBench.Decide(state, command, touch);
        if (decision is Decision.Accepted accepted)
            foreach (var happened in accepted.Events)
            {
                var entry = new BenchEntry(happened, touch);
                entries.Add(entry);
                state = LiveBench.Apply(state, entry);
            }
        return decision;
    }

    private SimulatedRun Result(Instant start)
    {
        var totals = LiveBench.Look(State, now).Totals;
        spares.Sort();
        var summary = new DaySummary(
            totals.Total, totals.ReadInWindow, totals.ReadOutside, totals.Discarded,
            (totals.Finish ?? start) - start,
            spares.Count == 0 ? null : spares[0],
            spares.Count == 0 ? null : spares[spares.Count / 2]);
        return new SimulatedRun([.. entries], State, [.. steps], summary);
    }
}
