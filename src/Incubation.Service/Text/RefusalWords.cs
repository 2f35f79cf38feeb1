using Incubation.Bench;

namespace Incubation.Service.Text;

/// <summary>Why an instruction was refused, in a sentence that says what to do.</summary>
public static class RefusalWords
{
    /// <summary>The sentence of a refusal.</summary>
    public static string Say(Decision.Refused refused) => refused.Why switch
    {
        Refusal.BenchNotOpen => Words.RefusedBenchNotOpen,
        Refusal.BenchAlreadyOpen => Words.RefusedBenchAlreadyOpen,
        Refusal.UnknownRequest => Text.Say.Of(Words.RefusedUnknownRequest, refused.Detail),
        Refusal.RequestAlreadyOnBench => Text.Say.Of(Words.RefusedRequestAlreadyOnBench, refused.Detail),
        Refusal.TooManyRequests => Text.Say.Of(Words.RefusedTooManyRequests, Model.BenchDay.MaximumRequests),
        Refusal.AlreadyMixed => Text.Say.Of(Words.RefusedAlreadyMixed, refused.Detail),
        Refusal.NothingToRepeat => Words.RefusedNothingToRepeat,
        Refusal.NoSpecimenLeft => Words.RefusedNoSpecimenLeft,
        Refusal.NothingRequested => Words.RefusedNothingRequested,
        Refusal.BatchAlreadyRunning => Words.RefusedBatchAlreadyRunning,
        Refusal.BatchNotRunning => Words.RefusedBatchNotRunning,
        Refusal.CartridgesInWork => Words.RefusedCartridgesInWork,
        Refusal.ResultsMissing => Words.RefusedResultsMissing,
        Refusal.NoResult => Text.Say.Of(Words.RefusedNoResult, refused.Detail),
        Refusal.NotHeld => Text.Say.Of(Words.RefusedNotHeld, refused.Detail),
        Refusal.SameResult => Text.Say.Of(Words.RefusedSameResult, refused.Detail),
        Refusal.NotReady => Words.RefusedNotReady,
        Refusal.CriticalNotTold => Words.RefusedCriticalNotTold,
        Refusal.PlanNotValid => Words.RefusedPlanNotValid,
        Refusal.NothingToUndo => Words.RefusedNothingToUndo,
        Refusal.NothingToSettle => Words.RefusedNothingToSettle,
        Refusal.UnknownHands => Words.RefusedUnknownHands,
        Refusal.UnreadableTime => Words.RefusedUnreadableTime,
        Refusal.AlreadyOver => Text.Say.Of(Words.RefusedAlreadyOver, refused.Detail),
        Refusal.IntakeIsPaused => Words.RefusedIntakeIsPaused,
        Refusal.NoSuchThing => Words.RefusedNoSuchThing,
        Refusal.NotOutOfUse => Words.RefusedNotOutOfUse,
        Refusal.WouldBeLost => Text.Say.Of(Words.RefusedWouldBeLost, refused.Detail),
        Refusal.TooManyHands => Text.Say.Of(Words.RefusedTooManyHands, refused.Detail),
        Refusal.UnreadableLength => Words.RefusedUnreadableLength,
        Refusal.QuestionsOpen => Words.RefusedQuestionsOpen,
        Refusal.UnknownReport => Text.Say.Of(Words.RefusedUnknownReport, refused.Detail),
        Refusal.NothingToCorrect => Words.RefusedNothingToCorrect,
        Refusal.ReasonMissing => Words.RefusedReasonMissing,
        Refusal.OthersRestOnIt => Text.Say.Of(Words.RefusedOthersRestOnIt, refused.Detail),
        Refusal.NoSuchQuestion => Words.RefusedNoSuchQuestion,
        Refusal.AnswerIncomplete => Words.RefusedAnswerIncomplete,
        _ => Words.CommandFailed,
    };
}
