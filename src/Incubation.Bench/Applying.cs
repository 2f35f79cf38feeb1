using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What each event does to the state. Reads nothing but the state and the event.</summary>
internal static class Applying
{
    public static BenchState Apply(BenchState? state, BenchEntry entry)
    {
        // A replay begins here: what was said before is erased, and the rows after that row follow.
        if (state is null && entry.Event is BenchEvent.StandingKept kept)
            return BenchState.From(kept.Standing, kept.UpTo);
        var next = entry.Event is BenchEvent.BenchOpened opened
            ? BenchState.From(BenchCheckpoint.Opened(opened), 0) with { HasUnplanned = false }
            : Changed(state ?? throw new InvalidOperationException("A bench's stream begins with its opening."), entry);
        return next with
        {
            Recorded = next.Recorded.Add(entry.Touch.Id),
            Revision = (state?.Revision ?? 0) + 1,
            HasUnplanned = RestsPlanOn(entry.Event) ?? state?.HasUnplanned ?? false,
            Checkpoint = next.Checkpoint with { LastArrived = ArrivedLast(state, entry) },
            Run = next.Run with { Undo = UndoAfter(state, entry) },
        };
    }

    /// <summary>What the time was is forgotten when it is agreed anew.</summary>
    private static Instant ArrivedLast(BenchState? state, BenchEntry entry) => entry.Event is BenchEvent.ClockAgreed or BenchEvent.ClockDoubted
        ? entry.Touch.Arrived
        : Instant.Max(state?.LastArrived ?? Instant.MinValue, entry.Touch.Arrived);

    /// <summary>Whether a plan made before an event may be no good after it; false for the plan itself, null for what has nothing to do with plans.</summary>
    private static bool? RestsPlanOn(BenchEvent happened) => happened switch
    {
        BenchEvent.PlanAdopted => false,
        BenchEvent.BenchOpened or BenchEvent.ResultEntered or BenchEvent.ResultReleased or BenchEvent.ResultAmended
            or BenchEvent.CriticalTold or BenchEvent.SpecimenRejected or BenchEvent.AlarmAcknowledged
            or BenchEvent.IdentityNotChecked or BenchEvent.IdentitySettled or BenchEvent.IntakePaused or BenchEvent.IntakeResumed
            or BenchEvent.ClockDoubted or BenchEvent.ClockAgreed or BenchEvent.SaidAgain or BenchEvent.StandingKept => null,
        _ => true,
    };

    /// <summary>
    /// What can be taken back at once after an event: the report that it is, or what could be before it where it is none of an
    /// aide's business; else nothing.
    /// </summary>
    private static UndoPoint? UndoAfter(BenchState? state, BenchEntry entry) => entry.Event switch
    {
        BenchEvent.PlanAdopted or BenchEvent.AlarmAcknowledged or BenchEvent.IdentityNotChecked or BenchEvent.IdentitySettled
            or BenchEvent.SaidAgain or BenchEvent.StandingKept or BenchEvent.ClockDoubted or BenchEvent.ClockAgreed => state!.Undo,
        BenchEvent.ResultEntered or BenchEvent.StepNotBegun or BenchEvent.StoryEvent { IsReport: true } => new UndoPoint(
            entry.Touch.Id, entry.Touch.Device, entry.Event, state!.Checkpoint.Believed(), state.Run with { Undo = null }),
        _ => null,
    };

    /// <summary>What each event changes. What can be taken back after it is no part of this.</summary>
    private static BenchState Changed(BenchState state, BenchEntry entry) => entry.Event switch
    {
        BenchEvent.StoryEvent step => Step(state, step, entry.Touch.Id).InRun(run => run with
        {
            Story = run.Story.Add(new Told(entry.Touch.Id, entry.Touch.At, entry.Touch.Device, step)),
        }),
        BenchEvent.StepNotBegun notBegun => ReportedBy(state, notBegun.Hands, notBegun.At),
        BenchEvent.ReportUndone => Undone(state),
        BenchEvent.AccountsRevised revised => Revised(state, revised),
        BenchEvent.QuestionSettled settled => Settled(state, settled, entry.Touch.Id),
        BenchEvent.SaidAgain or BenchEvent.StandingKept => state,

        BenchEvent.RequestsAdded added => Added(state, added),
        BenchEvent.RequestWithdrawn withdrawn => Ended(state, withdrawn.Request, new CartridgeStage.Withdrawn()),
        BenchEvent.BatchStarted => state.InRun(run => run with { Phase = BatchPhase.Running, StartedAt = entry.Touch.At }),
        BenchEvent.BatchClosed => Closed(state),
        BenchEvent.SpecimenRejected or BenchEvent.ReadyChanged or BenchEvent.DiscardAsked or BenchEvent.PutOutOfUse or BenchEvent.PutBackInUse
            or BenchEvent.HandsChanged or BenchEvent.IntakePaused or BenchEvent.IntakeResumed or BenchEvent.IncubatorSet
            or BenchEvent.TemperatureMeasured or BenchEvent.Restarted => MeansApplying.Of(state, entry),
        BenchEvent.ReadinessConfirmed confirmed => Readiness.Apply(state, confirmed, entry.Touch.Person),
        BenchEvent.LotGateSet set => LotGates.Apply(state, set, entry.Touch.At),
        BenchEvent.ResultEntered or BenchEvent.ResultReleased or BenchEvent.ResultAmended or BenchEvent.CriticalTold => Results.Of(state, entry),
        BenchEvent.PlanAdopted adopted => Adopted(state, adopted, entry.Touch),
        BenchEvent.AlarmAcknowledged seen => state.InRun(run => run with { Acknowledged = run.Acknowledged.Add(seen.Alarm) }),
        BenchEvent.ClockDoubted doubted => state.InCheckpoint(bench => bench with { ClockMark = new ClockMark(entry.Touch.At, doubted.Ahead) }),
        BenchEvent.ClockAgreed => state.InCheckpoint(bench => bench with { ClockMark = null }),
        BenchEvent.IdentityNotChecked => state.InCheckpoint(bench => bench with
        {
            Unchecked = bench.Unchecked.Add(new UncheckedReport(entry.Touch.Id, entry.Touch.At, entry.Touch.Person, entry.Touch.Device)),
        }),
        BenchEvent.IdentitySettled settled => state.InCheckpoint(bench => bench with
        {
            Unchecked = bench.Unchecked.RemoveAll(report => settled.Reports.Contains(report.Report)),
        }),
        _ => throw new InvalidOperationException($"The event {entry.Event.GetType().Name} is not known."),
    };

    /// <summary>What a step changes in what is believed.</summary>
    public static BenchState Step(BenchState state, BenchEvent.StoryEvent step, ReportId report) => step switch
    {
        BenchEvent.Mixed mixed => Mixed(state, mixed),
        BenchEvent.Loaded loaded => Loaded(state, loaded, report),
        BenchEvent.ReadStarted started => ReadStarted(state, started, report),
        BenchEvent.Cleared cleared => Cleared(state, cleared),
        BenchEvent.CardChanged changed => CardChanged(state, changed),
        BenchEvent.CardSeen seen => Known(state, seen.Reader, seen.Lot),
        BenchEvent.CardDoubted doubted => state.InCheckpoint(bench => bench.With(new CardStatus(
            doubted.Reader, null, bench.DoubtOf(doubted.Reader) ?? new CardDoubt(bench.CardIn(doubted.Reader), doubted.Cause)))),
        BenchEvent.Discarded discarded => Discarded(state, discarded),
        _ => throw new InvalidOperationException($"The event {step.GetType().Name} tells of no step."),
    };

    /// <summary>Some reports taken back, some corrected, each judged as the revision says; then the batch's story is told anew.</summary>
    private static BenchState Revised(BenchState state, BenchEvent.AccountsRevised revised)
    {
        var story = Revising.Story(state.Story, revised.Undone, revised.Corrected);
        foreach (var verdict in revised.Verdicts)
            story = story.ConvertAll(told => told.Id == verdict.Report ? told with { Event = told.Event.Judged(verdict.Deviations) } : told);
        return Retelling.Of(state, story).InRun(run => run with
        {
            Settled = run.Settled.RemoveAll(settled => revised.Undone.Contains(settled.By)),
        });
    }

    private static BenchState Settled(BenchState state, BenchEvent.QuestionSettled settled, ReportId by) => state.InRun(run => run with
    {
        Settled = run.Settled.Add(new SettledQuestion(settled.Question, settled.Answer, by)),
        Outage = settled.Question.Kind == QuestionKind.PowerCut ? null : run.Outage,
    });

    private static BenchState Added(BenchState state, BenchEvent.RequestsAdded added) => state.InRun(run => run with
    {
        Cartridges = run.Cartridges.AddRange(added.Requests.Select(wanted =>
            new Cartridge(wanted, new CartridgeStage.Waiting(), [], ReadInWindow: null, Result: null, Repeat: null))),
    });

    private static BenchState Closed(BenchState state)
    {
        var bench = state.Checkpoint with { Batch = state.Batch + 1 };
        return state with { Checkpoint = bench, Run = BenchState.NewRun(bench) };
    }

    private static BenchState Adopted(BenchState state, BenchEvent.PlanAdopted adopted, Touch touch)
    {
        var rows = adopted.Plan.Steps
            .Select((step, index) => new RemainingStep(step, adopted.Spares[index]))
            .OrderBy(r => r.Step.Start).ThenBy(r => r.Step.End);
        return state.InRun(run => run with
        {
            Adopted = new AdoptedPlan(adopted.Plan, adopted.Origin, touch.At, [.. rows]),
            // What was given up before stays given up since then: an alarm does not grow young by another plan.
            GivenUp = [.. adopted.Plan.Lost.Select(left => new GivenUp(left.Request, state.GivenUpSince(left.Request) ?? touch.At))],
        });
    }

    /// <summary>Back to before the report. What a person has seen meanwhile stays seen, and what is said of clocks and persons stays said.</summary>
    private static BenchState Undone(BenchState state) => state.Undo is { } undo
        ? state with { Checkpoint = state.Checkpoint.Believing(undo.Believed), Run = undo.Run with { Acknowledged = state.Acknowledged } }
        : state;

    private static BenchState Mixed(BenchState state, BenchEvent.Mixed mixed)
    {
        var next = Noted(state, mixed.Request, mixed.Deviations, c => c.Stage is CartridgeStage.Waiting
            ? c with { Stage = new CartridgeStage.InWork(new CartridgePhase.Mixed(mixed.End)) }
            : c);
        return DoneBy(next, new StepAction.Mix(mixed.Request), mixed.Hands, mixed.Begun, mixed.End.Latest);
    }

    private static BenchState Loaded(BenchState state, BenchEvent.Loaded loaded, ReportId report)
    {
        var phase = new CartridgePhase.Reacting(loaded.End, loaded.Place);
        var next = Noted(Displaced(state, loaded.Request, loaded.Place, loaded.Deviations, report, loaded.End.Latest), loaded.Request, loaded.Deviations,
            c => c.IsOver ? c : c with { Stage = new CartridgeStage.InWork(phase) });
        // What was given up before its report came is not thrown away after it.
        next = WithoutRows(next, a => a is StepAction.Mix or StepAction.Discard && a.Subject == loaded.Request);
        return DoneBy(next, new StepAction.Load(loaded.Request, loaded.Place), loaded.Hands, loaded.Begun, loaded.End.Latest);
    }

    private static BenchState ReadStarted(BenchState state, BenchEvent.ReadStarted started, ReportId report)
    {
        var inside = new CartridgePlace.InReader(started.Reader);
        var inWindow = started.Deviations.Contains(Deviation.ClockInDoubt) ? (bool?)null : !started.Deviations.Any(d => d is Deviation.EarlyRead or Deviation.LateRead or Deviation.StatedInTime or Deviation.OutOfOrder);
        var next = Noted(Displaced(state, started.Request, inside, started.Deviations, report, started.Start), started.Request, started.Deviations, c => c.IsOver ? c : c with
        {
            Stage = new CartridgeStage.InWork(new CartridgePhase.Reading(started.Reader, started.Start)),
            ReadInWindow = inWindow,
        });
        next = WithoutRows(next, a => a is StepAction.Mix or StepAction.Load or StepAction.Move or StepAction.Discard && a.Subject == started.Request);
        return DoneBy(next, new StepAction.Move(started.Request, started.Reader), started.Hands, started.Begun, started.Start);
    }

    private static BenchState Cleared(BenchState state, BenchEvent.Cleared cleared)
    {
        var readStart = cleared.ReadStartedByItself
            ?? (state.Find(cleared.Request)?.Reached as CartridgePhase.Reading)?.Start;
        var next = Noted(state, cleared.Request, cleared.Deviations, c => c.IsOver ? c : c with
        {
            Stage = new CartridgeStage.Cleared(cleared.End),
            ReadInWindow = c.ReadInWindow ?? (
                // What was read while the time was in doubt was never judged.
                cleared.Deviations.Contains(Deviation.ClockInDoubt) || c.Deviations.Contains(Deviation.ClockInDoubt)
                    ? null
                    : cleared.ReadStartedByItself is not null && cleared.Deviations.IsEmpty),
        });
        if (readStart is { } start)
            next = WithDone(next, new DoneStep(new StepAction.Read(cleared.Request, cleared.Reader), null, start, Instant.Max(start, cleared.Begun)));
        next = WithoutRows(next, a => a.Subject == cleared.Request);
        return DoneBy(next, new StepAction.Clear(cleared.Request, cleared.Reader), cleared.Hands, cleared.Begun, cleared.End);
    }

    private static BenchState CardChanged(BenchState state, BenchEvent.CardChanged changed) =>
        DoneBy(Known(state, changed.Reader, changed.Lot), new StepAction.CardChange(changed.Reader, changed.Lot), changed.Hands, changed.Begun, changed.End);

    private static BenchState Known(BenchState state, ReaderNumber reader, LotCode lot) =>
        state.InCheckpoint(bench => bench.With(new CardStatus(reader, lot, null)));

    private static BenchState Discarded(BenchState state, BenchEvent.Discarded discarded)
    {
        var next = Ended(state, discarded.Request, new CartridgeStage.Discarded(discarded.End, discarded.Reason, discarded.InWords));
        return DoneBy(next, new StepAction.Discard(discarded.Request), discarded.Hands, discarded.Begun, discarded.End);
    }

    private static BenchState Ended(BenchState state, RequestId request, CartridgeStage stage) =>
        WithoutRows(With(state, request, c => c with { Stage = stage }), a => a.Subject == request);

    /// <summary>Whatever was believed to be where a cartridge was really put is astray until a person settles it.</summary>
    private static BenchState Displaced(BenchState state, RequestId newcomer, CartridgePlace place, ImmutableArray<Deviation> deviations, ReportId report, Instant at)
    {
        if (!deviations.Any(d => d is Deviation.SlotBelievedTaken or Deviation.ReaderBelievedTaken))
            return state;
        var other = place switch
        {
            CartridgePlace.InSlot slot => state.InSlot(slot.Slot),
            CartridgePlace.InReader inside => state.InReader(inside.Reader),
            _ => null,
        };
        return other is null || other.Id == newcomer
            ? state
            : WithoutRows(With(state, other.Id, c => c with { Stage = new CartridgeStage.Astray(report, c.Phase!, at) }), a => a.Subject == other.Id);
    }

    private static BenchState DoneBy(BenchState state, StepAction action, HandsNumber hands, Instant begun, Instant end)
    {
        var next = WithDone(state, new DoneStep(action, hands, begun, end));
        return ReportedBy(WithoutFirstRow(next, action), hands, end);
    }

    private static BenchState WithDone(BenchState state, DoneStep done) => state.InRun(run => run with { Done = run.Done.Add(done) });

    private static BenchState ReportedBy(BenchState state, HandsNumber hands, Instant at) =>
        state.InCheckpoint(bench => bench.Reported(hands, at));

    private static BenchState Noted(BenchState state, RequestId request, ImmutableArray<Deviation> deviations, Func<Cartridge, Cartridge> change) =>
        With(state, request, c => change(c) with { Deviations = c.Deviations.AddRange(deviations) });

    public static BenchState With(BenchState state, RequestId request, Func<Cartridge, Cartridge> change) =>
        state.InRun(run => run.With(request, change));

    /// <summary>Ends the row that did this, wherever it was planned to be done.</summary>
    private static BenchState WithoutFirstRow(BenchState state, StepAction action)
    {
        if (state.Adopted is not { } adopted)
            return state;
        var row = adopted.Remaining.FirstOrDefault(r => r.Step.Action == action)
            ?? adopted.Remaining.FirstOrDefault(r => r.Step.Action.GetType() == action.GetType() && action.Subject is not null && r.Step.Action.Subject == action.Subject);
        return row is null ? state : state.InRun(run => run with { Adopted = adopted with { Remaining = adopted.Remaining.Remove(row) } });
    }

    private static BenchState WithoutRows(BenchState state, Func<StepAction, bool> which) =>
        state.Adopted is { } adopted
            ? state.InRun(run => run with { Adopted = adopted with { Remaining = adopted.Remaining.RemoveAll(r => which(r.Step.Action)) } })
            : state;
}
