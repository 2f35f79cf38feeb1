using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// The live bench: one deterministic state machine. It reads no clock, draws no random number and does no I/O;
/// the same entries always give the same state.
/// </summary>
public static class LiveBench
{
    /// <summary>What is to be recorded for a command. A null state is a bench whose stream is empty.</summary>
    /// <param name="state">The bench.</param>
    /// <param name="command">What is said to it.</param>
    /// <param name="said">Who says it, when, through what: its time as it came.</param>
    public static Decision Decide(BenchState? state, BenchCommand command, Provenance said)
    {
        ArgumentNullException.ThrowIfNull(command);
        ArgumentNullException.ThrowIfNull(said);
        if (state is null)
            return command is BenchCommand.OpenBench open
                ? Decisions.Accept(new BenchEvent.BenchOpened(open.Bench, open.Name, open.Setup, open.PromptAhead))
                : Decisions.Refuse(Refusal.BenchNotOpen);
        if (state.Recorded.Contains(said.Id))
            return new Decision.AlreadyRecorded();
        if (command is BenchCommand.Several several)
            return SeveralDecisions.Decide(state, several, said);
        state = Readable(ClockReturn.Heard(state, said.Arrived));
        // Asked here, where one thing is decided after the other: what was so when it was sent may not be any more.
        command = Results.AsMade(state, command, said.Identity);
        if (command is BenchCommand.Report report)
        {
            var (taken, fault) = ReportTimes.Take(state, report, said);
            return Completed(state, command, FateDecisions.Hear(state, report, taken), taken, fault);
        }

        var instruction = command as BenchCommand.Instruction
            ?? throw new InvalidOperationException($"The command {command.GetType().Name} is not known.");
        return ReportTimes.Take(state, instruction, said) is { } provenance
            ? Completed(state, command, Decisions.Instruct(state, instruction, provenance), provenance, null)
            : Decisions.Refuse(Refusal.UnreadableTime);
    }

    /// <summary>
    /// What was decided, with what else the log must hold of it: whose it was, what its time is worth.
    /// </summary>
    private static Decision Completed(BenchState state, BenchCommand command, Decision decision,
        Provenance provenance, TimeFault? fault)
    {
        if (decision is not Decision.Accepted accepted)
            return decision;
        var events = UnknownSteps.WithAbsences(state, command, accepted.Events, provenance);
        if (WentBack(state, provenance) is { } back)
            events = events.Insert(0, new BenchEvent.ClockDoubted(ClockDoubt.Recorded(back)));
        events = [.. events, .. ResultHolds.Noted(state, command, events, provenance)];
        if (provenance.Identity == Identity.NotChecked)
            events = events.Add(new BenchEvent.IdentityNotChecked());
        if (provenance.Sender is { } sender && sender != provenance.Person)
            events = events.Add(new BenchEvent.SentByAnother(sender));
        if (command is BenchCommand.AtLabel { Scan: LabelScan.Scanned or LabelScan.OtherThanPlanned } scanned)
            events = events.Add(new BenchEvent.LabelScanned(scanned.Request));
        if (fault is { } why)
            events = events.Add(new BenchEvent.TimeNotTaken(provenance.Claimed ?? "", why));
        // These events are recorded as they are returned; nothing changes them afterwards.
        return new Decision.Accepted(provenance.ClockInDoubt || state.ClockMark is not null
            || events[0] is BenchEvent.ClockDoubted
            ? [.. events.Select(ClockDoubt.Withhold)]
            : events)
        {
            At = provenance.At,
        };
    }

    /// <summary>The state after one more entry. Accepts every entry that <see cref="Decide"/> ever produced.</summary>
    public static BenchState Apply(BenchState? state, BenchEntry entry) => Changes.Apply(state, entry);

    /// <summary>
    /// The bench as whatever shows it or counts on it reads it: times that a log holds and that cannot be lie at the
    /// nearest that can. Not to be applied to: an entry is applied to the bench itself.
    /// </summary>
    public static BenchState Readable(BenchState state)
    {
        ArgumentNullException.ThrowIfNull(state);
        return ReadableTimes.Of(state);
    }

    /// <summary>What is due at an instant, and which alarms stand.</summary>
    /// <param name="state">The bench.</param>
    /// <param name="now">The instant.</param>
    /// <param name="patience">For how long hands are believed; <see cref="StepPatience.Usual"/> where none is
    /// given.</param>
    public static BenchView View(BenchState state, Instant now, StepPatience? patience = null) =>
        BenchViews.View(Readable(state), patience ?? StepPatience.Usual, now);

    /// <summary>
    /// What a host says of the steps with which patience has ended: each is not known from now on. Empty where hands
    /// are still believed.
    /// </summary>
    /// <param name="state">The bench.</param>
    /// <param name="now">The present.</param>
    /// <param name="patience">For how long hands are believed.</param>
    public static ImmutableArray<BenchCommand.NoteStepNotKnown> NotKnown(BenchState state, Instant now,
        StepPatience patience) =>
    [
        .. UnknownSteps.Due(Readable(state), patience, now)
            .Select(row => new BenchCommand.NoteStepNotKnown(row.Step.Hands!.Value, row.Step.Action)),
    ];

    /// <summary>
    /// The next step of each pair of hands that has one, as <see cref="View"/> gives them, without the rest of what a
    /// bench shows.
    /// </summary>
    public static ImmutableArray<Offer> Offers(BenchState state) => BenchViews.Offers(Readable(state));

    /// <summary>
    /// Whether a step can begin at an instant: its cartridge has reached the phase before the step, and the place where
    /// it goes is free. Hands whose planned time has come wait for that, perhaps for other hands.
    /// </summary>
    public static bool CanBegin(BenchState state, StepAction action, Instant now) =>
        Progress.CanBegin(Readable(state), action, now);

    /// <summary>
    /// When the adopted plan should be made anew if nothing is reported until then, or null; as <see cref="View"/>
    /// gives it.
    /// </summary>
    public static Instant? ReplanAt(BenchState state, Instant now) => ReplanTimes.At(Readable(state), now);

    /// <summary>Cartridges that are given up at an instant, and why; as <see cref="View"/> gives them.</summary>
    public static ImmutableArray<Loss> GivenUp(BenchState state, Instant now) => Losses.List(Readable(state), now);

    /// <summary>The batch in numbers at an instant; as <see cref="View"/> gives it.</summary>
    public static BatchTotals Totals(BenchState state, Instant now) => Bench.Totals.Of(Readable(state), now);

    /// <summary>The planning problem from where the bench stands at an instant.</summary>
    public static BenchDay Problem(BenchState state, Instant now) => BenchProblem.Of(Readable(state), now);

    /// <summary>
    /// How far the host's time has gone back since the last command, where that is more than any delay between two
    /// commands; else null.
    /// </summary>
    private static Duration? WentBack(BenchState state, Provenance provenance) =>
        state.ClockMark is null && state.LastArrived > Instant.MinValue
            && state.LastArrived - provenance.Arrived > ClockDoubt.Tolerance
            ? state.LastArrived - provenance.Arrived
            : null;
}
