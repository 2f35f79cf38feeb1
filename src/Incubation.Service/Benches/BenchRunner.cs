using System.Threading.Channels;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Service.Clock;
using Incubation.Service.Snapshots;
using NodaTime;

namespace Incubation.Service.Benches;

/// <summary>
/// Runs one bench: takes commands from a bounded queue one at a time, records what the bench decides in one
/// transaction, answers, re-plans and shows the new view. Nothing is acknowledged before it is on disk, and nothing
/// that goes wrong in planning, in the log or in a screen stops it.
/// </summary>
public sealed class BenchRunner : IAsyncDisposable
{
    /// <summary>Commands that may wait; more are turned away with a sentence.</summary>
    public const int QueueLimit = 256;

    /// <summary>So many commands may pass before the plan is made anew although more are waiting.</summary>
    private const int MaxUnplanned = 8;

    /// <summary>A full queue is worked off within about this.</summary>
    private const int BusyRetrySeconds = 1;

    /// <summary>What keeps a bench from planning is looked for no longer than this.</summary>
    private static readonly Duration LongestTrials = Duration.FromSeconds(2);

    private readonly IBenchLog log;
    private readonly BenchClock clock;
    private readonly ILogger logger;
    private readonly Channel<Said?> queue = Channel.CreateBounded<Said?>(
        new BoundedChannelOptions(QueueLimit) { SingleReader = true });
    private readonly CancellationTokenSource stopping = new();
    private readonly ITimer alarmClock;
    private readonly Task loop;

    // Touched by the loop alone, but for the view, which is read by everyone.
    private readonly BenchLoop turns;
    private volatile BenchMoment present;
    private int unplanned;
    private Instant? changeDue;

    /// <summary>Starts the runner of an open bench whose log has been replayed.</summary>
    public BenchRunner(BenchState state, IBenchLog log, BenchClock clock, Func<ISearchBudget> budget, ILogger logger,
        ClockGuard guard, StepPatience patience)
    {
        this.log = log;
        this.clock = clock;
        this.logger = logger;
        turns = new BenchLoop(
            state, log, clock, () => new StoppableBudget(budget(), stopping.Token),
            () => new StoppableBudget(new TimeBudget(LongestTrials), stopping.Token),
            () => new ReportId(Guid.CreateVersion7().ToString("N")), logger, guard, SearchPolicy.Live,
            patience);
        present = new BenchMoment(LiveBench.Readable(state), LiveBench.View(state, clock.Now, patience));
        alarmClock = clock.Time.CreateTimer(_ => queue.Writer.TryWrite(null), null, Timeout.InfiniteTimeSpan,
            Timeout.InfiniteTimeSpan);
        queue.Writer.TryWrite(null);
        loop = Task.Run(RunAsync);
    }

    /// <summary>Called with every new view, one after the other, on the runner's thread; must be quick.</summary>
    public event Action<BenchMoment>? Changed;

    /// <summary>Which bench.</summary>
    public BenchId Id => turns.State.Id;

    /// <summary>Whether it hears commands.</summary>
    public bool IsRunning => !loop.IsCompleted;

    /// <summary>Commands that wait.</summary>
    public int QueueDepth => queue.Reader.Count;

    /// <summary>Whether what the bench shows could be worked out when it was last tried.</summary>
    public bool ShowsItself { get; private set; } = true;

    /// <summary>The newest view.</summary>
    public BenchMoment Present => present;

    private sealed record Said(CommandEnvelope Envelope, TaskCompletionSource<CommandAnswer> Answer);

    /// <summary>
    /// Says something to the bench. Answers when it stands in the log, or with a sentence when it does not. The touch's
    /// time is cut to milliseconds and never later than its arrival.
    /// </summary>
    public Task<CommandAnswer> SendAsync(CommandEnvelope envelope)
    {
        ArgumentNullException.ThrowIfNull(envelope);
        var said = new Said(envelope, new(TaskCreationOptions.RunContinuationsAsynchronously));
        if (!queue.Writer.TryWrite(said))
            said.Answer.SetResult(stopping.IsCancellationRequested
                ? Stopping : CommandAnswer.Later(BenchesWords.QueueFull, turns.State.Revision, BusyRetrySeconds));
        return said.Answer.Task;
    }

    /// <summary>Says something to the bench.</summary>
    public Task<CommandAnswer> SendAsync(BenchCommand command, Provenance provenance) =>
        SendAsync(new CommandEnvelope(command, provenance));

    /// <summary>
    /// Notes, before anything else is said to it, that the bench's server was down: for how long, which cartridges that
    /// cost, and that nobody knows the cards any more. A bench that has nothing in work and knows no card has nothing
    /// to note.
    /// </summary>
    /// <param name="lastAlive">The last time that the server is known to have run, where that is later than the bench's
    /// last event; or null.</param>
    public Task NoteRestartAsync(Instant? lastAlive = null) => turns.RestartToNote(lastAlive) is { } note
        ? SendAsync(note) : Task.CompletedTask;

    /// <summary>Looks again now: something beside the log has changed what is to be shown.</summary>
    public void LookAgain() => queue.Writer.TryWrite(null);

    /// <summary>Stops; commands still waiting are answered with a sentence.</summary>
    public async ValueTask DisposeAsync()
    {
        if (stopping.IsCancellationRequested)
            return;
        await stopping.CancelAsync();
        queue.Writer.TryComplete();
        await alarmClock.DisposeAsync();
        await loop;
        Keep(stops: true);
        while (queue.Reader.TryRead(out var said))
            said?.Answer.TrySetResult(Stopping);
        stopping.Dispose();
    }

    private async Task RunAsync()
    {
        try
        {
            await foreach (var said in queue.Reader.ReadAllAsync(stopping.Token))
            {
                if (said is not null)
                {
                    var before = turns.State.Revision;
                    var answer = await turns.HearAsync(said.Envelope);
                    // Who has an answer sees at least what it answers; the new plan follows.
                    if (turns.State.Revision > before)
                        present = new BenchMoment(LiveBench.Readable(turns.State), turns.View(clock.Now));
                    said.Answer.TrySetResult(answer);
                }

                await KeepTimeAsync();
            }
        }
        catch (OperationCanceledException) when (stopping.IsCancellationRequested)
        {
            // Stopped as asked.
        }
    }

    private CommandAnswer Stopping => CommandAnswer.Later(BenchesWords.ServerStopping, turns.State.Revision);

    private async Task KeepTimeAsync()
    {
        try
        {
            // While more reports wait, the plan is made once for several of them.
            if (queue.Reader.Count > 0 && ++unplanned < MaxUnplanned)
                return;
            unplanned = 0;
            NoteLateness(clock.Now);
            var look = await turns.KeepTimeAsync();
            changeDue = look.ChangesAt;
            Wake(turns.SleepAfter(look));
            Show(new BenchMoment(LiveBench.Readable(turns.State), look));
            ShowsItself = true;
            Keep(stops: false);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            ShowsItself = false;
            logger.LogError(fault, "Bench {Bench} could not show itself.", Id);
            Wake(BenchLoop.RetryAfter);
        }
    }

    /// <summary>A convenience for the next start: where it fails, that start takes longer.</summary>
    private void Keep(bool stops)
    {
        try
        {
            if (!turns.LogInDoubt)
                log.Keep(turns.State, stops);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogWarning(fault, "Bench {Bench} could not keep its state for the next start.", Id);
        }
    }

    private void NoteLateness(Instant now)
    {
        if (changeDue is { } due && due <= now)
            BenchMeter.Lateness.Record((now - due).TotalSeconds / clock.Rate);
        changeDue = null;
    }

    private void Show(BenchMoment view)
    {
        present = view;
        foreach (var screen in Changed?.GetInvocationList() ?? [])
        {
            try
            {
                ((Action<BenchMoment>)screen)(view);
            }
            catch (Exception fault) when (fault is not OutOfMemoryException)
            {
                logger.LogError(fault, "A screen of bench {Bench} could not take a view.", Id);
            }
        }
    }

    private void Wake(Duration after)
    {
        if (stopping.IsCancellationRequested)
            return;
        var milliseconds = Math.Max(1, Math.Ceiling(after.TotalMilliseconds));
        alarmClock.Change(TimeSpan.FromMilliseconds(milliseconds), Timeout.InfiniteTimeSpan);
    }
}
