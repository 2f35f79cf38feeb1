using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Simulation;

/// <summary>
/// One bench on virtual time: the real bench core, the real planner, virtual hands. Whoever drives it says what comes
/// from outside (requests, a batch's start), and lets it play on from one such moment to the next.
/// </summary>
public sealed class VirtualBench
{
    /// <summary>A batch that has not ended after so many turns never will.</summary>
    private const int MaxTurns = 200_000;

    /// <summary>Stands in the record for what nobody's hands do.</summary>
    public static readonly PersonId Host = new("bench");

    private static readonly DeviceId Device = new("simulation");

    private readonly VirtualHands hands;
    private readonly Func<ISearchBudget> budget;
    private readonly SearchPolicy? policy;
    private readonly ulong seed;
    private readonly string names;
    private readonly List<BenchEntry> entries = [];
    private readonly List<DoneStep> steps = [];
    private readonly List<Duration> spares = [];
    private readonly Dictionary<int, Work> busy = [];
    private BenchState? state;
    private Instant notBefore;
    private int count;

    /// <summary>A bench whose stream is empty.</summary>
    /// <param name="start">When it begins.</param>
    /// <param name="seed">Seed of every search.</param>
    /// <param name="hands">How its hands work.</param>
    /// <param name="budget">Makes the search budget of each re-plan.</param>
    /// <param name="policy">How the adopted plan is kept; as the live bench does where none is given.</param>
    /// <param name="names">Leads the names of its commands; made from the seed where none is given.</param>
    public VirtualBench(Instant start, ulong seed, VirtualHands hands, Func<ISearchBudget> budget,
        SearchPolicy? policy = null, string? names = null)
    {
        Now = start;
        this.seed = seed;
        this.hands = hands;
        this.budget = budget;
        this.policy = policy;
        this.names = names ?? string.Create(CultureInfo.InvariantCulture, $"S{seed}-");
    }

    /// <summary>A step that hands are at.</summary>
    private sealed record Work(StepAction Action, Instant Begun, Instant Finish, DiscardReason? Reason);

    /// <summary>The present.</summary>
    public Instant Now { get; private set; }

    /// <summary>Whose hands they are.</summary>
    public PersonId Aide { get; set; } = new("virtual aide");

    /// <summary>Through what the hands report.</summary>
    public DeviceId Tablet { get; set; } = Device;

    /// <summary>The bench.</summary>
    public BenchState State => state ?? throw new InvalidOperationException("The bench is not open yet.");

    /// <summary>What the bench recorded, entry by entry.</summary>
    public IReadOnlyList<BenchEntry> Entries => entries;

    /// <summary>What hands and readers really did, in the order in which hands' steps ended.</summary>
    public IReadOnlyList<DoneStep> Steps => steps;

    /// <summary>The spare time with which each step began that had a window to keep.</summary>
    public IReadOnlyList<Duration> Spares => spares;

    /// <summary>Says something to the bench, now; a refusal is a fault of whoever drives it.</summary>
    public IReadOnlyList<BenchEvent> Say(BenchCommand command, PersonId person, Instant? at = null) =>
        TrySay(command, person, at ?? Now) switch
        {
            Decision.Accepted accepted => accepted.Events,
            Decision.Refused refused =>
                throw new InvalidOperationException(
                    $"The bench refused {command.GetType().Name}: {refused.Why} {refused.Detail}"),
            _ => [],
        };

    /// <summary>Says something to the bench, now, and plans where a plan rests on it.</summary>
    public void Tell(BenchCommand command, PersonId person)
    {
        if (ReplanCauses.Of(command, Say(command, person)) is { } cause)
            Plan(cause);
    }

    /// <summary>Keeps the adopted plan true.</summary>
    public void Plan(PlanCause cause)
    {
        notBefore = Now + ReplanTimes.AskAgainAfter;
        foreach (var adopt in PlanReplacement.Propose(State, Now, cause, seed, budget(), policy))
            if (TrySay(adopt, Host, Now) is not Decision.Refused)
                return;
    }

    /// <summary>
    /// Plays on until an instant, which is the present then. False where no step is left before it: the present is then
    /// that of the last one.
    /// </summary>
    /// <param name="until">Until when; without it until no step is left.</param>
    public bool PlayUntil(Instant? until = null)
    {
        for (var turn = 0; turn < MaxTurns; turn++)
        {
            Begin();
            if (Next() is not { } next)
                return false;
            if (next > until)
            {
                WaitUntil(until.Value);
                return true;
            }
            Now = Instant.Max(Now, next);
            if (Finish() || !(ReplanAt() <= Now))
                continue;
            SayNotBegun();
            Plan(PlanCause.StepOverran);
        }
        throw new InvalidOperationException(
            string.Create(CultureInfo.InvariantCulture, $"The day with seed {seed} did not end in {MaxTurns} turns."));
    }

    /// <summary>Lets time pass in which nothing is done.</summary>
    public void WaitUntil(Instant at) => Now = Instant.Max(Now, at);

    /// <summary>
    /// Hands that are idle begin what they are offered, as soon as it may begin and what it needs is there.
    /// </summary>
    private void Begin()
    {
        foreach (var offer in LiveBench.Offers(State))
        {
            if (busy.ContainsKey(offer.Hands.Value) || offer.MayBegin > Now
                || !LiveBench.CanBegin(State, offer.Action, Now))
                continue;
            if (offer.LatestStart is { } latest)
                spares.Add(latest - Now);
            // Hands that are quicker than a read may start hold until it may.
            var ends = Now + hands.LengthOf(offer.Action, offer.PlannedEnd - offer.MayBegin);
            busy[offer.Hands.Value] = new Work(offer.Action, Now, Instant.Max(ends, offer.ReportFrom), offer.Reason);
        }
    }

    /// <summary>
    /// When something happens next: a step ends, one may begin, or the plan is made anew; null where no step is left.
    /// </summary>
    private Instant? Next()
    {
        var offers = LiveBench.Offers(State);
        if (busy.Count == 0 && offers.IsEmpty)
            return null;
        var next = ReplanAt() ?? Instant.MaxValue;
        foreach (var work in busy.Values)
            next = Instant.Min(next, work.Finish);
        foreach (var offer in offers)
            if (offer.MayBegin > Now && !busy.ContainsKey(offer.Hands.Value))
                next = Instant.Min(next, offer.MayBegin);
        return next < Instant.MaxValue ? next : null;
    }

    /// <summary>
    /// Hands are never silent here: those that could not begin what they are believed to be at say so, once patience
    /// with it has ended.
    /// </summary>
    private void SayNotBegun()
    {
        foreach (var believed in LiveBench.NotKnown(State, Now, StepPatience.Usual))
            if (!busy.ContainsKey(believed.Hands.Value))
                Say(new BenchCommand.NotBegun(believed.Hands), Aide);
    }

    private Instant? ReplanAt() =>
        LiveBench.ReplanAt(State, Now) is { } due ? Instant.Max(due, notBefore) : null;

    /// <summary>Reports the first step that has ended by now.</summary>
    private bool Finish()
    {
        var ended = busy.Where(hands => hands.Value.Finish <= Now).OrderBy(hands => hands.Value.Finish)
            .ThenBy(hands => hands.Key).Take(1)
            .ToList();
        if (ended.Count == 0)
            return false;
        var (number, work) = (ended[0].Key, ended[0].Value);
        busy.Remove(number);
        Note(work, new HandsNumber(number));
        Say(VirtualAide.ReportOf(work.Action, work.Reason), Aide, work.Finish);
        var cause = PlanCause.Report;
        foreach (var more in hands.Then(work.Action, this))
            cause = ReplanCauses.Of(more, Say(more, Aide)) is PlanCause.RequestsChanged
                ? PlanCause.RequestsChanged : cause;
        Plan(cause);
        return true;
    }

    /// <summary>Keeps what was really done, and the read that it starts.</summary>
    private void Note(Work work, HandsNumber number)
    {
        steps.Add(new DoneStep(work.Action, number, work.Begun, work.Finish));
        if (work.Action.Subject is not { } request || State.Find(request)?.Wanted.Assay is not { } assay)
            return;
        if (work.Action is StepAction.Move move)
            steps.Add(new DoneStep(new StepAction.Read(request, move.Reader), null, work.Finish,
                work.Finish + assay.Read));
        else if (work.Action is StepAction.Load { Place: CartridgePlace.InReader inside })
            steps.Add(new DoneStep(new StepAction.Read(request, inside.Reader), null, work.Finish + assay.Incubation,
                work.Finish + assay.Incubation + assay.Read));
    }

    private Decision TrySay(BenchCommand command, PersonId person, Instant at)
    {
        var id = new ReportId(string.Create(CultureInfo.InvariantCulture, $"{names}{++count}"));
        var provenance = new Provenance(id, at, Now, person, Tablet);
        var decision = LiveBench.Decide(state, command, provenance);
        if (decision is Decision.Accepted accepted)
            foreach (var entry in accepted.Entries(provenance))
            {
                entries.Add(entry);
                state = LiveBench.Apply(state, entry);
            }
        return decision;
    }
}
