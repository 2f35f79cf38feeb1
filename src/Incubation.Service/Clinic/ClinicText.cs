using Incubation.Clinic;
using Incubation.Clinic.Instruments;
using Incubation.Records.Clinic;

namespace Incubation.Service.Clinic;

/// <summary>Why the clinic's log refused something, in a sentence.</summary>
public static class ClinicText
{
    /// <summary>The sentence of a refusal.</summary>
    public static string Say(ClinicOutcome.Refused refused) => Text.Say.Of(refused.Why switch
    {
        ClinicRefusal.ClinicNotOpen => ClinicRefusalWords.ClinicNotOpen,
        ClinicRefusal.ClinicAlreadyOpen => ClinicRefusalWords.ClinicAlreadyOpen,
        ClinicRefusal.UnknownTimeZone => Words.ClinicUnknownTimeZone,
        ClinicRefusal.NameMissing => ClinicRefusalWords.ClinicNameMissing,
        ClinicRefusal.LengthsImpossible => ClinicRefusalWords.ClinicLengthsImpossible,
        ClinicRefusal.VersionOutOfOrder => ClinicRefusalWords.ClinicVersionOutOfOrder,
        ClinicRefusal.SheetImpossible => ClinicRefusalWords.ClinicSheetImpossible,
        ClinicRefusal.DraftChanged => Words.ClinicDraftChanged,
        ClinicRefusal.OwnDraft => ClinicRefusalWords.ClinicOwnDraft,
        ClinicRefusal.UnknownAssay => ClinicRefusalWords.ClinicUnknownAssay,
        ClinicRefusal.LotAlreadyReceived => ClinicRefusalWords.ClinicLotAlreadyReceived,
        ClinicRefusal.UnknownLot => ClinicRefusalWords.ClinicUnknownLot,
        ClinicRefusal.LotOfAnotherAssay => ClinicRefusalWords.ClinicLotOfAnotherAssay,
        ClinicRefusal.LotExpired => ClinicRefusalWords.ClinicLotExpired,
        ClinicRefusal.BenchAlreadyRegistered => ClinicRefusalWords.ClinicBenchAlreadyRegistered,
        ClinicRefusal.UnknownBench => Words.BenchUnknown,
        ClinicRefusal.DuplicateRequest => Words.RefusedRequestAlreadyOnBench,
        ClinicRefusal.RetentionOutOfRange => Words.SetUpMonthsFault,
        ClinicRefusal.WireDaysOutOfRange => Text.Say.Of(ClinicRefusalWords.WireDaysOutOfRange,
            InstrumentsState.LeastDays, InstrumentsState.MostDays),
        ClinicRefusal.RetentionNotOver => RecordWords.RetentionNotOver,
        ClinicRefusal.StandingMissing => ClinicRefusalWords.StandingMissing,
        ClinicRefusal.TablesDiffer => ClinicRefusalWords.TablesDiffer,
        ClinicRefusal.PersonAlreadyThere => ClinicRefusalWords.PersonAlreadyThere,
        ClinicRefusal.UnknownPerson => ClinicRefusalWords.PersonUnknown,
        ClinicRefusal.LastAdministrator => ClinicRefusalWords.LastAdministrator,
        ClinicRefusal.DeviceAlreadyThere => ClinicRefusalWords.DeviceAlreadyThere,
        ClinicRefusal.UnknownDevice => ClinicRefusalWords.DeviceUnknown,
        ClinicRefusal.UnknownKey => ClinicRefusalWords.KeyUnknownToRevoke,
        ClinicRefusal.KeyEndOutOfRange => ClinicRefusalWords.KeyEndOutOfRange,
        ClinicRefusal.InspectorEndOutOfRange => ClinicRefusalWords.InspectorEndOutOfRange,
        ClinicRefusal.InspectorReads => ClinicRefusalWords.InspectorReads,
        ClinicRefusal.UnknownPasskey => ClinicRefusalWords.PasskeyUnknown,
        ClinicRefusal.PasskeyAlreadyThere => ClinicRefusalWords.PasskeyAlreadyThere,
        ClinicRefusal.TooManyPasskeys => ClinicRefusalWords.TooManyPasskeys,
        ClinicRefusal.PasskeyDomainDiffers => PasskeyWords.DomainDiffers,
        ClinicRefusal.PasskeyImpossible => ClinicRefusalWords.PasskeyImpossible,
        ClinicRefusal.PasskeyCountWentBack => PasskeyWords.CountWentBack,
        ClinicRefusal.UnknownControl => ControlsWords.RefusedUnknownControl,
        ClinicRefusal.ControlAlreadyJudged => ClinicRefusalWords.RefusedAlreadyJudged,
        ClinicRefusal.WordsMissing => ControlsWords.RefusedWordsMissing,
        ClinicRefusal.NothingToPutRight => ClinicRefusalWords.RefusedNothingToPutRight,
        ClinicRefusal.NothingToReview => ClinicRefusalWords.RefusedNothingToReview,
        ClinicRefusal.UnknownRequest => Words.RefusedUnknownRequest,
        ClinicRefusal.ResultChanged => ClinicRefusalWords.ResultChanged,
        ClinicRefusal.AmendmentWaits => ClinicRefusalWords.AmendmentWaits,
        ClinicRefusal.OwnAmendment => ClinicRefusalWords.OwnAmendment,
        ClinicRefusal.NothingToDecide => ClinicRefusalWords.NothingToDecide,
        ClinicRefusal.UnknownComparison => ClinicRefusalWords.UnknownComparison,
        ClinicRefusal.ComparisonImpossible => ClinicRefusalWords.ComparisonImpossible,
        ClinicRefusal.ComparisonIsSo => ClinicRefusalWords.ComparisonIsSo,
        ClinicRefusal.ComparisonSettled => ClinicRefusalWords.ComparisonSettled,
        ClinicRefusal.PanelImpossible => ClinicRefusalWords.PanelImpossible,
        ClinicRefusal.UnknownPanel => ClinicRefusalWords.UnknownPanel,
        ClinicRefusal.ComparisonTooFew => ClinicRefusalWords.ComparisonTooFew,
        ClinicRefusal.MeanImpossible => ProgrammeWords.MeanLimitsFault,
        ClinicRefusal.UnknownRound => ClinicRefusalWords.UnknownRound,
        ClinicRefusal.RoundImpossible => ClinicRefusalWords.RoundImpossible,
        ClinicRefusal.RoundIsSo => ClinicRefusalWords.RoundIsSo,
        _ => StockText.Of(refused.Why) ?? InstrumentText.Of(refused.Why) ?? WorklistText.Of(refused.Why)
            ?? ConnectionText.Of(refused.Why) ?? Words.CommandFailed,
    }, refused.Detail);
}
