using System.Collections.Immutable;
using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Simulation;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Faults;

/// <summary>How a day went.</summary>
/// <param name="Number">Which of the run.</param>
/// <param name="Kind">What kind of day it was.</param>
/// <param name="Violations">Invariants that did not hold, with the true time and what was found.</param>
/// <param name="Counts">How often what happened.</param>
/// <param name="Running">How long its batch ran.</param>
/// <param name="Trace">What happened, where a trace was wanted.</param>
internal sealed record DayReport(
    int Number, DayKind Kind, ImmutableArray<string> Violations, IReadOnlyDictionary<string, int> Counts,
        Duration Running, IReadOnlyList<string> Trace);

/// <summary>
/// One simulated day: the real bench behind a server that can die, a network that loses, a disk that fills, clocks that
/// are set, and people who err. Everything comes from the day's seed; the true course is known, and held against what
/// the bench says after every event.
/// </summary>
internal sealed class World
{
    /// <summary>From here on nothing fails any more, so that a day can end.</summary>
    private static readonly Duration HealedAfter = Duration.FromHours(4);

    /// <summary>A day that has not ended by then waits for ever.</summary>
    private static readonly Duration MustEndAfter = Duration.FromHours(12);

    private static readonly BenchId Bench = new("bench-1");

    private readonly SeededRandom random;
    private readonly SeededRandom extra;
    private readonly House house;
    private readonly int place;
    private bool ended;
    private readonly SortedDictionary<string, int> counts = new(StringComparer.Ordinal);
    private readonly List<string> trace;
    private readonly bool tracing;
    private bool writing;
    private int repeats;
    private int expected;
    private Instant? closedAt;

    private World(ulong seed, bool tracing, bool extremes)
        : this(seed, Recipe.Draw(Seeds.Mix(seed, 1)), null, tracing ? [] : null, extremes)
    {
    }

    private World(ulong seed, Recipe recipe, House? clinic, List<string>? trace, bool extremes)
    {
        tracing = trace is not null;
        this.trace = trace ?? [];
        Recipe = recipe;
        random = new SeededRandom(Seeds.Mix(seed, 2));
        extra = new SeededRandom(Seeds.Mix(seed, 5));
        Extremes = extremes ? Extremes.Draw(Seeds.Mix(seed, 4), recipe) : Extremes.None;
        if (clinic is null)
        {
            var time = new Agenda(RandomDays.Start);
            clinic = new House(time, new VirtualMachine(time, recipe.Failures.Drift));
        }

        house = clinic;
        place = house.Worlds.Count + 1;
        house.Add(this);
        Disk = new SimulatedDisk(Bench, DrawFate) { Died = () => Server!.Die("crash at a write", DownTime()) };
        Faults = new FaultLog(this);
        Watch = new Watch(this);
        Server = new ServerModel(this);
        var lengths = new HandsLengths(new RandomStepLengths(), Seeds.Mix(seed, 3));
        Tablets = [.. Enumerable.Range(1, Recipe.Day.Bench.Hands).Select(n => new Tablet(this, n))];
        Aides = [.. Tablets.Select((tablet, index) => new Aide(this, tablet, new HandsNumber(index + 1), lengths))];
    }

    public Recipe Recipe { get; }

    public Extremes Extremes { get; }

    public Agenda Agenda => house.Agenda;

    public VirtualMachine Machine => house.Machine;

    /// <summary>The benches of its clinic, itself among them.</summary>
    public IReadOnlyList<World> Clinic => house.Worlds;

    public SimulatedDisk Disk { get; }

    public ServerModel Server { get; }

    public FaultLog Faults { get; }

    public Watch Watch { get; }

    public TrueBench Truth { get; } = new();

    public ImmutableArray<Tablet> Tablets { get; }

    public ImmutableArray<Aide> Aides { get; }

    public Instant Now => Agenda.Now;

    public bool IsOver { get; private set; }

    /// <summary>Whether nothing fails any more.</summary>
    public bool IsHealed => Now - RandomDays.Start > HealedAfter;

    /// <summary>Whether everything that was to come has come.</summary>
    public bool MayEnd => expected == 0;

    /// <summary>Plays the day of a number in a run.</summary>
    /// <param name="number">Which day.</param>
    /// <param name="seed">The run's seed.</param>
    /// <param name="tracing">Whether what happened is wanted in words.</param>
    /// <param name="extremes">Whether the day has what it holds beside its recipe; false plays it as it was drawn
    /// before there was such a thing.</param>
    public static DayReport Play(int number, ulong seed, bool tracing, bool extremes = true)
    {
        var own = Seeds.Mix(seed, (ulong)number);
        var world = new World(own, tracing, extremes);
        try
        {
            for (var more = 1; more <= world.Extremes.MoreBenches; more++)
                world.AddBench(Seeds.Mix(own, (ulong)(100 * more)));
            foreach (var bench in world.Clinic)
                bench.OpenBench();
            foreach (var bench in world.Clinic)
                bench.Begin();
            world.house.Run();
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            world.Watch.Violated("the simulation ran to its end", fault.ToString());
        }

        var running = world.Clinic.Aggregate(Duration.Zero, (sum, bench) =>
            sum + ((bench.closedAt ?? bench.Now) - RandomDays.Start));
        var counts = new SortedDictionary<string, int>(StringComparer.Ordinal);
        foreach (var (what, count) in world.Clinic.SelectMany(bench => bench.counts))
            counts[what] = counts.GetValueOrDefault(what) + count;
        return new DayReport(number, world.Recipe.Kind, [.. world.Clinic.SelectMany(bench => bench.Watch.Violations)],
            counts, running, world.trace);
    }

    /// <summary>Another bench of the same clinic, on which people err too.</summary>
    private void AddBench(ulong seed)
    {
        var recipe = Recipe.Draw(Seeds.Mix(seed, 1));
        for (ulong next = 1; recipe.Kind != DayKind.Disturbed; next++)
            recipe = Recipe.Draw(Seeds.Mix(seed + next, 1));
        Count("bench of the same clinic");
        _ = new World(seed, recipe, house, tracing ? trace : null, extremes: true);
    }

    public bool Chance(double probability) => probability > 0 && !IsHealed && random.Chance(probability);

    public int Between(int low, int high) => random.Between(low, high);

    /// <summary>As <see cref="Chance"/>, from the stream of what the day holds beside its recipe.</summary>
    public bool Rare(double probability) => probability > 0 && !IsHealed && extra.Chance(probability);

    /// <summary>As <see cref="Between"/>, from the same stream.</summary>
    public int Extra(int low, int high) => extra.Between(low, high);

    public void Count(string what)
    {
        counts[what] = counts.GetValueOrDefault(what) + 1;
        Watch.Happened(what);
    }

    public void Trace(string line)
    {
        if (tracing)
            trace.Add(string.Create(CultureInfo.InvariantCulture,
                $"{Words.Of(Now),10} {(Clinic.Count > 1 ? $"[{place}] " : "")}{line}"));
    }

    /// <summary>How long the server stays down: mostly seconds, sometimes as long as a power cut.</summary>
    public Duration DownTime() =>
        Duration.FromSeconds(random.Chance(0.1) ? random.Between(120, 1800) : random.Between(1, 40));

    public bool TakeRepeat() => ++repeats <= 2;

    /// <summary>Sends something between a tablet and the server, if it arrives at all.</summary>
    public void Send(Tablet tablet, Action arrive)
    {
        var failures = Recipe.Failures;
        if (IsOver || tablet.NetworkDownUntil > Now || Chance(failures.Lost))
            return;
        var delay = Chance(failures.Delayed) ? Between(1000, 30000) : Between(10, 60);
        Agenda.In(Duration.FromMilliseconds(delay), arrive);
        if (Chance(failures.Doubled))
            Agenda.In(Duration.FromMilliseconds(delay + Between(1, 5000)), arrive);
    }

    /// <summary>Whether somebody is at a cartridge, or says something of it that the server has not answered.</summary>
    public bool IsBeingToldOf(RequestId id) =>
        Aides.Any(aide => aide.Doing?.Action.Subject == id)
            || Tablets.Any(tablet =>
                tablet.Outbox.Any(said => said.Command is BenchCommand.AnswerQuestion or BenchCommand.CorrectReport
                    or BenchCommand.Undo || Speaks(said.Command, id)));

    /// <summary>
    /// Whether hands are at a cartridge within the allowed time, or have just said what they did on their tablet. What
    /// was said and is not heard for long does need somebody: to look why.
    /// </summary>
    public bool IsUnderWayOrSaid(RequestId id) =>
        Aides.Any(aide => aide.Doing is { } doing && doing.Action.Subject == id && doing.AllowedUntil >= Now)
        || Tablets.Any(tablet =>
            tablet.Outbox.Any(said => Speaks(said.Command, id) && Now - said.Since < Tablet.AloneAfter));

    /// <summary>The batch is closed.</summary>
    public void Close() => closedAt ??= Now;

    private static bool Speaks(BenchCommand command, RequestId id) => command switch
    {
        BenchCommand.Mixed mixed => mixed.Request == id,
        BenchCommand.Loaded loaded => loaded.Request == id,
        BenchCommand.ReadStarted started => started.Request == id,
        BenchCommand.Cleared cleared => cleared.Request == id,
        BenchCommand.Discarded discarded => discarded.Request == id,
        BenchCommand.ResultEntered result => result.Request == id,
        _ => false,
    };

    private WriteFate DrawFate()
    {
        if (!writing)
            return WriteFate.Succeeds;
        if (Chance(Recipe.Failures.CrashAtWrite))
            return random.Chance(0.5) ? WriteFate.DiesBefore : WriteFate.DiesAfter;
        if (!Chance(Recipe.Failures.ToldFailed))
            return WriteFate.Succeeds;
        Count("write told as failed");
        return WriteFate.ToldFailed;
    }

    /// <summary>Starts the server, where the process is not dead.</summary>
    public void StartServer() => house.Start(this);

    /// <summary>The process has died: that of the benches beside this one too.</summary>
    public void ProcessDied(string why, Duration down) => house.Died(this, why, down);

    private void Begin()
    {
        Trace($"{Recipe.Kind}, {Recipe.Day.Requests.Count} requests, bench {Recipe.Day.Bench}");
        writing = true;
        StartServer();
        foreach (var (tablet, aide) in Tablets.Zip(Aides))
        {
            tablet.News = aide.Think;
            tablet.Begin();
        }

        var assays = Recipe.Day.Assays.ToDictionary(a => a.Code);
        var requests = Recipe.Day.Requests.Select(r => new BenchRequest(r, assays[r.Assay], 1, "mg/L")).ToList();
        Tablets[0]
            .Say(new BenchCommand.AddRequests(requests), Now, _ => StartBatch());
        var troubles = new Troubles(this, requests);
        troubles.PutDown();
        troubles.PutDownExtremes();
    }

    /// <summary>
    /// Somebody starts the batch. Where all that was wanted has been withdrawn, they try again as long as more is to
    /// come; else the day is over.
    /// </summary>
    private void StartBatch() => Tablets[0].Say(new BenchCommand.StartBatch(), Tablets[0].Time, started =>
    {
        if (started || Server.Present?.Phase == BatchPhase.Running)
            return;
        if (MayEnd)
            Close();
        else
            Agenda.In(Duration.FromMinutes(1), StartBatch);
    });

    /// <summary>The day is over when its batch is closed and everything is answered.</summary>
    public void EndWhenOver()
    {
        if (IsOver)
            return;
        var late = Now - RandomDays.Start > MustEndAfter;
        if (!late && !(closedAt is not null && Tablets.All(tablet => tablet.Outbox.Count == 0)))
            return;
        IsOver = true;
        if (late)
            Watch.Violated("nothing waits for ever", "the day did not end: " + Open());
    }

    /// <summary>What is held against the truth at the end.</summary>
    public void End()
    {
        if (ended)
            return;
        (ended, IsOver) = (true, true);
        Watch.End();
    }

    public void Expect(int more) => expected += more;

    private string Open()
    {
        var unanswered = string.Join(", ", Tablets.SelectMany(tablet => tablet.Outbox)
            .Select(said => Words.Of(said.Command)));
        var cartridges = string.Join(", ", (Server.Present?.Cartridges ?? []).Where(c => !c.IsOver || c.ResultMissing)
            .Select(c => $"{c.Id} {c.Stage}"));
        return $"unanswered [{unanswered}], open [{cartridges}], busy {Aides.Count(aide => aide.IsBusy)}";
    }

    private void OpenBench()
    {
        var provenance = new Provenance(new ReportId("open"), Now, Now, new PersonId("aide"), new DeviceId("server"));
        var open = new BenchCommand.OpenBench(Bench, "Bench 1", Recipe.Day.Bench, Duration.FromSeconds(20));
        var decided = (Decision.Accepted)LiveBench.Decide(null, open, provenance);
        Disk.AppendAsync(Bench, 0, decided.Entries(provenance),
            CancellationToken.None).GetAwaiter().GetResult();
    }
}
