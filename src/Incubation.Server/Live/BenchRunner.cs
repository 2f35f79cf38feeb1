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
    private static readonly DeviceId ThisServer = new("server");

    private readonly IBenchLog _log;
    private readonly BenchClock _clock;
    private readonly Func<ISearchBudget> _budget;
    private readonly ILogger _logger;
    private readonly Channel<Said?> _queue = Channel.CreateBounded<Said?>(
        new BoundedChannelOptions(QueueLimit) { SingleReader = true });
    private readonly CancellationTokenSource _stopping = new();
    private readonly Duration _leastBetweenTimedPlans;
    private readonly ITimer _alarmClock;
    private readonly Task _loop;

    // Touched by the loop alone, but for the view, which is read by everyone.
    private BenchState _state;
    private volatile BenchView _present;
    private PlanCause? _planWanted;
    private Instant _noTimedPlanBefore = Instant.MinValue;
    private bool _logInDoubt;
    private int _unplanned;

    /// <summary>Starts the runner of an open bench whose log has been replayed.</summary>
    public BenchRunner(BenchState state, IBenchLog log, BenchClock clock, Func<ISearchBudget> budget, ILogger logger)
    {
        _state = state;
        _log = log;
        _clock = clock;
        _budget = budget;
        _logger = logger;
        // At least a second of the bench's time, and enough real time for the search however fast a demo runs.
        _leastBetweenTimedPlans = Duration.FromSeconds(Math.Max(1, clock.Rate / 5));
        _present = new BenchView(state, LiveBench.Look(state, clock.Now));
        // After a restart the bench goes on with the plan in its log; only without one is there something to plan at once.
        _planWanted = state.Adopted is null ? PlanCause.Restarted : null;
        _alarmClock = clock.Time.CreateTimer(_ => _queue.Writer.TryWrite(null), null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        _queue.Writer.TryWrite(null);
        _loop = Task.Run(RunAsync);
    }

    /// <summary>Called with every new view, one after the other, on the runner's thread; must be quick.</summary>
    public event Action<BenchView>? Changed;

    /// <summary>Which bench.</summary>
    public BenchId Id => _state.Id;

    /// <summary>The newest view.</summary>
    public BenchView Present => _present;

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
        if (!_queue.Writer.TryWrite(said))
            said.Answer.SetResult(Refused(_stopping.IsCancellationRequested ? Words.ServerStopping : Words.QueueFull));
        return said.Answer.Task;
    }

    /// <summary>Stops; commands still waiting are answered with a sentence.</summary>
    public async ValueTask DisposeAsync()
    {
        if (_stopping.IsCancellationRequested)
            return;
        await _stopping.CancelAsync();
        _queue.Writer.TryComplete();
        await _alarmClock.DisposeAsync();
        await _loop;
        while (_queue.Reader.TryRead(out var said))
            said?.Answer.TrySetResult(Refused(Words.ServerStopping));
        _stopping.Dispose();
    }

    private async Task RunAsync()
    {
        try
        {
            await foreach (var said in _queue.Reader.ReadAllAsync(_stopping.Token))
            {
                if (said is not null)
                    said.Answer.TrySetResult(await HearAsync(said));
                await KeepTimeAsync();
            }
        }
        catch (OperationCanceledException) when (_stopping.IsCancellationRequested)
        {
            // Stopped as asked.
        }
    }

    private CommandAnswer Refused(string sentence) => new(false, sentence, _state.Revision);

    private async Task<CommandAnswer> HearAsync(Said said)
    {
        try
        {
            if (!await CatchUpAsync())
                return Refused(Words.LogUnwritable);
            switch (LiveBench.Decide(_state, said.Command, said.Touch))
            {
                case Decision.Refused refused:
                    return Refused(RefusalWords.Say(refused));
                case Decision.Accepted accepted:
                    if (!await RecordAsync(accepted, said.Touch))
                        return Refused(Words.LogUnwritable);
                    _planWanted = CauseOf(said.Command) ?? _planWanted;
                    break;
                default:
                    break;
            }

            return new CommandAnswer(true, null, _state.Revision);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            _logger.LogError(fault, "Bench {Bench} could not decide on {Command}.", Id, said.Command.GetType().Name);
            return Refused(Words.CommandFailed);
        }
    }

    /// <summary>Why a plan is wanted after a command, or null where the plan does not rest on it.</summary>
    private static PlanCause? CauseOf(BenchCommand command) => command switch
    {
        BenchCommand.AddRequests or BenchCommand.WithdrawRequest or BenchCommand.OrderRepeat or BenchCommand.CloseBatch => PlanCause.RequestsChanged,
        BenchCommand.StartBatch => PlanCause.BatchStarted,
        BenchCommand.ResultEntered or BenchCommand.AcknowledgeAlarm or BenchCommand.AdoptPlan => null,
        _ => PlanCause.Report,
    };

    /// <summary>Writes what was decided, then takes it over; false, and nothing taken over, where it cannot be written.</summary>
    private async Task<bool> RecordAsync(Decision.Accepted accepted, Touch touch)
    {
        var entries = accepted.Events.Select(happened => new BenchEntry(happened, touch)).ToList();
        try
        {
            await _log.AppendAsync(Id, _state.Revision, entries, CancellationToken.None);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            // A write that failed may still have reached the disk: the log is read again before anything else is decided.
            _logInDoubt = true;
            _logger.LogError(fault, "Bench {Bench} could not write to the log.", Id);
            return false;
        }

        TakeOver(entries);
        return true;
    }

    private void TakeOver(IEnumerable<BenchEntry> entries)
    {
        foreach (var entry in entries)
            _state = LiveBench.Apply(_state, entry);
    }

    private async Task<bool> CatchUpAsync()
    {
        if (!_logInDoubt)
            return true;
        try
        {
            TakeOver(await _log.ReadAsync(Id, _state.Revision, CancellationToken.None));
            _logInDoubt = false;
            return true;
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            _logger.LogError(fault, "Bench {Bench} could not read its log again.", Id);
            return false;
        }
    }

    private async Task KeepTimeAsync()
    {
        try
        {
            // While more reports wait, the plan is made once for several of them.
            if (_queue.Reader.Count > 0 && ++_unplanned < MostUnplanned)
                return;
            _unplanned = 0;
            var now = _clock.Now;
            var look = LiveBench.Look(_state, now);
            if ((_planWanted ?? TimedCause(look, now)) is { } cause && await PlanAsync(cause, now))
                look = LiveBench.Look(_state, _clock.Now);
            Show(new BenchView(_state, look));
            SetAlarmClock(look);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            _logger.LogError(fault, "Bench {Bench} could not show itself.", Id);
            Wake(RetryAfter);
        }
    }

    private PlanCause? TimedCause(BenchLook look, Instant now)
    {
        if (look.ReplanAt is not { } at || at > now || now < _noTimedPlanBefore)
            return null;
        // A plan that time alone makes stale is not made more often than this, should it be stale again at once.
        _noTimedPlanBefore = now + _leastBetweenTimedPlans;
        var closed = look.Alarms.Any(alarm => alarm.Key.Kind == AlarmKind.WindowClosed && alarm.StandsAt(now));
        return closed ? PlanCause.WindowClosed : PlanCause.StepOverran;
    }

    /// <summary>Makes and adopts a plan; false where the adopted one stays.</summary>
    private async Task<bool> PlanAsync(PlanCause cause, Instant now)
    {
        try
        {
            if (!await CatchUpAsync())
                return false;
            // The adopted plan pulled earlier in its own order, or a search's plan where that is worth a change: one adoption.
            foreach (var proposal in PlanKeeping.Propose(_state, now, cause, seed: (ulong)_state.Revision, _budget()))
            {
                var touch = new Touch(new ReportId(Guid.CreateVersion7().ToString("N")), now, now, Planner, ThisServer);
                var decision = LiveBench.Decide(_state, proposal, touch);
                if (decision is Decision.Refused refused)
                {
                    _logger.LogWarning("Bench {Bench} did not adopt a plan ({Cause}): {Why} {Detail}", Id, cause, refused.Why, refused.Detail);
                    continue;
                }

                if (decision is not Decision.Accepted accepted || !await RecordAsync(accepted, touch))
                    return false;
                _planWanted = null;
                return true;
            }

            _planWanted = null;
            return false;
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            // The adopted plan stays; the next report, or the alarm clock, tries again.
            _planWanted = null;
            _logger.LogError(fault, "Bench {Bench} could not plan ({Cause}).", Id, cause);
            return false;
        }
    }

    private void Show(BenchView view)
    {
        _present = view;
        foreach (var screen in Changed?.GetInvocationList() ?? [])
        {
            try
            {
                ((Action<BenchView>)screen)(view);
            }
            catch (Exception fault) when (fault is not OutOfMemoryException)
            {
                _logger.LogError(fault, "A screen of bench {Bench} could not take a view.", Id);
            }
        }
    }

    private void SetAlarmClock(BenchLook look)
    {
        var now = _clock.Now;
        var until = LongestSleep;
        if (look.ChangesAt is { } changes)
            until = Duration.Min(until, changes - now);
        if (look.ReplanAt is { } replan)
            until = Duration.Min(until, Instant.Max(replan, _noTimedPlanBefore) - now);
        if (_planWanted is not null || _logInDoubt)
            until = Duration.Min(until, RetryAfter);
        Wake(until);
    }

    private void Wake(Duration after)
    {
        if (_stopping.IsCancellationRequested)
            return;
        var milliseconds = Math.Max(1, Math.Ceiling(after.TotalMilliseconds));
        _alarmClock.Change(TimeSpan.FromMilliseconds(milliseconds), Timeout.InfiniteTimeSpan);
    }
}
