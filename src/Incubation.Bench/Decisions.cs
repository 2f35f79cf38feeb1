using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Planning.Checking;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Dispatches instructions to the folders that decide them; reports are decided by <see cref="ReportDecisions"/>.
/// </summary>
internal static class Decisions
{
    /// <summary>A step with more spare time than this is recorded as one with nothing at stake.</summary>
    private static readonly Duration Unlimited = Duration.FromHours(24);

    /// <summary>
    /// No plan reaches further: what is ready lies within <see cref="Bounds.PlannedWithin"/>, and what is out of use
    /// without an end is planned for <see cref="BenchResources.OpenEndedEntryLength"/>.
    /// </summary>
    private static readonly Duration LongestPlan = Duration.FromDays(60);

    public static Decision Accept(params ImmutableArray<BenchEvent> events) => new Decision.Accepted(events);

    public static Decision Refuse(Refusal why, string? detail = null) => new Decision.Refused(why, detail);

    public static Decision Instruct(BenchState state, BenchCommand.Instruction instruction, Provenance provenance) =>
        instruction switch
        {
            BenchCommand.OpenBench => Refuse(Refusal.BenchAlreadyOpen, state.Id.Value),
            BenchCommand.AddRequests add => BatchDecisions.Add(state, add.Requests),
            BenchCommand.WithdrawRequest withdraw => BatchDecisions.Withdraw(state, withdraw),
            BenchCommand.ChangeReady change => BatchDecisions.ChangeReady(state, change),
            BenchCommand.ChangePriority change => BatchDecisions.ChangePriority(state, change),
            BenchCommand.ExpectProbe expect => Probes.Expect(state, expect),
            BenchCommand.AskForLabels ask => Accept(new BenchEvent.LabelsAsked(ask.Demand)),
            BenchCommand.ChangeDue change => BatchDecisions.ChangeDue(state, change),
            BenchCommand.CommentRequest comment => BatchDecisions.Comment(state, comment),
            BenchCommand.PutOutOfUse put => ResourceDecisions.PutOut(state, put, provenance),
            BenchCommand.PutBackInUse put => ResourceDecisions.PutBack(state, put, provenance),
            BenchCommand.ChangeHands change => ResourceDecisions.ChangeHands(change.Hands),
            BenchCommand.PauseIntake pause => BatchDecisions.PauseIntake(pause.Paused),
            BenchCommand.SetIncubator set => Accept(new BenchEvent.IncubatorSet(set.Rule)),
            BenchCommand.SetLotGate set => Accept(LotGates.Set(state, set.Lot, set.Gate)),
            BenchCommand.RejectSpecimen reject => BatchDecisions.Reject(reject),
            BenchCommand.ConfirmReady confirm => Readiness.Confirm(state, confirm, provenance),
            BenchCommand.OfResult result => Results.Decide(state, result, provenance),
            BenchCommand.NoteRestart restart => ResourceDecisions.Restarted(state, restart, provenance),
            BenchCommand.NoteClock note => ResourceDecisions.Clock(state, note.Ahead, provenance),
            BenchCommand.OrderRepeat repeat => BatchDecisions.Repeat(state, repeat, provenance),
            BenchCommand.StartBatch => BatchDecisions.Start(state, provenance.At),
            BenchCommand.CloseBatch close => BatchDecisions.Close(state, close, provenance),
            BenchCommand.CarryOver carry => FateDecisions.CarryOver(state, carry.Request),
            BenchCommand.GiveUpRequest give => FateDecisions.GiveUp(state, give),
            BenchCommand.RevokeFate revoke => FateDecisions.Revoke(state, revoke.Request),
            BenchCommand.AdoptPlan adopt => Adopt(state, adopt, provenance.At),
            BenchCommand.NotePlanning note => PlanTroubleChanges.Decide(state, note),
            BenchCommand.NoteStepNotKnown note => UnknownSteps.Decide(state, note, provenance.At),
            BenchCommand.AcknowledgeAlarm seen => Accept(new BenchEvent.AlarmAcknowledged(seen.Alarm)),
            BenchCommand.Undo undo => Revisions.Undo(state, undo, provenance),
            BenchCommand.CorrectReport correct => Revisions.Correct(state, correct, provenance),
            BenchCommand.AnswerQuestion answer => AnswerDecisions.Decide(state, answer, provenance),
            BenchCommand.SettleIdentity => Settle(state, provenance),
            BenchCommand.KeepCheckpoint keep => KeepCheckpoint(state, keep),
            _ => throw new InvalidOperationException($"The instruction {instruction.GetType().Name} is not known."),
        };

    /// <summary>
    /// A plan is adopted only if it is valid from where the bench stands at an instant, and ends at a time that can be
    /// shown and written.
    /// </summary>
    public static Decision Adopt(BenchState state, BenchCommand.AdoptPlan adopt, Instant at)
    {
        var day = BenchProblem.Of(state, at);
        var faults = PlanChecker.Check(day, adopt.Plan);
        if (faults.Count > 0)
            return Refuse(Refusal.PlanNotValid, faults[0].What);
        if (adopt.Plan.Steps.Any(step => step.End - at > LongestPlan))
            return Refuse(Refusal.PlanNotValid, LongestPlan.ToString());
        var spares = PlanTiming.Spare(day, adopt.Plan);
        return Accept(new BenchEvent.PlanAdopted(adopt.Plan, adopt.Origin,
            [.. spares.Select(spare => spare.Spare < Unlimited ? spare.Spare : (Duration?)null)]));
    }

    /// <summary>
    /// A checkpoint is kept only if it belongs to this bench, names a row already recorded, and is of no later batch
    /// than the present one.
    /// </summary>
    private static Decision KeepCheckpoint(BenchState state, BenchCommand.KeepCheckpoint keep) =>
        keep.Checkpoint.Bench == state.Id && keep.UpTo >= 1 && keep.UpTo <= state.Revision
            && keep.Checkpoint.Batch <= state.Batch
            ? Accept(new BenchEvent.CheckpointKept(keep.UpTo, keep.Checkpoint))
            : Refuse(Refusal.NoSuchThing, keep.Checkpoint.Bench.Value);

    private static Decision Settle(BenchState state, Provenance provenance)
    {
        ImmutableArray<ReportId> reports = [.. state.Unchecked.Where(report => report.Device == provenance.Device)
            .Select(report => report.Report)];
        return reports.IsEmpty || provenance.Identity == Identity.NotChecked
            ? Refuse(Refusal.NothingToSettle)
            : Accept(new BenchEvent.IdentitySettled(reports, provenance.Person));
    }
}
