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

    public static Decision Withdraw(BenchState state, RequestId request) => state.Find(request) switch
    {
        null => Decisions.Refuse(Refusal.UnknownRequest, request.Value),
        { Stage: CartridgeStage.Waiting } => Decisions.Accept(new BenchEvent.RequestWithdrawn(request)),
        { IsOver: true } => Decisions.Refuse(Refusal.AlreadyOver, request.Value),
        _ => Decisions.Accept(new BenchEvent.DiscardAsked(request, DiscardReason.Withdrawn)),
    };

    public static Decision ChangeReady(BenchState state, BenchCommand.ChangeReady change) =>
        state.Find(change.Request) switch
        {
            null => Decisions.Refuse(Refusal.UnknownRequest, change.Request.Value),
            { Stage: CartridgeStage.Waiting } =>
                Decisions.Accept(new BenchEvent.ReadyChanged(change.Request, change.Ready)),
            _ => Decisions.Refuse(Refusal.AlreadyMixed, change.Request.Value),
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
        if (!CanBeRepeated(state, first))
            return Decisions.Refuse(Refusal.NothingToRepeat, repeat.Of.Value);
        // Whether specimen is left for yet another repeat is not known. It is taken to be none, so that this repeat is
        // guarded best.
        var request = first.Wanted.Request with
        {
            Id = RepeatId(state, repeat.Of, provenance),
            Ready = provenance.At,
            RepeatLeft = false,
            After = []
        };
        return Decisions.Accept(new BenchEvent.RequestsAdded([first.Wanted with { Request = request }]));
    }

    /// <summary>
    /// The repeat's own id: the first request's with a number behind, the first that is free; else that of the order
    /// itself.
    /// </summary>
    private static RequestId RepeatId(BenchState state, RequestId of, Provenance provenance) =>
        Enumerable.Range(2, 98)
            .Select(number => string.Create(CultureInfo.InvariantCulture, $"{of.Value}-{number}"))
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

    public static Decision Close(BenchState state)
    {
        if (state.Phase != BatchPhase.Running)
            return Decisions.Refuse(Refusal.BatchNotRunning);
        if (state.Cartridges.Any(cartridge => cartridge.Stage is CartridgeStage.InWork or CartridgeStage.Astray
            or CartridgeStage.Waiting))
            return Decisions.Refuse(Refusal.CartridgesInWork);
        if (Questions.List(state).Any(question => question.Key.Kind == QuestionKind.Contradiction))
            return Decisions.Refuse(Refusal.QuestionsOpen);
        if (state.Cartridges.Any(cartridge => cartridge.ResultMissing))
            return Decisions.Refuse(Refusal.ResultsMissing);
        return state.Cartridges.Any(cartridge => cartridge.MustBeTold)
            ? Decisions.Refuse(Refusal.CriticalNotTold)
            : Decisions.Accept(new BenchEvent.BatchClosed(state.Batch));
    }
}
