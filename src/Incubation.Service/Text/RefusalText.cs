using Incubation.Bench;

namespace Incubation.Service.Text;

/// <summary>Why an instruction was refused, in a sentence that says what to do.</summary>
public static class RefusalText
{
    /// <summary>
    /// The sentence of a refusal of what was said; of several things told together it says which is in the way.
    /// </summary>
    public static string Say(BenchState state, BenchCommand said, Decision.Refused refused)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(refused);
        return refused switch
        {
            { Of: { } told } =>
                Text.Say.Of(TextWords.RefusedOneOfSeveral, StepReportText.Told(state, told), Say(refused)),
            { Why: Refusal.ReasonMissing } => Unexplained(said),
            // What the bench does not have at all cannot be entered there either.
            { Why: Refusal.NoResult } when said is BenchCommand.OfResult of && state.Find(of.Request) is null =>
                Text.Say.Of(Words.RefusedUnknownRequest, of.Request),
            _ => Say(refused),
        };
    }

    /// <summary>Of what a reason, or a person, is to be named: of what was said, and of nothing else.</summary>
    private static string Unexplained(BenchCommand said) => said switch
    {
        BenchCommand.ReleaseResult => TextWords.RefusedReleaseUnexplained,
        BenchCommand.AmendResult or BenchCommand.ProposeAmendment => TextWords.RefusedAmendUnexplained,
        BenchCommand.ConfirmAmendment or BenchCommand.DeclineAmendment => TextWords.RefusedLookUnexplained,
        BenchCommand.TellCritical => TextWords.RefusedNobodyTold,
        BenchCommand.WaiveTelling => TextWords.RefusedWaiveUnexplained,
        BenchCommand.RejectSpecimen => TextWords.RefusedRejectUnexplained,
        BenchCommand.GiveUpRequest => TextWords.RefusedGiveUpUnexplained,
        _ => TextWords.RefusedReasonMissing,
    };

    /// <summary>Why something was refused, alone.</summary>
    public static string Say(Decision.Refused refused) => refused.Why switch
    {
        Refusal.BenchNotOpen => TextWords.RefusedBenchNotOpen,
        Refusal.BenchAlreadyOpen => TextWords.RefusedBenchAlreadyOpen,
        Refusal.UnknownRequest => Text.Say.Of(Words.RefusedUnknownRequest, refused.Detail),
        Refusal.RequestAlreadyOnBench => Text.Say.Of(Words.RefusedRequestAlreadyOnBench, refused.Detail),
        Refusal.TooManyRequests => Text.Say.Of(Words.RefusedTooManyRequests, Model.BenchDay.MaximumRequests),
        Refusal.AlreadyMixed => Text.Say.Of(TextWords.RefusedAlreadyMixed, refused.Detail),
        Refusal.NothingToRepeat => TextWords.RefusedNothingToRepeat,
        Refusal.NoSpecimenLeft => TextWords.RefusedNoSpecimenLeft,
        Refusal.NothingRequested => TextWords.RefusedNothingRequested,
        Refusal.BatchAlreadyRunning => TextWords.RefusedBatchAlreadyRunning,
        Refusal.BatchNotRunning => TextWords.RefusedBatchNotRunning,
        Refusal.CartridgesInWork => TextWords.RefusedCartridgesInWork,
        Refusal.ResultsMissing => TextWords.RefusedResultsMissing,
        Refusal.NoResult => Text.Say.Of(TextWords.RefusedNoResult, refused.Detail),
        Refusal.NotHeld => Text.Say.Of(TextWords.RefusedNotHeld, refused.Detail),
        Refusal.SameResult => Text.Say.Of(TextWords.RefusedSameResult, refused.Detail),
        Refusal.ResultChanged => Text.Say.Of(TextWords.RefusedResultChanged, refused.Detail),
        Refusal.ResultThere => Text.Say.Of(TextWords.RefusedResultThere, refused.Detail),
        Refusal.NotReady => TextWords.RefusedNotReady,
        Refusal.NothingToTell => Text.Say.Of(TextWords.RefusedNothingToTell, refused.Detail),
        Refusal.OtherPersonUnexplained => Text.Say.Of(TextWords.RefusedOtherPersonUnexplained, refused.Detail),
        Refusal.AmendmentWaits => Text.Say.Of(TextWords.RefusedAmendmentWaits, refused.Detail),
        Refusal.NoAmendmentWaits => Text.Say.Of(TextWords.RefusedNoAmendmentWaits, refused.Detail),
        Refusal.OwnAmendment => TextWords.RefusedOwnAmendment,
        Refusal.ResultKnown => Text.Say.Of(TextWords.RefusedResultKnown, refused.Detail),
        Refusal.NotOneNumber => Text.Say.Of(TypedWords.RefusedNotOneNumber, refused.Detail),
        Refusal.TooManyProbes => Text.Say.Of(TextWords.RefusedTooManyProbes, refused.Detail),
        Refusal.CriticalNotTold => TextWords.RefusedCriticalNotTold,
        Refusal.PlanNotValid => TextWords.RefusedPlanNotValid,
        Refusal.NothingToUndo => TextWords.RefusedNothingToUndo,
        Refusal.NothingToSettle => TextWords.RefusedNothingToSettle,
        Refusal.UnknownHands => TextWords.RefusedUnknownHands,
        Refusal.UnreadableTime => TextWords.RefusedUnreadableTime,
        Refusal.AlreadyOver => Text.Say.Of(TextWords.RefusedAlreadyOver, refused.Detail),
        Refusal.IntakeIsPaused => Words.RefusedIntakeIsPaused,
        Refusal.NoSuchThing => TextWords.RefusedNoSuchThing,
        Refusal.NotOutOfUse => TextWords.RefusedNotOutOfUse,
        Refusal.WouldBeLost => Text.Say.Of(TextWords.RefusedWouldBeLost, refused.Detail),
        Refusal.TooManyHands => Text.Say.Of(TextWords.RefusedTooManyHands, refused.Detail),
        Refusal.UnreadableLength => TextWords.RefusedUnreadableLength,
        Refusal.QuestionsOpen => TextWords.RefusedQuestionsOpen,
        Refusal.UnknownReport => Text.Say.Of(TextWords.RefusedUnknownReport, refused.Detail),
        Refusal.NothingToCorrect => TextWords.RefusedNothingToCorrect,
        Refusal.ReasonMissing => TextWords.RefusedReasonMissing,
        Refusal.OthersRestOnIt => Text.Say.Of(TextWords.RefusedOthersRestOnIt, refused.Detail),
        Refusal.NoSuchQuestion => TextWords.RefusedNoSuchQuestion,
        Refusal.AnswerIncomplete => TextWords.RefusedAnswerIncomplete,
        Refusal.FatesMissing => Text.Say.Of(TextWords.RefusedFatesMissing, refused.Detail),
        Refusal.FateStands => Text.Say.Of(TextWords.RefusedFateStands, refused.Detail),
        Refusal.NoFate => Text.Say.Of(TextWords.RefusedNoFate, refused.Detail),
        Refusal.HasItsValue => Text.Say.Of(TextWords.RefusedHasItsValue, refused.Detail),
        Refusal.StillInWork => Text.Say.Of(TextWords.RefusedStillInWork, refused.Detail),
        Refusal.GivingUpNotConfirmed => Text.Say.Of(TextWords.RefusedGivingUpNotConfirmed, refused.Detail),
        Refusal.NothingTold => TextWords.RefusedNothingTold,
        _ => Words.CommandFailed,
    };
}
