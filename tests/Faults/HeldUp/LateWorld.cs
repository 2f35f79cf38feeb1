using System.Collections.Immutable;
using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Simulation;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>How a day of people who are called away went.</summary>
/// <param name="Number">Which of the run.</param>
/// <param name="Kind">What kind of day.</param>
/// <param name="Broken">What was lost although it could have been saved, and what else should not be.</param>
/// <param name="LostNeedlessly">How many cartridges that were.</param>
/// <param name="Counts">How often what happened.</param>
/// <param name="Running">How long the batch ran.</param>
/// <param name="Trace">What happened, where a trace was wanted.</param>
internal sealed record LateReport(int Number, LateKind Kind, ImmutableArray<string> Broken, int LostNeedlessly,
    IReadOnlyDictionary<string, int> Counts, Duration Running, IReadOnlyList<string> Trace);

/// <summary>
/// One day on which people do what the screen says as soon as they look, and are called away: the real bench behind a
/// server that does not die, the true course, and the ledger that holds it against the best possible.
/// </summary>
internal sealed class LateWorld
{
    private static readonly Duration MustEndAfter = Duration.FromHours(10);

    private readonly SeededRandom random;
    private readonly SortedDictionary<string, int> counts = new(StringComparer.Ordinal);
    private readonly List<string> trace = [];
    private readonly List<string> violations = [];
    private readonly Dictionary<RequestId, TrueWork> works = [];
    private readonly bool tracing;
    private int coming;
    private Instant lastOpen;

    private LateWorld(ulong seed, bool tracing)
    {
        this.tracing = tracing;
        Recipe = LateRecipe.Draw(Seeds.Mix(seed, 21));
        random = new SeededRandom(Seeds.Mix(seed, 22));
        Agenda = new Agenda(RandomDays.Start);
        Machine = new VirtualMachine(Agenda, 0);
        Ledger = new Ledger(this);
        Alarms = new LateAlarms(this);
        Server = new LateServer(this);
        var first = new LateScreen(this, 1);
        People = [.. Enumerable.Range(1, Recipe.Bench.Hands).Select(n => new LatePerson(this,
            n == 1 || Recipe.OneTablet ? first : new LateScreen(this, n), new HandsNumber(n)))];
        Screens = [.. People.Select(person => person.Screen).Distinct()];
    }

    public LateRecipe Recipe { get; }

    public Agenda Agenda { get; }

    public VirtualMachine Machine { get; }

    public LateServer Server { get; }

    public LateAlarms Alarms { get; }

    public Ledger Ledger { get; }

    public ImmutableArray<LatePerson> People { get; } = [];

    public ImmutableArray<LateScreen> Screens { get; } = [];

    public Instant Now => Agenda.Now;

    public bool IsOver { get; private set; }

    public Instant OutageSince { get; private set; }

    public Instant? OutageUntil { get; private set; }

    /// <summary>The card that is in each reader.</summary>
    public Dictionary<int, LotCode> Cards { get; } = [];

    public IEnumerable<TrueWork> Works => works.Values;

    /// <summary>Plays the day of a number in a run.</summary>
    public static LateReport Play(int number, ulong seed, bool tracing)
    {
        var world = new LateWorld(Seeds.Mix(seed, (ulong)number), tracing);
        try
        {
            world.Begin();
            while (!world.IsOver && world.Agenda.Next())
                world.EndWhenOver();
            world.Ledger.End();
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            world.Violated("the simulation ran to its end: " + fault);
        }

        var lost = world.Lost(Instant.MaxValue).All;
        world.Count("cartridges", world.works.Values.Count(c => c.MixEnd is not null));
        world.Count("cartridges lost", lost);
        world.Count("cartridges lost that could have been saved", world.Ledger.LostNeedlessly);
        world.Count("oracle gave up a search", world.Ledger.NotProved);
        world.Count("requests", world.works.Count);
        return new LateReport(number, world.Recipe.Kind, [.. world.Ledger.Broken, .. world.violations],
            world.Ledger.LostNeedlessly, world.counts, world.Now - RandomDays.Start, world.trace);
    }

    public TrueWork? Find(RequestId id) => works.GetValueOrDefault(id);

    public TrueWork? At(CartridgePlace place) => works.Values.FirstOrDefault(c => !c.IsGone && c.Place == place);

    public Loss Lost(Instant now) => works.Values.Where(c => c.IsLost(now))
        .Aggregate(Loss.None, (sum, c) => sum + c.Weight);

    public bool Chance(double probability) => random.Chance(probability);

    public int Between(int low, int high) => random.Between(low, high);

    public void Count(string what, int times = 1) => counts[what] = counts.GetValueOrDefault(what) + times;

    public void Violated(string what)
    {
        violations.Add($"at {Words.Of(Now)} s: {what}");
        Trace("VIOLATED " + what);
    }

    public bool IsTraced => tracing;

    public void Trace(string line)
    {
        if (tracing)
            trace.Add(string.Create(CultureInfo.InvariantCulture, $"{Words.Of(Now),10} {line}"));
    }

    private void Begin()
    {
        Trace($"{Recipe.Kind}, bench {Recipe.Bench}, called away {Recipe.CalledAway}, forgets {Recipe.Forgets}");
        foreach (var person in People)
            person.Screen.News += person.Look;
        foreach (var group in Recipe.Requests.GroupBy(request => request.Comes).OrderBy(group => group.Key))
        {
            coming++;
            Agenda.At(group.Key, () =>
            {
                coming--;
                var wanted = group.Select(request => request.Wanted).ToList();
                foreach (var one in wanted)
                    works[one.Request.Id] = new TrueWork(one);
                People[0].Screen.Say(new BenchCommand.AddRequests(wanted));
            });
        }

        Agenda.In(Duration.FromSeconds(1), StartBatch);
        foreach (var (from, to) in Recipe.Outages)
        {
            Agenda.At(from, () =>
            {
                (OutageSince, OutageUntil) = (from, to);
                Alarms.AreOnTheScreens();
            });
            Agenda.At(to, () =>
            {
                OutageUntil = null;
                Trace("the server is back");
                foreach (var screen in Screens)
                {
                    screen.Taken.Clear();
                    screen.Send(Server.State);
                }
            });
            Agenda.At(from, () => Trace("the server cannot be reached"));
        }
    }

    /// <summary>As soon as there is something to run.</summary>
    private void StartBatch() => People[0].Screen.Say(new BenchCommand.StartBatch(), answered: isRecorded =>
    {
        if (!isRecorded)
            Agenda.In(Duration.FromMinutes(1), StartBatch);
    });

    /// <summary>The day is over when nothing is in work and nothing more will be.</summary>
    private void EndWhenOver()
    {
        var state = Server.State;
        var inWork = works.Values.Any(c => c is { MixEnd: not null, IsGone: false })
            || state.Cartridges.Any(c => c.Stage is CartridgeStage.InWork or CartridgeStage.Astray);
        var waits = coming > 0 || People.Any(person => person.IsBusy || person.Screen.Outbox.Count > 0
                || (person.HasToTell && state.Cartridges.Any(c => !c.IsOver)))
            || state.StartedAt is null || (state.Cartridges.Any(c => !c.IsOver)
                && !LiveBench.Offers(state).IsEmpty);
        if (inWork || waits)
            lastOpen = Now;
        if (Now - lastOpen > Duration.FromMinutes(2))
            IsOver = true;
        if (Now - RandomDays.Start > MustEndAfter)
        {
            IsOver = true;
            Violated("the day did not end: " + string.Join(", ", state.Cartridges.Where(c => !c.IsOver)
                .Select(c => $"{c.Id} {c.Stage}")));
        }
    }
}
