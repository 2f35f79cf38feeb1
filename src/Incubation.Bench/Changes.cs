using NodaTime;

namespace Incubation.Bench;

/// <summary>What each event does to the state. Reads nothing but the state and the event.</summary>
internal static class Changes
{
    public static BenchState Apply(BenchState? state, BenchEntry entry)
    {
        // A replay begins here when the rows before this checkpoint are erased: the checkpoint is the state.
        if (state is null && entry.Event is BenchEvent.CheckpointKept kept)
            return BenchState.From(kept.Checkpoint, kept.UpTo);
        var arrived = entry.Provenance.Arrived;
        state = state is null ? null : ClockReturn.Heard(state, arrived);
        var next = entry.Event is BenchEvent.BenchOpened opened
            ? BenchState.From(BenchCheckpoint.Opened(opened), 0) with { HasUnplanned = false }
            : Changed(state ?? throw new InvalidOperationException("A bench's stream begins with its opening."), entry);
        next = UnknownSteps.Kept(next);
        var last = ArrivedLast(state, entry);
        var isAnswer = next.NotKnown.Length < state?.NotKnown.Length
            || entry.Event is BenchEvent.QuestionSettled or BenchEvent.ReportsRevised;
        return next with
        {
            Recorded = next.Recorded.Add(entry.Provenance.Id),
            Revision = (state?.Revision ?? 0) + 1,
            HasUnplanned = RestsPlanOn(entry.Event) ?? state?.HasUnplanned ?? false,
            News = RestsPlanOn(entry.Event) switch
            {
                // A plan that was looked at since and kept leaves no trace: what is older was looked at.
                true when state is { HasUnplanned: true, News: { } known }
                    && arrived - known.Arrived <= Progress.TimeToTell =>
                    known with { At = known.At.Add(entry.Provenance.At), IsAnswer = known.IsAnswer || isAnswer },
                true => new NewsToPlan([entry.Provenance.At], arrived, isAnswer),
                false => null,
                null => state?.News,
            },
            Checkpoint = next.Checkpoint with
            {
                LastArrived = last,
                Hands = next.Run.ClockReturned
                    ? ClockReturn.Reported(next.Checkpoint.Hands, arrived) : next.Checkpoint.Hands,
            },
            Run = next.Run with
            {
                LastHeard = arrived,
                Returned = UnknownSteps.Returned(state, next, arrived),
                Undo = UndoAfter(state, entry),
                Since = entry.Event is BenchEvent.BenchOpened or BenchEvent.BatchClosed ? last : next.Run.Since,
            },
        };
    }

    /// <summary>When the clock is doubted or agreed again, the latest arrival restarts at this entry.</summary>
    private static Instant ArrivedLast(BenchState? state, BenchEntry entry) => entry.Event is BenchEvent.ClockAgreed
        or BenchEvent.ClockDoubted
        ? entry.Provenance.Arrived
        : Instant.Max(state?.LastArrived ?? Instant.MinValue, entry.Provenance.Arrived);

    /// <summary>
    /// Whether a plan made before an event may be no good after it; false for the plan itself, null for what has
    /// nothing to do with plans.
    /// </summary>
    private static bool? RestsPlanOn(BenchEvent happened) => happened switch
    {
        BenchEvent.PlanAdopted => false,
        BenchEvent.BenchOpened or BenchEvent.ResultEntered or BenchEvent.ResultNotChecked
            or BenchEvent.ResultKeptHeld or BenchEvent.ReleaseEnded
            or BenchEvent.ResultReleased or BenchEvent.ResultAmended
            or BenchEvent.ResultQuestioned or BenchEvent.TellingWaived
            or BenchEvent.AmendmentProposed or BenchEvent.AmendmentConfirmed or BenchEvent.AmendmentDeclined
            or BenchEvent.CriticalTold or BenchEvent.SpecimenRejected or BenchEvent.AlarmAcknowledged
            or BenchEvent.IdentityNotChecked or BenchEvent.IdentitySettled or BenchEvent.IntakePaused
            or BenchEvent.IntakeResumed
            or BenchEvent.ClockDoubted or BenchEvent.ClockAgreed or BenchEvent.SaidAgain
            or BenchEvent.CheckpointKept or BenchEvent.SentByAnother or BenchEvent.TimeNotTaken
            or BenchEvent.LabelScanned
            or BenchEvent.PlanningNoted or BenchEvent.RepeatOrdered or BenchEvent.RequestCommented
            or BenchEvent.ProbeExpected or BenchEvent.LabelsAsked => null,
        _ => true,
    };

    /// <summary>
    /// What can be taken back at once after an event. The event itself if it is a report; after bookkeeping (plan,
    /// acknowledgement, clock, identity), whatever could be undone before; otherwise nothing.
    /// </summary>
    private static UndoPoint? UndoAfter(BenchState? state, BenchEntry entry) => entry.Event switch
    {
        BenchEvent.PlanAdopted or BenchEvent.AlarmAcknowledged or BenchEvent.IdentityNotChecked
            or BenchEvent.IdentitySettled or BenchEvent.SentByAnother or BenchEvent.TimeNotTaken
            or BenchEvent.LabelScanned
            or BenchEvent.ResultNotChecked or BenchEvent.ResultKeptHeld or BenchEvent.ResultQuestioned
            or BenchEvent.SaidAgain
            or BenchEvent.CheckpointKept
            or BenchEvent.ClockDoubted or BenchEvent.ClockAgreed or BenchEvent.PlanningNoted => state!.Undo,
        BenchEvent.ResultEntered or BenchEvent.StepNotBegun or BenchEvent.StoryEvent { IsReport: true } =>
            new UndoPoint(
            entry.Provenance.Id, entry.Provenance.Device, entry.Event, state!.Checkpoint.Believed(), state.Run with
            { Undo = null }),
        _ => null,
    };

    /// <summary>
    /// The state after an event, except for what can be taken back: <see cref="UndoAfter"/> decides that.
    /// </summary>
    private static BenchState Changed(BenchState state, BenchEntry entry) => entry.Event switch
    {
        BenchEvent.StoryEvent step => ReportChanges.Apply(state, step, entry.Provenance.Id).InRun(run => run with
        {
            Story =
                run.Story.Add(new ReportedStep(entry.Provenance.Id, entry.Provenance.At, entry.Provenance.Device,
                    step)),
        }),
        BenchEvent.StepNotKnown notKnown => UnknownSteps.Noted(state, notKnown),
        BenchEvent.StepNotBegun notBegun => ReportChanges.ReportedBy(state, notBegun.Hands, notBegun.At),
        BenchEvent.ReportUndone => RevisionChanges.Undone(state),
        BenchEvent.ReportsRevised revised => RevisionChanges.Revised(state, revised),
        BenchEvent.QuestionSettled settled => RevisionChanges.Settled(state, settled, entry.Provenance),
        BenchEvent.SaidAgain or BenchEvent.CheckpointKept or BenchEvent.SentByAnother
            or BenchEvent.LabelScanned => state,
        BenchEvent.TimeNotTaken untimed => state.InRun(run => run with
        {
            Story = run.Story.ConvertAll(told => told.Id == entry.Provenance.Id
                ? told with { Claimed = untimed.Claimed } : told),
        }),

        BenchEvent.RequestsAdded added => BatchChanges.Added(state, added, entry.Provenance.Arrived),
        BenchEvent.RequestWithdrawn withdrawn =>
            BatchChanges.Ended(state, withdrawn.Request, new CartridgeStage.Withdrawn()),
        BenchEvent.RepeatOrdered repeat => BatchChanges.RepeatOrdered(state, repeat),
        BenchEvent.RequestCarriedOver carried => BatchChanges.Given(state, carried.Request,
            new RequestFate.CarriedOver(entry.Provenance.At, entry.Provenance.Person)),
        BenchEvent.RequestGivenUp given => BatchChanges.Given(state, given.Request,
            new RequestFate.GivenUp(given.Why, entry.Provenance.At, entry.Provenance.Person)),
        BenchEvent.FateRevoked revoked => BatchChanges.FateRevoked(state, revoked),
        BenchEvent.RequestsCarriedOver carried => BatchChanges.CarriedOver(state, carried, entry.Provenance.Arrived),
        BenchEvent.BatchStarted =>
            state.InRun(run => run with
            {
                Phase = BatchPhase.Running,
                StartedAt = entry.Provenance.At,
                StartedThrough = entry.Provenance.Device,
            }),
        BenchEvent.BatchClosed => BatchChanges.Closed(UnknownSteps.AllBack(state)),
        BenchEvent.ReadyChanged changed => BatchChanges.ReadyChanged(state, changed),
        BenchEvent.PriorityChanged changed => BatchChanges.PriorityChanged(state, changed),
        BenchEvent.DueChanged changed => BatchChanges.DueChanged(state, changed),
        BenchEvent.RequestCommented commented => BatchChanges.Commented(state, commented),
        BenchEvent.DiscardAsked asked => BatchChanges.DiscardAsked(state, asked),
        BenchEvent.SpecimenRejected rejected => BatchChanges.Rejected(state, rejected, entry.Provenance),
        BenchEvent.IntakePaused => BatchChanges.IntakePaused(state, paused: true),
        BenchEvent.IntakeResumed => BatchChanges.IntakePaused(state, paused: false),
        BenchEvent.PutOutOfUse or BenchEvent.PutBackInUse or BenchEvent.HandsChanged or BenchEvent.IncubatorSet
            or BenchEvent.TemperatureMeasured or BenchEvent.ProbeExpected
            or BenchEvent.LabelsAsked or BenchEvent.Restarted => ResourceChanges.Apply(state, entry),
        BenchEvent.ReadinessConfirmed confirmed => Readiness.Apply(state, confirmed, entry.Provenance.Person),
        BenchEvent.LotGateSet set => LotGates.Apply(state, set, entry.Provenance.At),
        BenchEvent.ResultEntered or BenchEvent.ResultNotChecked or BenchEvent.ResultKeptHeld
            or BenchEvent.ResultReleased or BenchEvent.ReleaseEnded
            or BenchEvent.ResultAmended or BenchEvent.CriticalTold or BenchEvent.ResultQuestioned
            or BenchEvent.TellingWaived
            or BenchEvent.AmendmentProposed or BenchEvent.AmendmentConfirmed or BenchEvent.AmendmentDeclined =>
            Results.Apply(state, entry),
        BenchEvent.PlanningNoted noted => PlanTroubleChanges.Noted(state, noted, entry.Provenance.At),
        BenchEvent.PlanAdopted adopted => PlanChanges.Adopted(state, adopted, entry.Provenance),
        BenchEvent.AlarmAcknowledged seen =>
            state.InRun(run => run with { Acknowledged = run.Acknowledged.Add(seen.Alarm) }),
        BenchEvent.ClockDoubted doubted =>
            state.InCheckpoint(bench => bench with { ClockMark = new ClockMark(entry.Provenance.At, doubted.Ahead) }),
        BenchEvent.ClockAgreed => state.InCheckpoint(bench => bench with { ClockMark = null }),
        BenchEvent.IdentityNotChecked => state.InCheckpoint(bench => bench with
        {
            Unchecked =
                bench.Unchecked.Add(new UncheckedReport(entry.Provenance.Id, entry.Provenance.At,
                    entry.Provenance.Person, entry.Provenance.Device)),
        }),
        BenchEvent.IdentitySettled settled => state.InCheckpoint(bench => bench with
        {
            Unchecked = bench.Unchecked.RemoveAll(report => settled.Reports.Contains(report.Report)),
        }),
        _ => throw new InvalidOperationException($"The event {entry.Event.GetType().Name} is not known."),
    };
}
