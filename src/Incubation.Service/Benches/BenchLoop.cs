using System.Diagnostics;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Service.Clock;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Benches;

/// <summary>
/// What running a bench is, turn by turn: hear a command, record what the bench decides, answer; then plan where a plan
/// is wanted, and say when to look again. It has no thread and no timer of its own: <see cref="BenchRunner"/> gives it
/// its turns, and the fault simulation gives them on virtual time. One turn at a time.
/// </summary>
public sealed class BenchLoop
{
    /// <summary>The log or a plan that failed is tried again after this.</summary>
    public static readonly Duration RetryAfter = Duration.FromSeconds(5);

    /// <summary>Where no plan can be made although nothing else changes, it is tried again after this.</summary>
    private static readonly Duration PlanAgainAfter = Duration.FromMinutes(1);

    private static readonly Duration LongestSleep = Duration.FromHours(1);

    /// <summary>What a bench shows is not worked out again for the same revision within this.</summary>
    private static readonly Duration LookAgainAfter = Duration.FromSeconds(1);
    private static readonly PersonId Planner = new("planner");
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId ThisServer = new("server");

    private readonly IBenchLog log;
    private readonly BenchClock clock;
    private readonly Func<ISearchBudget> budget;
    private readonly Func<ISearchBudget> trials;
    private readonly Func<ReportId> newId;
    private readonly ILogger logger;
    private readonly ClockGuard guard;
    private readonly SearchPolicy policy;
    private readonly StepPatience patience;
    private readonly Duration leastBetweenTimedPlans;
    private readonly (Instant LastArrived, bool HasWhatARestartSpoils) found;
    private PlanCause? planWanted;
    private (BenchState State, BenchView View)? seen;
    private Instant noTimedPlanBefore = Instant.MinValue;
    private Instant noNoteBefore = Instant.MinValue;
    private Instant? planAgainAt;

    /// <summary>Why a plan was refused, as logged last; null once a plan has gone through.</summary>
    private Refusal? refusalLogged;

    /// <summary>The loop of an open bench whose log has been replayed.</summary>
    /// <param name="state">The bench as its log ends.</param>
    /// <param name="log">Where it records.</param>
    /// <param name="clock">The server's time.</param>
    /// <param name="budget">Makes the budget of each search.</param>
    /// <param name="trials">Makes the budget of each look for what hinders planning: of plans tried.</param>
    /// <param name="newId">Names the bench's own commands.</param>
    /// <param name="logger">Hears of faults.</param>
    /// <param name="guard">Says whether the time is in doubt.</param>
    /// <param name="policy">How the adopted plan is kept.</param>
    /// <param name="patience">For how long hands are believed to be at a step that nobody reports.</param>
    public BenchLoop(
        BenchState state, IBenchLog log, BenchClock clock, Func<ISearchBudget> budget, Func<ISearchBudget> trials,
        Func<ReportId> newId, ILogger logger, ClockGuard guard, SearchPolicy policy,
        StepPatience patience)
    {
        State = state;
        found = (state.LastArrived, state.Phase == BatchPhase.Running || state.HasCards);
        this.log = log;
        this.clock = clock;
        this.budget = budget;
        this.trials = trials;
        this.newId = newId;
        this.logger = logger;
        this.guard = guard;
        this.policy = policy;
        this.patience = patience;
        // At least a second of the bench's time, and enough real time for the search however fast a demo runs.
        leastBetweenTimedPlans = Duration.FromSeconds(Math.Max(1, clock.Rate / 5));
        // After a restart the bench goes on with the plan in its log; only where it has none, or went down between a
        // report and the plan after it, is there something to plan at once.
        planWanted = state.Adopted is null || state.HasUnplanned ? PlanCause.Restarted : null;
    }

    /// <summary>The bench.</summary>
    public BenchState State { get; private set; }

    /// <summary>Whether a write has failed and the log has not been read again since.</summary>
    public bool LogInDoubt { get; private set; }

    /// <summary>
    /// What is to be said to a bench before anything else after a start: that its server was down, for how long, and
    /// that nobody knows the cards any more; null where it has nothing in work and knows no card.
    /// </summary>
    /// <param name="lastAlive">The last time that the server is known to have run, where that is later than the bench's
    /// last event; or null.</param>
    public CommandEnvelope? RestartToNote(Instant? lastAlive = null)
    {
        var now = clock.Now;
        // As the log was found: by now a plan may have been made.
        var since = lastAlive is { } alive && alive <= now ? Instant.Max(alive, found.LastArrived) : found.LastArrived;
        return found.HasWhatARestartSpoils
            ? new CommandEnvelope(new BenchCommand.NoteRestart(since, guard.Doubt is null), OwnTouch(Itself, now))
            : null;
    }

    /// <summary>
    /// Hears a command: when this says "recorded", it stands in the log. Its times are cut to milliseconds; whether the
    /// time is in doubt comes in with it.
    /// </summary>
    public async Task<CommandAnswer> HearAsync(CommandEnvelope envelope)
    {
        ArgumentNullException.ThrowIfNull(envelope);
        var (command, said) = envelope;
        var arrived = BenchClock.ToMilliseconds(said.Arrived);
        var provenance = said with
        {
            At = BenchClock.ToMilliseconds(said.At),
            Arrived = arrived,
            ClockInDoubt = guard.Doubt is not null,
        };
        using var trace = BenchMeter.Traces.StartActivity("command")?.SetTag("bench", State.Id.Value)
            .SetTag("command", command.GetType().Name);
        try
        {
            if (!await CatchUpAsync())
                return Later(Words.LogUnwritable);
            switch (LiveBench.Decide(State, command, provenance))
            {
                case Decision.Refused refused:
                    return CommandAnswer.Refuse(RefusalText.Say(State, command, refused), State.Revision);
                case Decision.Accepted accepted:
                    if (!await RecordAsync(accepted, provenance))
                        return Later(Words.LogUnwritable);
                    planWanted = ReplanCauses.Of(command, accepted.Events) ?? planWanted;
                    break;
                default:
                    break;
            }

            return CommandAnswer.Stands(State.Revision);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogError(fault, "Bench {Bench} could not decide on {Command}.", State.Id, command.GetType().Name);
            return Later(Words.CommandFailed);
        }
    }

    /// <summary>Plans where a report or the time asks for it, and looks.</summary>
    public async Task<BenchView> KeepTimeAsync()
    {
        var now = clock.Now;
        await NoteClockAsync(now);
        await NoteNotKnownAsync(now);
        var look = View(now);
        if (planAgainAt <= now)
            planWanted ??= PlanCause.Report;
        for (var hands = 0; (planWanted ?? TimedCause(look, now)) is { } cause && await PlanAsync(cause, now); hands++)
        {
            now = clock.Now;
            look = View(now);
            // By the new plan some hands come to what costs a cartridge, unless others are at the step where they are
            // believed to be.
            if (hands == State.Hands.Count() || !(look.NotKnownAt <= now))
                break;
            await NoteNotKnownAsync(now);
            look = View(now);
        }

        return look;
    }

    /// <summary>
    /// What the bench shows at an instant. Worked out once for a revision, as long as time alone changes nothing that
    /// matters: the answer to a report and the plan after it come within moments.
    /// </summary>
    public BenchView View(Instant now)
    {
        if (seen is { } last && ReferenceEquals(last.State, State) && last.View.At <= now
            && now < last.View.At + LookAgainAfter
            && !(last.View.ChangesAt <= now) && !(last.View.ReplanAt <= now) && !(last.View.NotKnownAt <= now))
            return last.View with { At = now };
        var look = LiveBench.View(State, now, patience);
        seen = (State, look);
        return look;
    }

    /// <summary>How long nothing will change by time alone.</summary>
    public Duration SleepAfter(BenchView look)
    {
        ArgumentNullException.ThrowIfNull(look);
        var now = clock.Now;
        var until = LongestSleep;
        if (look.ChangesAt is { } changes)
            until = Duration.Min(until, changes - now);
        if (look.ReplanAt is { } replan)
            until = Duration.Min(until, Instant.Max(replan, noTimedPlanBefore) - now);
        if (look.NotKnownAt is { } notKnown)
            until = Duration.Min(until, Instant.Max(notKnown, noNoteBefore) - now);
        if (planAgainAt is { } again)
            until = Duration.Min(until, again - now);
        return planWanted is not null || LogInDoubt ? Duration.Min(until, RetryAfter) : until;
    }

    /// <summary>A touch of the bench's own commands; whether the time is in doubt comes in with it.</summary>
    private Provenance OwnTouch(PersonId person, Instant now) =>
        new(newId(), now, now, person, ThisServer, ClockInDoubt: guard.Doubt is not null);

    private CommandAnswer Later(string sentence) => CommandAnswer.Later(sentence, State.Revision);

    /// <summary>
    /// Writes what was decided, then takes it over; false, and nothing taken over, where it cannot be written.
    /// </summary>
    private async Task<bool> RecordAsync(Decision.Accepted accepted, Provenance provenance)
    {
        var entries = accepted.Entries(provenance);
        var after = After(entries);
        try
        {
            await log.AppendAsync(State, after, entries, CancellationToken.None);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            // A write that failed may still have reached the disk: the log is read again before anything else is
            // decided.
            LogInDoubt = true;
            logger.LogError(fault, "Bench {Bench} could not write to the log.", State.Id);
            return false;
        }

        State = after;
        return true;
    }

    private BenchState After(IEnumerable<BenchEntry> entries) =>
        entries.Aggregate(State, (state, entry) => LiveBench.Apply(state, entry));

    private async Task<bool> CatchUpAsync()
    {
        if (!LogInDoubt)
            return true;
        try
        {
            State = After(await log.ReadAsync(State.Id, State.Revision, CancellationToken.None));
            LogInDoubt = false;
            // What was told as failed and is there after all has not been planned for.
            if (State.HasUnplanned)
                planWanted ??= PlanCause.Report;
            return true;
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogError(fault, "Bench {Bench} could not read its log again.", State.Id);
            return false;
        }
    }

    /// <summary>Whether the host's time is in doubt stands in the log, beside the reports that it concerns.</summary>
    private async Task NoteClockAsync(Instant now)
    {
        if (State.Phase != BatchPhase.Running || guard.Doubt is not null == State.ClockMark is not null
            || !await CatchUpAsync())
            return;
        var provenance = OwnTouch(Itself, now);
        if (LiveBench.Decide(State, new BenchCommand.NoteClock(guard.Doubt?.Difference),
            provenance) is Decision.Accepted accepted)
            await RecordAsync(accepted, provenance);
    }

    /// <summary>
    /// That patience with a step has ended stands in the log, and the plan counts on its hands at once. Nothing is said
    /// so by a time that is in doubt, nor after a write that may be in the log although it failed.
    /// </summary>
    private async Task NoteNotKnownAsync(Instant now)
    {
        if (now < noNoteBefore || !(View(now).NotKnownAt <= now))
            return;
        var notes = guard.Doubt is null && await CatchUpAsync() ? LiveBench.NotKnown(State, now, patience) : [];
        if (notes.IsEmpty)
            noNoteBefore = now + RetryAfter;
        foreach (var note in notes.TakeWhile(_ => !LogInDoubt))
        {
            var provenance = OwnTouch(Itself, now);
            if (LiveBench.Decide(State, note, provenance) is Decision.Accepted accepted
                && await RecordAsync(accepted, provenance))
                planWanted = ReplanCauses.Of(note, accepted.Events) ?? planWanted;
            else
                noNoteBefore = now + RetryAfter;
        }
    }

    private PlanCause? TimedCause(BenchView look, Instant now)
    {
        if (look.ReplanAt is not { } at || at > now || now < noTimedPlanBefore)
            return null;
        // A plan that time alone makes stale is not made more often than this, should it be stale again at once.
        noTimedPlanBefore = now + leastBetweenTimedPlans;
        var closed = look.Alarms.Any(alarm => alarm.Key.Kind == AlarmKind.WindowClosed && alarm.StandsAt(now));
        return closed ? PlanCause.WindowClosed : PlanCause.StepOverran;
    }

    /// <summary>
    /// Makes and adopts a plan; false where nothing that is shown has changed. Whatever goes wrong in planning, the
    /// bench goes on: what hinders is set aside and the rest is planned, or it stands in the log that no plan can be
    /// made.
    /// </summary>
    private async Task<bool> PlanAsync(PlanCause cause, Instant now)
    {
        using var trace = BenchMeter.Traces.StartActivity("plan")?.SetTag("bench", State.Id.Value)
            .SetTag("cause", cause.ToString());
        var begun = Stopwatch.GetTimestamp();
        planAgainAt = null;
        try
        {
            // A plan judges by the time what is lost: none is made while the time is in doubt.
            if (guard.Doubt is not null || !await CatchUpAsync())
            {
                noTimedPlanBefore = now + RetryAfter;
                return false;
            }

            var outcome = PlanObstacles.Stand(State, now) ? PlanOutcome.Failed : await ProposeAsync(cause, now);
            if (outcome == PlanOutcome.Failed)
                outcome = await PlanAroundAsync(cause, now);
            switch (outcome)
            {
                case PlanOutcome.Adopted:
                    BenchMeter.Plan.Record(Stopwatch.GetElapsedTime(begun).TotalSeconds,
                        new KeyValuePair<string, object?>("cause", cause.ToString()));
                    planWanted = null;
                    return true;
                case PlanOutcome.NotWritten:
                    // A disk that is full now is full for a while.
                    noTimedPlanBefore = now + RetryAfter;
                    return false;
                case PlanOutcome.Failed:
                    planWanted = null;
                    planAgainAt = now + PlanAgainAfter;
                    return true;
                default:
                    planWanted = null;
                    noTimedPlanBefore = Instant.Max(noTimedPlanBefore, now + ReplanTimes.AskAgainAfter);
                    return outcome == PlanOutcome.Noted;
            }
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            // The adopted plan stays; it is tried again.
            planWanted = null;
            planAgainAt = now + PlanAgainAfter;
            logger.LogError(fault, "Bench {Bench} could not plan ({Cause}).", State.Id, cause);
            return false;
        }
    }

    /// <summary>What became of a wish for a plan.</summary>
    private enum PlanOutcome
    {
        /// <summary>A plan was adopted.</summary>
        Adopted,

        /// <summary>The adopted one stays, or there is nothing to plan.</summary>
        Stays,

        /// <summary>The adopted one stays; what hinders planning has changed.</summary>
        Noted,

        /// <summary>It could not be written.</summary>
        NotWritten,

        /// <summary>No plan could be made, or none that is valid.</summary>
        Failed,
    }

    /// <summary>
    /// The adopted plan pulled earlier in its own order, or a search's plan where that is worth a change: one adoption.
    /// </summary>
    private async Task<PlanOutcome> ProposeAsync(PlanCause cause, Instant now)
    {
        try
        {
            return await AdoptAsync(PlanReplacement.Propose(State, now, cause, seed: (ulong)State.Revision, budget(),
                policy), cause, now);
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogError(fault, "Bench {Bench} could not plan ({Cause}).", State.Id, cause);
            return PlanOutcome.Failed;
        }
    }

    /// <summary>
    /// Finds what hinders planning and records it, then plans the rest: as usual, or with the plan that was made in
    /// finding it.
    /// </summary>
    private async Task<PlanOutcome> PlanAroundAsync(PlanCause cause, Instant now)
    {
        var around = PlanObstacles.Find(State, now, cause, seed: (ulong)State.Revision, trials(), policy);
        var noted = false;
        var provenance = OwnTouch(Planner, now);
        if (LiveBench.Decide(State, around.Note, provenance) is Decision.Accepted accepted)
        {
            // Without their names, which may be patients'.
            logger.LogWarning(around.Fault, "Bench {Bench} {Works} and sets {Requests} requests aside ({Cause}).",
                State.Id, around.Note.Works ? "plans" : "cannot plan", around.Note.SetAside.Length, cause);
            if (!await RecordAsync(accepted, provenance))
                return PlanOutcome.NotWritten;
            noted = true;
        }

        if (!around.Note.Works)
            return PlanOutcome.Failed;
        var outcome = await ProposeAsync(cause, now);
        if (outcome == PlanOutcome.Failed && around.Plan is { } plan)
            outcome = await AdoptAsync([plan], cause, now);
        return outcome == PlanOutcome.Stays && noted ? PlanOutcome.Noted : outcome;
    }

    private async Task<PlanOutcome> AdoptAsync(IReadOnlyList<BenchCommand.AdoptPlan> proposals, PlanCause cause,
        Instant now)
    {
        var isRefused = false;
        foreach (var proposal in proposals)
        {
            var provenance = OwnTouch(Planner, now);
            switch (LiveBench.Decide(State, proposal, provenance))
            {
                case Decision.Refused refused:
                    // Without the detail, which may name requests.
                    if (refusalLogged != refused.Why)
                        logger.LogWarning("Bench {Bench} did not adopt a plan ({Cause}): {Why}", State.Id, cause,
                            refused.Why);
                    (isRefused, refusalLogged) = (true, refused.Why);
                    break;
                case Decision.Accepted accepted:
                    if (!isRefused)
                        refusalLogged = null;
                    return await RecordAsync(accepted, provenance) ? PlanOutcome.Adopted : PlanOutcome.NotWritten;
                default:
                    break;
            }
        }

        return proposals.Count == 0 ? PlanOutcome.Stays : PlanOutcome.Failed;
    }
}
