using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.Snapshots;
using Incubation.TestKit;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using NodaTime;

namespace Incubation.Service.Tests.Support;

/// <summary>One bench with its runner on virtual time and a log in memory.</summary>
internal sealed class BenchRig : IAsyncDisposable
{
    public static readonly Instant Start = Instant.FromUtc(2026, 3, 2, 8, 0);
    public static readonly BenchId Id = new("bench-1");
    private static readonly DeviceId Tablet = new("tablet-1");
    private volatile BenchMoment? shown;
    private int count;

    private BenchRig(FakeTimeProvider time, FakeBenchLog log, BenchRegistry book)
    {
        Time = time;
        Log = log;
        Book = book;
        // What screens were shown, after planning: the answer to a report comes before.
        Book.Changed += view => shown = view;
    }

    public FakeTimeProvider Time { get; }

    public FakeBenchLog Log { get; }

    public BenchRegistry Book { get; }

    public BenchRunner Runner => Book.Find(Id.Value)!;

    public BenchState State => Runner.Present.State;

    /// <summary>The bench as it shows itself now.</summary>
    public BenchMoment Present => new(State, LiveBench.View(State, Now));

    public Instant Now => Instant.FromDateTimeOffset(Time.GetUtcNow());

    public static async Task<BenchRig> OpenAsync(int readers = 1, int hands = 1, Func<ISearchBudget>? budget = null)
    {
        var rig = On(new FakeTimeProvider(Start.ToDateTimeOffset()), new FakeBenchLog(), budget);
        var setup = new BenchSetup(hands, 4, readers, Duration.FromSeconds(25), Duration.FromSeconds(15), 0);
        await rig.Book.OpenAsync(new BenchCommand.OpenBench(Id, "Bench 1", setup, Duration.FromSeconds(20)),
            rig.Provenance(), CancellationToken.None);
        return rig;
    }

    /// <summary>Another server on what stands in the log, as after a crash; each writes a log of its own.</summary>
    public BenchRig Again()
    {
        var log = Log.Copy();
        var rig = On(Time, log, null);
        Assert.True(rig.Book.Continue(log.Entries));
        return rig;
    }

    public static Assay Assay(string code, int minutes) => new(
        new AssayCode(code), $"Test assay {code}", IncubationPlace.Incubator, Duration.FromSeconds(50),
            Duration.FromMinutes(2), Duration.FromSeconds(25),
        Duration.FromMinutes(minutes), Duration.FromSeconds(90), Duration.FromSeconds(15), Duration.FromSeconds(40),
            Duration.FromSeconds(10),
        Duration.FromSeconds(35), Duration.FromSeconds(15));

    public static BenchRequest Request(string id, string assay = "DA", int minutes = 8,
        Priority priority = Priority.Routine, bool repeatLeft = true) => new(
        new Request(new RequestId(id), new SpecimenId("SP-" + id), new AssayCode(assay), new LotCode(assay + "-L1"),
            Start, RequestKind.Patient, repeatLeft, priority, null, null, []),
        Assay(assay, minutes), 1, "mg/L");

    public Provenance Provenance(string? id = null, Instant? at = null) =>
        new(new ReportId(id ?? $"T{Interlocked.Increment(ref count)}-{Guid.NewGuid():N}"), at
            ?? Now, Now, new PersonId("aide"), Tablet);

    public Task<CommandAnswer> Say(BenchCommand command, string? id = null, Instant? at = null) =>
        Runner.SendAsync(command, Provenance(id, at));

    /// <summary>
    /// Says something that must be recorded, and waits until it was planned with and shown: only then may time go on.
    /// </summary>
    public async Task Must(BenchCommand command, Instant? at = null)
    {
        var answer = await Say(command, at: at);
        Assert.True(answer.Recorded, answer.Sentence);
        await Until(view => view.State.Revision >= answer.Revision);
    }

    /// <summary>Waits until screens are shown a view that says so: the runner works on a thread of its own.</summary>
    public async Task<BenchMoment> Until(Func<BenchMoment, bool> holds)
    {
        var found = new TaskCompletionSource<BenchMoment>(TaskCreationOptions.RunContinuationsAsynchronously);
        void Look(BenchMoment view)
        {
            if (holds(view))
                found.TrySetResult(view);
        }

        Book.Changed += Look;
        try
        {
            if (shown is { } present)
                Look(present);
            return await found.Task.WaitAsync(Patience.Usual, TestContext.Current.CancellationToken);
        }
        finally
        {
            Book.Changed -= Look;
        }
    }

    public Task<BenchMoment> UntilPlanned(PlanCause cause) => Until(view => view.State.Adopted?.Origin.Cause == cause);

    /// <summary>Starts a batch of these requests and waits for its plan.</summary>
    public async Task<BenchMoment> Begin(params BenchRequest[] requests)
    {
        await Must(new BenchCommand.AddRequests(requests));
        await UntilPlanned(PlanCause.RequestsChanged);
        await Must(new BenchCommand.StartBatch());
        return await Until(view => view.State.Phase == BatchPhase.Running && !view.View.Offers.IsEmpty);
    }

    public void Advance(Duration length) => Time.Advance(length.ToTimeSpan());

    public ValueTask DisposeAsync() => Book.DisposeAsync();

    /// <summary>A guard of a clock that nothing disagrees with.</summary>
    public static ClockGuard Agreed(BenchClock clock) => new(clock, () => DateTimeZone.Utc, isRealTime: true);

    private static BenchRig On(FakeTimeProvider time, FakeBenchLog log, Func<ISearchBudget>? budget) =>
        new(time, log, new BenchRegistry(
            log, new BenchClock(time, 1), budget ?? (() => new IterationBudget(50)), NullLogger<BenchRunner>.Instance,
                Agreed(new BenchClock(time, 1))));
}
