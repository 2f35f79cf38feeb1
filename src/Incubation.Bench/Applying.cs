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
            return kept.Standing.ToState(kept.UpTo);
        var next = entry.Event is BenchEvent.BenchOpened opened
            ? new BenchState { Id = opened.Bench, Name = opened.Name, Setup = opened.Setup, PromptAhead = opened.PromptAhead }
            : Changed(state ?? throw new InvalidOperationException("A bench's stream begins with its opening."), entry);
        return next with
        {
            Recorded = next.Recorded.Add(entry.Touch.Id),
            Revision = (state?.Revision ?? 0) + 1,
            HasUnplanned = RestsPlanOn(entry.Event) ?? state?.HasUnplanned ?? false,
            // What the time was is forgotten when it is agreed anew.
            LastArrived = entry.Event is BenchEvent.ClockAgreed or BenchEvent.ClockDoubted ? entry.Touch.Arrived : Instant.Max(state?.LastArrived ?? Instant.MinValue, entry.Touch.Arrived),
        };
    }

    /// <summary>Whether a plan made before an event may be no good after it; false for the plan itself, null for what has nothing to do with plans.</summary>
    private static bool? RestsPlanOn(BenchEvent happened) => happened switch
    {
        BenchEvent.PlanAdopted => false,
        BenchEvent.BenchOpened or BenchEvent.ResultEntered or BenchEvent.ResultReleased or BenchEvent.ResultAmended or BenchEvent.CriticalTold or BenchEvent.SpecimenRejected or BenchEvent.AlarmAcknowledged or BenchEvent.IdentityNotChecked or BenchEvent.IdentitySettled
            or BenchEvent.IntakePaused or BenchEvent.IntakeResumed or BenchEvent.ClockDoubted or BenchEvent.ClockAgreed or BenchEvent.SaidAgain or BenchEvent.StandingKept => null,
        _ => true,
    };

    private static BenchState Changed(BenchState state, BenchEntry entry) => entry.Event switch
    {
        BenchEvent.RequestsAdded added => Added(state, added) with { Undo = null },
        BenchEvent.RequestWithdrawn withdrawn => Ended(state, withdrawn.Request, new CartridgeStage.Withdrawn()) with { Undo = null },
        BenchEvent.BatchStarted => state with { Phase = BatchPhase.Running, StartedAt = entry.Touch.At, Undo = null },
        BenchEvent.BatchClosed => Closed(state),
        BenchEvent.PlanAdopted adopted => Adopted(state, adopted, entry.Touch),
        BenchEvent.AlarmAcknowledged seen => state with { Acknowledged = state.Acknowledged.Add(seen.Alarm) },
        BenchEvent.ReportUndone => Undone(state),
        BenchEvent.IdentityNotChecked => state with { Unchecked = state.Unchecked.Add(new UncheckedReport(entry.Touch.Id, entry.Touch.At, entry.Touch.Person, entry.Touch.Device)) },
        BenchEvent.IdentitySettled settled => state with { Unchecked = state.Unchecked.RemoveAll(report => settled.Reports.Contains(report.Report)) },
        BenchEvent.AccountsRevised revised => Revised(state, revised),
        BenchEvent.SaidAgain or BenchEvent.StandingKept => state,
        BenchEvent.ClockDoubted doubted => state with { ClockMark = new ClockMark(entry.Touch.At, doubted.Ahead) },
        BenchEvent.ClockAgreed => state with { ClockMark = null },
        BenchEvent.QuestionSettled settled => state with { Settled = state.Settled.Add(new SettledQuestion(settled.Question, settled.Answer, entry.Touch.Id)), Outage = settled.Question.Kind == QuestionKind.PowerCut ? null : state.Outage, Undo = null },
        _ when MeansApplying.Of(state, entry) is { } changed => changed with { Undo = null },
        BenchEvent.CardDoubted => Reported(state, entry) with { Undo = null },
        BenchEvent.ResultReleased or BenchEvent.ResultAmended or BenchEvent.CriticalTold => Results.Of(state, entry)! with { Undo = null },
        BenchEvent.ResultEntered => Results.Of(state, entry)! with { Undo = new UndoPoint(entry.Touch.Id, entry.Touch.Device, entry.Event, state with { Undo = null }) },
        _ => Reported(state, entry) with { Undo = new UndoPoint(entry.Touch.Id, entry.Touch.Device, entry.Event, state with { Undo = null }) },
    };

    private static BenchState Reported(BenchState state, BenchEntry entry) => entry.Event switch
    {
        BenchEvent.StepNotBegun notBegun => ReportedBy(state, notBegun.Hands, notBegun.At),
        var step when StoryEvents.BelongsTo(step) => Step(state, step, entry.Touch.Id) with { Story = state.Story.Add(new Told(entry.Touch.Id, entry.Touch.At, entry.Touch.Device, step)) },
        _ => throw new InvalidOperationException($"The event {entry.Event.GetType().Name} is not known."),
    };

    /// <summary>What a step changes in what is believed.</summary>
    public static BenchState Step(BenchState state, BenchEvent step, ReportId report) => step switch
    {
        BenchEvent.Mixed mixed => Mixed(state, mixed),
        BenchEvent.Loaded loaded => Loaded(state, loaded, report),
        BenchEvent.ReadStarted started => ReadStarted(state, started, report),
        BenchEvent.Cleared cleared => Cleared(state, cleared),
        BenchEvent.CardChanged changed => CardChanged(state, changed),
        BenchEvent.CardSeen seen => Known(state, seen.Reader, seen.Lot),
        BenchEvent.CardDoubted doubted => state with
        {
            Cards = state.Cards.Remove(doubted.Reader.Value),
            CardDoubts = state.CardDoubts.SetItem(doubted.Reader.Value, state.CardDoubts.TryGetValue(doubted.Reader.Value, out var earlier)
                ? earlier
                : new CardDoubt(state.Cards.TryGetValue(doubted.Reader.Value, out var believed) ? believed : null, doubted.Cause)),
        },
        BenchEvent.Discarded discarded => Discarded(state, discarded),
        _ => throw new InvalidOperationException($"The event {step.GetType().Name} tells of no step."),
    };

    /// <summary>Some reports taken back, some corrected, each judged as the revision says; then the batch's story is told anew.</summary>
    private static BenchState Revised(BenchState state, BenchEvent.AccountsRevised revised)
    {
        var story = Revising.Story(state.Story, revised.Undone, revised.Corrected);
        foreach (var verdict in revised.Verdicts)
            story = story.ConvertAll(told => told.Id == verdict.Report ? told with { Event = StoryEvents.With(told.Event, verdict.Deviations) } : told);
        return Retelling.Of(state, story) with { Undo = null, Settled = state.Settled.RemoveAll(settled => revised.Undone.Contains(settled.By)) };
    }

    private static BenchState Added(BenchState state, BenchEvent.RequestsAdded added)
    {
        var next = state;
        foreach (var wanted in added.Requests)
            next = next with { Cartridges = next.Cartridges.Add(new Cartridge(wanted, new CartridgeStage.Waiting(), [], null, null, null)) };
        return next;
    }

    private static BenchState Closed(BenchState state) => state with
    {
        Batch = state.Batch + 1,
        Phase = BatchPhase.Preparing,
        StartedAt = null,
        Cartridges = [],
        Done = [],
        Adopted = null,
        GivenUp = state.GivenUp.Clear(),
        Acknowledged = [],
        Undo = null,
        StoryStart = new StoryStart(state.Cards, state.LastReport, state.CardDoubts),
        Story = [],
        Settled = [],
        Rejected = [],
        Outage = null,
    };

    private static BenchState Adopted(BenchState state, BenchEvent.PlanAdopted adopted, Touch touch)
    {
        var rows = adopted.Plan.Steps
            .Select((step, index) => new RemainingStep(step, adopted.Spares[index]))
            .OrderBy(r => r.Step.Start).ThenBy(r => r.Step.End);
        return state with
        {
            Adopted = new AdoptedPlan(adopted.Plan, adopted.Origin, touch.At, [.. rows]),
            // What was given up before stays given up since then: an alarm does not grow young by another plan.
            GivenUp = adopted.Plan.Lost.ToImmutableSortedDictionary(l => l.Request.Value, l => state.GivenUp.GetValueOrDefault(l.Request.Value, touch.At), StringComparer.Ordinal),
        };
    }

    /// <summary>Back to before the report; what was recorded stays recorded, so that a late copy of the report stays harmless.</summary>
    private static BenchState Undone(BenchState state) =>
        state.Undo is { } undo
            ? undo.Before with { Recorded = state.Recorded, Acknowledged = state.Acknowledged, Unchecked = state.Unchecked, ClockMark = state.ClockMark }
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
            next = next with { Done = next.Done.Add(new DoneStep(new StepAction.Read(cleared.Request, cleared.Reader), null, start, Instant.Max(start, cleared.Begun))) };
        next = WithoutRows(next, a => a.Subject == cleared.Request);
        return DoneBy(next, new StepAction.Clear(cleared.Request, cleared.Reader), cleared.Hands, cleared.Begun, cleared.End);
    }

    private static BenchState CardChanged(BenchState state, BenchEvent.CardChanged changed) =>
        DoneBy(Known(state, changed.Reader, changed.Lot), new StepAction.CardChange(changed.Reader, changed.Lot), changed.Hands, changed.Begun, changed.End);

    private static BenchState Known(BenchState state, ReaderNumber reader, LotCode lot) => state with
    {
        Cards = state.Cards.SetItem(reader.Value, lot),
        CardDoubts = state.CardDoubts.Remove(reader.Value),
    };

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
        var next = state with { Done = state.Done.Add(new DoneStep(action, hands, begun, end)) };
        return ReportedBy(WithoutFirstRow(next, action), hands, end);
    }

    private static BenchState ReportedBy(BenchState state, HandsNumber hands, Instant at) =>
        state with { LastReport = state.LastReport.SetItem(hands.Value, at) };

    private static BenchState Noted(BenchState state, RequestId request, ImmutableArray<Deviation> deviations, Func<Cartridge, Cartridge> change) =>
        With(state, request, c => change(c) with { Deviations = c.Deviations.AddRange(deviations) });

    public static BenchState With(BenchState state, RequestId request, Func<Cartridge, Cartridge> change)
    {
        for (var index = 0; index < state.Cartridges.Length; index++)
            if (state.Cartridges[index].Id == request)
                return state with { Cartridges = state.Cartridges.SetItem(index, change(state.Cartridges[index])) };
        return state;
    }

    /// <summary>Ends the row that did this, wherever it was planned to be done.</summary>
    private static BenchState WithoutFirstRow(BenchState state, StepAction action)
    {
        if (state.Adopted is not { } adopted)
            return state;
        var row = adopted.Remaining.FirstOrDefault(r => r.Step.Action == action)
            ?? adopted.Remaining.FirstOrDefault(r => r.Step.Action.GetType() == action.GetType() && action.Subject is not null && r.Step.Action.Subject == action.Subject);
        return row is null ? state : state with { Adopted = adopted with { Remaining = adopted.Remaining.Remove(row) } };
    }

    private static BenchState WithoutRows(BenchState state, Func<StepAction, bool> which) =>
        state.Adopted is { } adopted
            ? state with { Adopted = adopted with { Remaining = adopted.Remaining.RemoveAll(r => which(r.Step.Action)) } }
            : state;
}
