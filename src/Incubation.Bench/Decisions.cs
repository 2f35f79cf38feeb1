using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Planning.Checking;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What a bench makes of instructions; reports are in <see cref="ReportDecisions"/>.</summary>
internal static class Decisions
{
    /// <summary>Spare time beyond this is none that anybody waits for: nothing is at stake.</summary>
    private static readonly Duration Unlimited = Duration.FromHours(24);

    public static Decision Accept(params ImmutableArray<BenchEvent> events) => new Decision.Accepted(events);

    public static Decision Refuse(Refusal why, string? detail = null) => new Decision.Refused(why, detail);

    public static Decision Instruct(BenchState state, BenchCommand.Instruction instruction, Provenance provenance) =>
        instruction switch
        {
            BenchCommand.OpenBench => Refuse(Refusal.BenchAlreadyOpen, state.Id.Value),
            BenchCommand.AddRequests add => Add(state, add.Requests),
            BenchCommand.WithdrawRequest withdraw => ResourceDecisions.Withdraw(state, withdraw.Request),
            BenchCommand.ChangeReady change => ResourceDecisions.ChangeReady(state, change),
            BenchCommand.PutOutOfUse put => ResourceDecisions.PutOut(state, put, provenance),
            BenchCommand.PutBackInUse put => ResourceDecisions.PutBack(state, put, provenance),
            BenchCommand.ChangeHands change => ResourceDecisions.ChangeHands(change.Hands),
            BenchCommand.PauseIntake pause =>
                Accept(pause.Paused ? new BenchEvent.IntakePaused() : new BenchEvent.IntakeResumed()),
            BenchCommand.SetIncubator set => Accept(new BenchEvent.IncubatorSet(set.Rule)),
            BenchCommand.SetLotGate set => Accept(LotGates.Set(state, set.Lot, set.Gate)),
            BenchCommand.RejectSpecimen reject => string.IsNullOrWhiteSpace(reject.Why)
                ? Refuse(Refusal.ReasonMissing)
                : Accept(new BenchEvent.SpecimenRejected(reject.Specimen, reject.Assay, reject.Why)),
            BenchCommand.ConfirmReady confirm => Readiness.Confirm(state, confirm, provenance),
            BenchCommand.OfResult result => Results.Decide(state, result),
            BenchCommand.NoteRestart restart => ResourceDecisions.Restarted(state, restart, provenance),
            BenchCommand.NoteClock note => ResourceDecisions.Clock(state, note.Ahead, provenance),
            BenchCommand.OrderRepeat repeat => Repeat(state, repeat, provenance),
            BenchCommand.StartBatch => Start(state, provenance.At),
            BenchCommand.CloseBatch => Close(state),
            BenchCommand.AdoptPlan adopt => Adopt(state, adopt, provenance),
            BenchCommand.AcknowledgeAlarm seen => Accept(new BenchEvent.AlarmAcknowledged(seen.Alarm)),
            BenchCommand.Undo undo => Revisions.Undo(state, undo, provenance),
            BenchCommand.CorrectReport correct => Revisions.Correct(state, correct, provenance),
            BenchCommand.AnswerQuestion answer => AnswerDecisions.Decide(state, answer, provenance),
            BenchCommand.SettleIdentity => Settle(state, provenance),
            BenchCommand.KeepCheckpoint keep => KeepCheckpoint(state, keep),
            _ => throw new InvalidOperationException($"The instruction {instruction.GetType().Name} is not known."),
        };

    private static Decision Add(BenchState state, IReadOnlyList<BenchRequest> requests)
    {
        if (requests.Count == 0)
            return Refuse(Refusal.NothingRequested);
        if (state.IntakePaused)
            return Refuse(Refusal.IntakeIsPaused);
        if (state.Cartridges.Length + requests.Count > BenchDay.MaximumRequests)
            return Refuse(Refusal.TooManyRequests,
                BenchDay.MaximumRequests.ToString(System.Globalization.CultureInfo.InvariantCulture));
        var seen = new HashSet<RequestId>();
        foreach (var wanted in requests)
            if (state.Find(wanted.Request.Id) is not null || !seen.Add(wanted.Request.Id))
                return Refuse(Refusal.RequestAlreadyOnBench, wanted.Request.Id.Value);
        return Accept(new BenchEvent.RequestsAdded([.. requests]));
    }

    private static Decision Repeat(BenchState state, BenchCommand.OrderRepeat repeat, Provenance provenance)
    {
        if (state.Find(repeat.Of) is not { } first)
            return Refuse(Refusal.UnknownRequest, repeat.Of.Value);
        if (!first.Wanted.Request.RepeatLeft)
            return Refuse(Refusal.NoSpecimenLeft, repeat.Of.Value);
        if (!CanBeRepeated(state, first))
            return Refuse(Refusal.NothingToRepeat, repeat.Of.Value);
        // Whether specimen is left for yet another repeat is not known: counted as none, so that this one is guarded
        // best.
        var request = first.Wanted.Request with
        {
            Id = RepeatId(state, repeat.Of, provenance),
            Ready = provenance.At,
            RepeatLeft = false,
            After = []
        };
        return Accept(new BenchEvent.RequestsAdded([first.Wanted with { Request = request }]));
    }

    /// <summary>
    /// The repeat's own id: the first request's with a number behind, the first that is free; else that of the order
    /// itself.
    /// </summary>
    private static RequestId RepeatId(BenchState state, RequestId of, Provenance provenance) =>
        Enumerable.Range(2, 98)
            .Select(number => string.Create(System.Globalization.CultureInfo.InvariantCulture, $"{of.Value}-{number}"))
            .Where(text => TextId.IsValid(text) && state.Find(new RequestId(text)) is null)
            .Select(text => (RequestId?)new RequestId(text))
            .FirstOrDefault() ?? new RequestId(provenance.Id.Value);

    /// <summary>
    /// Whether a repeat of a cartridge can be ordered: it gave no value, specimen is left, and none is under way.
    /// </summary>
    public static bool CanBeRepeated(BenchState state, Cartridge first) =>
        first.Wanted.Request.RepeatLeft
        && first.MustGo != DiscardReason.Withdrawn
        && (first.Stage is CartridgeStage.Discarded || first.Result is ReadResult.NoValue)
        && !state.Cartridges.Any(c => c.Wanted.Request.Specimen == first.Wanted.Request.Specimen
            && c.Wanted.Request.Assay == first.Wanted.Request.Assay && c.Id != first.Id && !c.IsOver);

    private static Decision Start(BenchState state, Instant now)
    {
        if (state.Phase == BatchPhase.Running)
            return Refuse(Refusal.BatchAlreadyRunning);
        if (Readiness.Of(state, now).Any(item => item.From is null))
            return Refuse(Refusal.NotReady);
        return state.Cartridges.Any(c => !c.IsOver)
            ? Accept(new BenchEvent.BatchStarted(state.Batch))
            : Refuse(Refusal.NothingRequested);
    }

    private static Decision Close(BenchState state)
    {
        if (state.Phase != BatchPhase.Running)
            return Refuse(Refusal.BatchNotRunning);
        if (state.Cartridges.Any(c => c.Stage is CartridgeStage.InWork or CartridgeStage.Astray
            or CartridgeStage.Waiting))
            return Refuse(Refusal.CartridgesInWork);
        if (Questions.Of(state).Any(question => question.Key.Kind == QuestionKind.Contradiction))
            return Refuse(Refusal.QuestionsOpen);
        if (state.Cartridges.Any(c => c.ResultMissing))
            return Refuse(Refusal.ResultsMissing);
        return state.Cartridges.Any(c => c.MustBeTold)
            ? Refuse(Refusal.CriticalNotTold)
            : Accept(new BenchEvent.BatchClosed(state.Batch));
    }

    private static Decision Adopt(BenchState state, BenchCommand.AdoptPlan adopt, Provenance provenance)
    {
        var day = BenchProblem.Of(state, provenance.At);
        var faults = PlanChecker.Check(day, adopt.Plan);
        if (faults.Count > 0)
            return Refuse(Refusal.PlanNotValid, faults[0].What);
        var spares = PlanTiming.Spare(day, adopt.Plan);
        return Accept(new BenchEvent.PlanAdopted(adopt.Plan, adopt.Origin,
            [.. spares.Select(s => s.Spare < Unlimited ? s.Spare : (Duration?)null)]));
    }

    /// <summary>A standing is that of this bench, at an earlier row, before the present batch.</summary>
    private static Decision KeepCheckpoint(BenchState state, BenchCommand.KeepCheckpoint keep) =>
        keep.Standing.Bench == state.Id && keep.UpTo >= 1 && keep.UpTo <= state.Revision
            && keep.Standing.Batch <= state.Batch
            ? Accept(new BenchEvent.CheckpointKept(keep.UpTo, keep.Standing))
            : Refuse(Refusal.NoSuchThing, keep.Standing.Bench.Value);

    private static Decision Settle(BenchState state, Provenance provenance)
    {
        ImmutableArray<ReportId> reports = [.. state.Unchecked.Where(report => report.Device == provenance.Device)
            .Select(report => report.Report)];
        return reports.IsEmpty || provenance.Identity == Identity.NotChecked
            ? Refuse(Refusal.NothingToSettle)
            : Accept(new BenchEvent.IdentitySettled(reports, provenance.Person));
    }
}
