using Incubation.Clinic;
using Incubation.Records.Clinic;

namespace Incubation.Service.Clinic;

/// <summary>Why the clinic's log refused something, in a sentence.</summary>
public static class ClinicWords
{
    /// <summary>The sentence of a refusal.</summary>
    public static string Say(ClinicOutcome.Refused refused) => Text.Say.Of(refused.Why switch
    {
        ClinicRefusal.ClinicNotOpen => Words.ClinicNotOpen,
        ClinicRefusal.ClinicAlreadyOpen => Words.ClinicAlreadyOpen,
        ClinicRefusal.UnknownTimeZone => Words.ClinicUnknownTimeZone,
        ClinicRefusal.NameMissing => Words.ClinicNameMissing,
        ClinicRefusal.LengthsImpossible => Words.ClinicLengthsImpossible,
        ClinicRefusal.VersionOutOfOrder => Words.ClinicVersionOutOfOrder,
        ClinicRefusal.SheetImpossible => Words.ClinicSheetImpossible,
        ClinicRefusal.DraftChanged => Words.ClinicDraftChanged,
        ClinicRefusal.OwnDraft => Words.ClinicOwnDraft,
        ClinicRefusal.UnknownAssay => Words.ClinicUnknownAssay,
        ClinicRefusal.LotAlreadyReceived => Words.ClinicLotAlreadyReceived,
        ClinicRefusal.UnknownLot => Words.ClinicUnknownLot,
        ClinicRefusal.LotOfAnotherAssay => Words.ClinicLotOfAnotherAssay,
        ClinicRefusal.LotExpired => Words.ClinicLotExpired,
        ClinicRefusal.BenchAlreadyRegistered => Words.ClinicBenchAlreadyRegistered,
        ClinicRefusal.UnknownBench => Words.BenchUnknown,
        ClinicRefusal.DuplicateRequest => Words.RefusedRequestAlreadyOnBench,
        ClinicRefusal.RetentionOutOfRange => Words.SetUpMonthsFault,
        ClinicRefusal.RetentionNotOver => RecordWords.RetentionNotOver,
        ClinicRefusal.StandingMissing => RecordWords.StandingMissing,
        ClinicRefusal.PersonAlreadyThere => Words.PersonAlreadyThere,
        ClinicRefusal.UnknownPerson => Words.PersonUnknown,
        ClinicRefusal.LastAdministrator => Words.LastAdministrator,
        ClinicRefusal.DeviceAlreadyThere => Words.DeviceAlreadyThere,
        ClinicRefusal.UnknownDevice => Words.DeviceUnknown,
        ClinicRefusal.UnknownKey => Words.KeyUnknownToRevoke,
        ClinicRefusal.UnknownControl => QualityWords.RefusedUnknownControl,
        ClinicRefusal.ControlAlreadyJudged => QualityWords.RefusedAlreadyJudged,
        ClinicRefusal.WordsMissing => QualityWords.RefusedWordsMissing,
        ClinicRefusal.NothingToPutRight => QualityWords.RefusedNothingToPutRight,
        ClinicRefusal.NothingToReview => QualityWords.RefusedNothingToReview,
        ClinicRefusal.UnknownRequest => Words.RefusedUnknownRequest,
        ClinicRefusal.ResultChanged => ResultWords.ResultChanged,
        _ => StockTalk.Of(refused.Why) ?? Words.CommandFailed,
    }, refused.Detail);
}
