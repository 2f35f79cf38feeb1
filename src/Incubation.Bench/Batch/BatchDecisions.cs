using System.Globalization;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Instructions about requests that come and go, and about the batch's beginning and end.</summary>
internal static class BatchDecisions
{
    public static Decision Add(BenchState state, IReadOnlyList<BenchRequest> requests)
    {
        if (requests.Count == 0)
            return Decisions.Refuse(Refusal.NothingRequested);
        if (state.IntakePaused)
            return Decisions.Refuse(Refusal.IntakeIsPaused);
        if (state.Cartridges.Length + requests.Count > BenchDay.MaximumRequests)
            return Decisions.Refuse(Refusal.TooManyRequests,
                BenchDay.MaximumRequests.ToString(CultureInfo.InvariantCulture));
        var seen = new HashSet<RequestId>();
        foreach (var wanted in requests)
            if (state.Find(wanted.Request.Id) is not null || !seen.Add(wanted.Request.Id))
                return Decisions.Refuse(Refusal.RequestAlreadyOnBench, wanted.Request.Id.Value);
        return Decisions.Accept(new BenchEvent.RequestsAdded([.. requests]));
    }

    /// <summary>A request withdrawn with a reason is given up; without one it is asked for at the close.</summary>
    public static Decision Withdraw(BenchState state, BenchCommand.WithdrawRequest withdraw)
    {
        var request = withdraw.Request;
        if (state.Find(request) is not { } cartridge)
            return Decisions.Refuse(Refusal.UnknownRequest, request.Value);
        if (cartridge.IsOver)
            return Decisions.Refuse(Refusal.AlreadyOver, request.Value);
        BenchEvent withdrawn = cartridge.Stage is CartridgeStage.Waiting
            ? new BenchEvent.RequestWithdrawn(request)
            : new BenchEvent.DiscardAsked(request, DiscardReason.Withdrawn);
        return string.IsNullOrWhiteSpace(withdraw.Why) ? Decisions.Accept(withdrawn)
            : Decisions.Accept(withdrawn, new BenchEvent.RequestGivenUp(request, withdraw.Why));
    }

    public static Decision ChangeReady(BenchState state, BenchCommand.ChangeReady change) =>
        state.Find(change.Request) switch
        {
            null => Decisions.Refuse(Refusal.UnknownRequest, change.Request.Value),
            { Stage: CartridgeStage.Waiting } =>
                Decisions.Accept(new BenchEvent.ReadyChanged(change.Request, change.Ready)),
            _ => Decisions.Refuse(Refusal.AlreadyMixed, change.Request.Value),
        };

    public static Decision ChangePriority(BenchState state, BenchCommand.ChangePriority change) =>
        OfWaiting(state, change.Request, new BenchEvent.PriorityChanged(change.Request, change.Priority));

    public static Decision ChangeDue(BenchState state, BenchCommand.ChangeDue change) =>
        OfWaiting(state, change.Request, new BenchEvent.DueChanged(change.Request, change.Due));

    /// <summary>A word can be added for as long as somebody works with the cartridge.</summary>
    public static Decision Comment(BenchState state, BenchCommand.CommentRequest comment) =>
        state.Find(comment.Request) switch
        {
            null => Decisions.Refuse(Refusal.UnknownRequest, comment.Request.Value),
            { IsOver: true } => Decisions.Refuse(Refusal.AlreadyOver, comment.Request.Value),
            _ => Decisions.Accept(new BenchEvent.RequestCommented(comment.Request,
                string.IsNullOrWhiteSpace(comment.Comment) ? null : comment.Comment)),
        };

    /// <summary>Once it is mixed, or over, the order of work does not change for it any more.</summary>
    private static Decision OfWaiting(BenchState state, RequestId request, BenchEvent changed) =>
        state.Find(request) switch
        {
            null => Decisions.Refuse(Refusal.UnknownRequest, request.Value),
            { Stage: CartridgeStage.Waiting } => Decisions.Accept(changed),
            { IsOver: true } => Decisions.Refuse(Refusal.AlreadyOver, request.Value),
            _ => Decisions.Refuse(Refusal.AlreadyMixed, request.Value),
        };

    /// <summary>A specimen that is not run stays on record, with the reason.</summary>
    public static Decision Reject(BenchCommand.RejectSpecimen reject) => string.IsNullOrWhiteSpace(reject.Why)
        ? Decisions.Refuse(Refusal.ReasonMissing)
        : Decisions.Accept(new BenchEvent.SpecimenRejected(reject.Specimen, reject.Assay, reject.Why));

    public static Decision PauseIntake(bool paused) =>
        Decisions.Accept(paused ? new BenchEvent.IntakePaused() : new BenchEvent.IntakeResumed());

    public static Decision Repeat(BenchState state, BenchCommand.OrderRepeat repeat, Provenance provenance)
    {
        if (state.Find(repeat.Of) is not { } first)
            return Decisions.Refuse(Refusal.UnknownRequest, repeat.Of.Value);
        if (!first.Wanted.Request.RepeatLeft)
            return Decisions.Refuse(Refusal.NoSpecimenLeft, repeat.Of.Value);
        if (first.Fate is not null)
            return Decisions.Refuse(Refusal.FateStands, repeat.Of.Value);
        if (!CanBeRepeated(state, first))
            return Decisions.Refuse(Refusal.NothingToRepeat, repeat.Of.Value);
        var taken = state.Cartridges.Select(cartridge => cartridge.Id).ToHashSet();
        var request = RepeatOf(first, FateDecisions.NewId(taken, repeat.Of, provenance), provenance.At);
        return Decisions.Accept(new BenchEvent.RequestsAdded([first.Wanted with { Request = request }]),
            new BenchEvent.RepeatOrdered(repeat.Of, request.Id));
    }

    /// <summary>
    /// The request for another cartridge on the same specimen. Whether specimen is left for yet another repeat is not
    /// known: it is taken to be none, so that this repeat is guarded best.
    /// </summary>
    public static Request RepeatOf(Cartridge first, RequestId id, Instant now) => first.Wanted.Request with
    {
        Id = id,
        Ready = now,
        RepeatLeft = false,
        After = [],
    };

    /// <summary>
    /// Whether a repeat of a cartridge can be ordered: it gave no value, specimen is left, and none is under way.
    /// </summary>
    public static bool CanBeRepeated(BenchState state, Cartridge first) =>
        first.Wanted.Request.RepeatLeft
        && first.MustGo != DiscardReason.Withdrawn && first.Fate is null
        && (first.Stage is CartridgeStage.Discarded || first.Result is ReadResult.NoValue)
        && !state.Cartridges.Any(cartridge => cartridge.Wanted.Request.Specimen == first.Wanted.Request.Specimen
            && cartridge.Wanted.Request.Assay == first.Wanted.Request.Assay && cartridge.Id != first.Id
            && !cartridge.IsOver);

    public static Decision Start(BenchState state, Instant now)
    {
        if (state.Phase == BatchPhase.Running)
            return Decisions.Refuse(Refusal.BatchAlreadyRunning);
        if (Readiness.List(state, now).Any(item => item.From is null))
            return Decisions.Refuse(Refusal.NotReady);
        return state.Cartridges.Any(cartridge => !cartridge.IsOver)
            ? Decisions.Accept(new BenchEvent.BatchStarted(state.Batch))
            : Decisions.Refuse(Refusal.NothingRequested);
    }

    /// <summary>
    /// A batch is closed when nothing is in work, every result is in, and each request without a value has a fate. What
    /// is carried over stands in the next batch at once.
    /// </summary>
    public static Decision Close(BenchState state, BenchCommand.CloseBatch close, Provenance provenance)
    {
        if (state.Phase != BatchPhase.Running)
            return Decisions.Refuse(Refusal.BatchNotRunning);
        if (state.Cartridges.Any(cartridge => cartridge.Stage is CartridgeStage.InWork or CartridgeStage.Astray))
            return Decisions.Refuse(Refusal.CartridgesInWork);
        if (Questions.List(state).Any(question => question.Key.Kind == QuestionKind.Contradiction))
            return Decisions.Refuse(Refusal.QuestionsOpen);
        if (state.Cartridges.Any(cartridge => cartridge.ResultMissing))
            return Decisions.Refuse(Refusal.ResultsMissing);
        if (state.Cartridges.Any(cartridge => cartridge.MustBeTold))
            return Decisions.Refuse(Refusal.CriticalNotTold);
        if (Fates.Open(state).ToList() is { Count: > 0 } open)
            return Decisions.Refuse(Refusal.FatesMissing, string.Join(", ",
                open.Select(cartridge => cartridge.Wanted.Request.Specimen).Distinct()));
        var closed = new BenchEvent.BatchClosed(state.Batch);
        return FateDecisions.Carried(state, close.Lots ?? [], provenance) is { IsEmpty: false } carried
            ? Decisions.Accept(closed, new BenchEvent.RequestsCarriedOver(state.Batch, carried))
            : Decisions.Accept(closed);
    }
}
