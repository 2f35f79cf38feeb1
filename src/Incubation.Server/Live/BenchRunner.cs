using System.Diagnostics;
using System.Threading.Channels;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Server.Live;

/// <summary>
/// Runs one bench: takes commands from a bounded queue one at a time, records what the bench decides in one transaction,
/// answers, re-plans and shows the new view. Nothing is acknowledged before it is on disk, and nothing that goes wrong
/// in planning, in the log or in a screen stops it.
/// </summary>
public sealed class BenchRunner : IAsyncDisposable
{
    /// <summary>Commands that may wait; more are turned away with a sentence.</summary>
    public const int QueueLimit = 256;

    /// <summary>So many commands may pass before the plan is made anew although more are waiting.</summary>
    private const int MostUnplanned = 8;

    private static readonly Duration LongestSleep = Duration.FromHours(1);
    private static readonly Duration RetryAfter = Duration.FromSeconds(5);
    private static readonly PersonId Planner = new("planner");
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId ThisServer = new("server");

    private readonly IBenchLog log;
    private readonly BenchClock clock;
    private readonly Func<ISearchBudget> budget;
    private readonly ILogger logger;
    private readonly ClockGuard? guard;
    private readonly Channel<Said?> queue = Channel.CreateBounded<Said?>(
        new BoundedChannelOptions(QueueLimit) { SingleReader = true });
    private readonly CancellationTokenSource stopping = new();
    private readonly Duration leastBetweenTimedPlans;
    private readonly ITimer alarmClock;
    private readonly Task loop;

    private readonly (Instant LastArrived, bool HasWhatARestartSpoils) found;

    // Touched by the loop alone, but for the view, which is read by everyone.
    private BenchState state;
    private volatile BenchView present;
    private PlanCause? planWanted;
    private Instant noTimedPlanBefore = Instant.MinValue;
    private bool logInDoubt;
    private int unplanned;
    private Instant? changeDue;

    /// <summary>Starts the runner of an open bench whose log has been replayed.</summary>
    public BenchRunner(BenchState state, IBenchLog log, BenchClock clock, Func<ISearchBudget> budget, ILogger logger, ClockGuard? guard = null)
    {
        this.guard = guard;
        this.state = state;
        found = (state.LastArrived, state.Phase == BatchPhase.Running || state.Cards.Count > 0);
        this.log = log;
        this.clock = clock;
        this.budget = () => new StoppableBudget(budget(), stopping.Token);
        this.logger = logger;
        // At least a second of the bench's time, and enough real time for the search however fast a demo runs.
        leastBetweenTimedPlans = Duration.FromSeconds(Math.Max(1, clock.Rate / 5));
        present = new BenchView(state, LiveBench.Look(state, clock.Now));
        // After a restart the bench goes on with the plan in its log; only without one is there something to plan at once.
        planWanted = state.Adopted is null ? PlanCause.Restarted : null;
        alarmClock = clock.Time.CreateTimer(_ => queue.Writer.TryWrite(null), null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        queue.Writer.TryWrite(null);
        loop = Task.Run(RunAsync);
    }

    /// <summary>Called with every new view, one after the other, on the runner's thread; must be quick.</summary>
    public event Action<BenchView>? Changed;

    /// <summary>Which bench.</summary>
    public BenchId Id => state.Id;

    /// <summary>Whether it hears commands.</summary>
    public bool IsRunning => !loop.IsCompleted;

    /// <summary>Commands that wait.</summary>
    public int QueueDepth => queue.Reader.Count;

    /// <summary>The newest view.</summary>
    public BenchView Present => present;

    private sealed record Said(BenchCommand Command, Touch Touch, TaskCompletionSource<CommandAnswer> Answer);

    /// <summary>
    /// Says something to the bench. Answers when it stands in the log, or with a sentence when it does not. The touch's time
    /// is cut to milliseconds and never later than its arrival.
    /// </summary>
    public Task<CommandAnswer> SendAsync(BenchCommand command, Touch touch)
    {
        var arrived = BenchClock.ToMilliseconds(touch.Arrived);
        var at = Instant.Min(BenchClock.ToMilliseconds(touch.At), arrived);
        var said = new Said(command, touch with { At = at, Arrived = arrived }, new(TaskCreationOptions.RunContinuationsAsynchronously));
        if (!queue.Writer.TryWrite(said))
            said.Answer.SetResult(Refused(stopping.IsCancellationRequested ? Words.ServerStopping : Words.QueueFull));
        return said.Answer.Task;
    }

    /// <summary>
    /// Notes, before anything else is said to it, that the bench's server was down: for how long, which cartridges that cost,
    /// and that nobody knows the cards any more. A bench that has nothing in work and knows no card has nothing to note.
    /// </summary>
    /// <param name="lastAlive">The last time that the server is known to have run, where that is later than the bench's last event; or null.</param>
    public Task NoteRestartAsync(Instant? lastAlive = null)
    {
        var now = clock.Now;
        // As the log was found: by now a plan may have been made.
        var since = lastAlive is { } alive && alive <= now ? Instant.Max(alive, found.LastArrived) : found.LastArrived;
        return found.HasWhatARestartSpoils
            ? SendAsync(
                new BenchCommand.NoteRestart(since, guard?.Doubt is null),
                new Touch(new ReportId(Guid.CreateVersion7().ToString("N")), now, now, Itself, ThisServer))
            : Task.CompletedTask;
    }

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
            said?.Answer.TrySetResult(Refused(Words.ServerStopping));
        stopping.Dispose();
    }

    private async Task RunAsync()
    {
        try
        {
            await foreach (var said in queue.Reader.ReadAllAsync(stopping.Token))
            {
                if (said is not null)
                    said.Answer.TrySetResult(await HearAsync(said));
                await KeepTimeAsync();
            }
        }
        catch (OperationCanceledException) when (stopping.IsCancellationRequested)
        {
            // Stopped as asked.
        }
    }

    private CommandAnswer Refused(string sentence) => new(false, sentence, state.Revision);

    private async Task<CommandAnswer> HearAsync(Said said)
    {
        using var trace = BenchMeter.Traces.StartActivity("command")?.SetTag("bench", Id.Value).SetTag("command", said.Command.GetType().Name);
        try
        {
            if (!await CatchUpAsync())
                return Refused(Words.LogUnwritable);
            switch (LiveBench.Decide(state, said.Command, said.Touch))
            {
                case Decision.Refused refused:
                    return Refused(RefusalWords.Say(refused));
                case Decision.Accepted accepted:
                    if (!await RecordAsync(accepted, said.Touch))
                        return Refused(Words.LogUnwritable);
                    planWanted = PlanKeeping.CauseOf(said.Command, accepted.Events) ?? planWanted;
                    // Who has an answer sees at least what it answers; the new plan follows.
                    present = new BenchView(state, LiveBench.Look(state, clock.Now));
                    break;
                default:
                    break;
            }

            return new CommandAnswer(true, null, state.Revision);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogError(fault, "Bench {Bench} could not decide on {Command}.", Id, said.Command.GetType().Name);
            return Refused(Words.CommandFailed);
        }
    }

    /// <summary>Writes what was decided, then takes it over; false, and nothing taken over, where it cannot be written.</summary>
    private async Task<bool> RecordAsync(Decision.Accepted accepted, Touch touch)
    {
        var inDoubt = guard?.Doubt is not null;
        var entries = accepted.Events.Select(happened => new BenchEntry(inDoubt ? ClockDoubt.Withhold(happened) : happened, touch)).ToList();
        try
        {
            await log.AppendAsync(Id, state.Revision, entries, CancellationToken.None);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            // A write that failed may still have reached the disk: the log is read again before anything else is decided.
            logInDoubt = true;
            logger.LogError(fault, "Bench {Bench} could not write to the log.", Id);
            return false;
        }

        TakeOver(entries);
        return true;
    }

    private void TakeOver(IEnumerable<BenchEntry> entries)
    {
        foreach (var entry in entries)
            state = LiveBench.Apply(state, entry);
    }

    private async Task<bool> CatchUpAsync()
    {
        if (!logInDoubt)
            return true;
        try
        {
            TakeOver(await log.ReadAsync(Id, state.Revision, CancellationToken.None));
            logInDoubt = false;
            return true;
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogError(fault, "Bench {Bench} could not read its log again.", Id);
            return false;
        }
    }

    private async Task KeepTimeAsync()
    {
        try
        {
            // While more reports wait, the plan is made once for several of them.
            if (queue.Reader.Count > 0 && ++unplanned < MostUnplanned)
                return;
            unplanned = 0;
            var now = clock.Now;
            NoteLateness(now);
            await NoteClockAsync(now);
            var look = LiveBench.Look(state, now);
            if ((planWanted ?? TimedCause(look, now)) is { } cause && await PlanAsync(cause, now))
                look = LiveBench.Look(state, clock.Now);
            SetAlarmClock(look);
            Show(new BenchView(state, look));
            Keep(stops: false);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogError(fault, "Bench {Bench} could not show itself.", Id);
            Wake(RetryAfter);
        }
    }

    /// <summary>A convenience for the next start: where it fails, that start takes longer.</summary>
    private void Keep(bool stops)
    {
        try
        {
            if (!logInDoubt)
                log.Keep(state, stops);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogWarning(fault, "Bench {Bench} could not keep its state for the next start.", Id);
        }
    }

    /// <summary>Whether the time is in doubt stands in the log of each bench that runs: what was reported meanwhile is not judged by it.</summary>
    private async Task NoteClockAsync(Instant now)
    {
        if (guard is null || state.Phase != BatchPhase.Running || guard.Doubt is not null == state.ClockMark is not null || !await CatchUpAsync())
            return;
        var touch = new Touch(new ReportId(Guid.CreateVersion7().ToString("N")), now, now, Itself, ThisServer);
        if (LiveBench.Decide(state, new BenchCommand.NoteClock(guard.Doubt?.Difference), touch) is Decision.Accepted accepted)
            await RecordAsync(accepted, touch);
    }

    private void NoteLateness(Instant now)
    {
        if (changeDue is { } due && due <= now)
            BenchMeter.Lateness.Record((now - due).TotalSeconds / clock.Rate);
        changeDue = null;
    }

    private PlanCause? TimedCause(BenchLook look, Instant now)
    {
        if (look.ReplanAt is not { } at || at > now || now < noTimedPlanBefore)
            return null;
        // A plan that time alone makes stale is not made more often than this, should it be stale again at once.
        noTimedPlanBefore = now + leastBetweenTimedPlans;
        var closed = look.Alarms.Any(alarm => alarm.Key.Kind == AlarmKind.WindowClosed && alarm.StandsAt(now));
        return closed ? PlanCause.WindowClosed : PlanCause.StepOverran;
    }

    /// <summary>Makes and adopts a plan; false where the adopted one stays.</summary>
    private async Task<bool> PlanAsync(PlanCause cause, Instant now)
    {
        using var trace = BenchMeter.Traces.StartActivity("plan")?.SetTag("bench", Id.Value).SetTag("cause", cause.ToString());
        var begun = Stopwatch.GetTimestamp();
        try
        {
            // A plan judges by the time what is lost: none is made while the time is in doubt.
            if (guard?.Doubt is not null || !await CatchUpAsync())
                return false;
            // The adopted plan pulled earlier in its own order, or a search's plan where that is worth a change: one adoption.
            foreach (var proposal in PlanKeeping.Propose(state, now, cause, seed: (ulong)state.Revision, budget()))
            {
                var touch = new Touch(new ReportId(Guid.CreateVersion7().ToString("N")), now, now, Planner, ThisServer);
                var decision = LiveBench.Decide(state, proposal, touch);
                if (decision is Decision.Refused refused)
                {
                    // Without the detail, which may name requests.
                    logger.LogWarning("Bench {Bench} did not adopt a plan ({Cause}): {Why}", Id, cause, refused.Why);
                    continue;
                }

                if (decision is not Decision.Accepted accepted || !await RecordAsync(accepted, touch))
                    return false;
                BenchMeter.Plan.Record(Stopwatch.GetElapsedTime(begun).TotalSeconds, new KeyValuePair<string, object?>("cause", cause.ToString()));
                planWanted = null;
                return true;
            }

            planWanted = null;
            return false;
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            // The adopted plan stays; the next report, or the alarm clock, tries again.
            planWanted = null;
            logger.LogError(fault, "Bench {Bench} could not plan ({Cause}).", Id, cause);
            return false;
        }
    }

    private void Show(BenchView view)
    {
        present = view;
        foreach (var screen in Changed?.GetInvocationList() ?? [])
        {
            try
            {
                ((Action<BenchView>)screen)(view);
            }
            catch (Exception fault) when (fault is not OutOfMemoryException)
            {
                logger.LogError(fault, "A screen of bench {Bench} could not take a view.", Id);
            }
        }
    }

    private void SetAlarmClock(BenchLook look)
    {
        var now = clock.Now;
        var until = LongestSleep;
        changeDue = look.ChangesAt;
        if (look.ChangesAt is { } changes)
            until = Duration.Min(until, changes - now);
        if (look.ReplanAt is { } replan)
            until = Duration.Min(until, Instant.Max(replan, noTimedPlanBefore) - now);
        if (planWanted is not null || logInDoubt)
            until = Duration.Min(until, RetryAfter);
        Wake(until);
    }

    private void Wake(Duration after)
    {
        if (stopping.IsCancellationRequested)
            return;
        var milliseconds = Math.Max(1, Math.Ceiling(after.TotalMilliseconds));
        alarmClock.Change(TimeSpan.FromMilliseconds(milliseconds), Timeout.InfiniteTimeSpan);
    }
}
