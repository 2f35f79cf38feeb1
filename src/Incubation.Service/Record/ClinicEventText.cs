using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Service.Clinic;
using Incubation.Service.Controls;
using Incubation.Service.People;
using Incubation.Service.Programme;
using Incubation.Service.Text;

namespace Incubation.Service.Record;

/// <summary>The words of what stands in the clinic's log.</summary>
public static class ClinicEventText
{
    /// <summary>What happened, in a sentence.</summary>
    /// <param name="happened">The event.</param>
    /// <param name="people">Where the names of persons and devices stand.</param>
    public static string Of(ClinicEvent happened, PeopleState people)
    {
        string Name(Model.PersonId id) => people.Person(id)?.Name ?? id.Value;
        return happened switch
        {
            ClinicEvent.ClinicOpened opened => Say.Of(RecordWords.LogClinicOpened, opened.Name, opened.TimeZone),
            ClinicEvent.RetentionSet set =>
                Say.Of(RecordWords.LogRetentionSet,
                    Say.Counted(set.Months, RecordWords.MonthOne, RecordWords.MonthMany)),
            ClinicEvent.AssayApproved approved =>
                Say.Of(RecordWords.LogAssayApproved, approved.Sheet.Assay.Code, approved.Version),
            ClinicEvent.AssayDrafted drafted =>
                Say.Of(RecordWords.LogAssayDrafted, drafted.Sheet.Assay.Code, drafted.Revision),
            ClinicEvent.AssayDraftDropped dropped => Say.Of(RecordWords.LogAssayDraftDropped, dropped.Code),
            ClinicEvent.PanelSet set =>
                Say.Of(RecordWords.LogPanelSet, set.Panel, string.Join(", ", set.Assays.IsDefault ? [] : set.Assays)),
            ClinicEvent.PanelRemoved removed => Say.Of(RecordWords.LogPanelRemoved, removed.Panel),
            ClinicEvent.LotReceived received => Say.Of(RecordWords.LogLotReceived, received.Lot, received.Assay),
            ClinicEvent.BenchRegistered bench => Say.Of(RecordWords.LogBenchRegistered, bench.Name),
            // A specimen's id stands in the bench's record, for those who need it there.
            ClinicEvent.RequestReceived request =>
                Say.Of(RecordWords.LogRequestReceived, request.Request.Id, request.Bench),
            // The values stand in the record, for those who may read it.
            ClinicEvent.ClosedResultAmended amended =>
                Say.Of(RecordWords.LogAmended, amended.Request, amended.Bench, amended.Batch),
            ClinicEvent.ClosedResultReleased one =>
                Say.Of(RecordWords.LogReleased, one.Request, one.Bench, one.Batch),
            ClinicEvent.ClosedResultQuestioned one =>
                Say.Of(RecordWords.LogQuestioned, one.Request, one.Bench, one.Batch),
            ClinicEvent.ClosedTellingDue one => Say.Of(RecordWords.LogTellingDue, one.Request, one.Bench, one.Batch),
            ClinicEvent.ClosedResultTold one => Say.Of(RecordWords.LogTold, one.Request, one.Bench, one.Batch),
            ClinicEvent.ClosedTellingWaived one => Say.Of(RecordWords.LogWaived, one.Request, one.Bench, one.Batch),
            ClinicEvent.AmendmentRuleSet set => set.Second
                ? RecordWords.LogAmendmentRuleOn : RecordWords.LogAmendmentRuleOff,
            ClinicEvent.ClosedAmendmentProposed one =>
                Say.Of(RecordWords.LogAmendmentProposed, one.Request, one.Bench, one.Batch),
            ClinicEvent.ClosedAmendmentDecided one => Say.Of(one.Confirmed ? RecordWords.LogAmendmentConfirmed
                : RecordWords.LogAmendmentDeclined, one.Request, one.Bench, one.Batch),
            ClinicEvent.ReportedAfterClose late =>
                Say.Of(RecordWords.LogLateReport, late.Request, late.Bench, late.Batch),
            ClinicEvent.LateReportSettled settled => Say.Of(settled.Decision == LateReportDecision.Amended
                ? RecordWords.LogLateAmended : RecordWords.LogLateNoted, settled.Request, settled.Bench),
            ClinicEvent.ClockConfirmed => RecordWords.LogClockConfirmed,
            ClinicEvent.PersonAdded added =>
                Say.Of(RecordWords.LogPersonAdded, added.Name, added.Person, RoleText.Of(added.Role)),
            ClinicEvent.InspectorAdmitted admitted => Say.Of(RecordWords.LogInspectorAdmitted, admitted.Name,
                admitted.Person, Say.Day(admitted.LastDay)),
            ClinicEvent.RoleChanged changed =>
                Say.Of(RecordWords.LogRoleChanged, Name(changed.Person), RoleText.Of(changed.Role)),
            ClinicEvent.PersonEnded ended => Say.Of(RecordWords.LogPersonEnded, Name(ended.Person)),
            ClinicEvent.PersonResumed resumed => Say.Of(RecordWords.LogPersonResumed, Name(resumed.Person)),
            ClinicEvent.SecretSet set => Say.Of(RecordWords.LogSecretSet, Name(set.Person), Of(set.Secret)),
            ClinicEvent.SignedIn signed =>
                Say.Of(RecordWords.LogSignedIn, Name(signed.Person), Of(signed.Way), signed.Address),
            ClinicEvent.SignInRefused refused => Say.Of(
                RecordWords.LogSignInRefused, refused.Person is { } person
                    ? Name(person) : RecordWords.LogUnknownName, Of(refused.Way), Of(refused.Why), refused.Address),
            ClinicEvent.SignedOut signed => Say.Of(RecordWords.LogSignedOut, Name(signed.Person), Of(signed.Why)),
            ClinicEvent.DeviceEnrolled device =>
                Say.Of(RecordWords.LogDeviceEnrolled, device.Name, RoleText.Of(device.Kind), device.Device),
            ClinicEvent.DeviceRevoked device =>
                Say.Of(RecordWords.LogDeviceRevoked, people.Devices.GetValueOrDefault(device.Device)?.Name,
                    device.Device),
            ClinicEvent.KeyMade key =>
                Say.Of(RecordWords.LogKeyMade, key.Name, key.Key, string.Join(", ", key.Scopes.Select(RoleText.Of)))
                + (key.LastDay is { } day ? Say.Of(RecordWords.LogKeyUntil, Say.Day(day)) : ""),
            ClinicEvent.KeyRevoked key =>
                Say.Of(RecordWords.LogKeyRevoked, people.Keys.GetValueOrDefault(key.Key)?.Name, key.Key),
            ClinicEvent.UncheckedResultsSeen => RecordWords.LogUncheckedSeen,
            ClinicEvent.RecordExported exported => Say.Of(RecordWords.LogExported, exported.What),
            ClinicEvent.RecordSeen { Bench: { } bench, Batch: { } batch } =>
                Say.Of(RecordWords.LogSeenBatch, bench, batch),
            ClinicEvent.RecordSeen { Bench: { } bench } => Say.Of(RecordWords.LogSeenBench, bench),
            ClinicEvent.RecordSeen => RecordWords.LogSeenList,
            ClinicEvent.PasskeyAdded added =>
                Say.Of(RecordWords.LogPasskeyAdded, Name(added.Person), added.Name, added.Passkey, added.Domain),
            ClinicEvent.PasskeyUsed used => Say.Of(RecordWords.LogPasskeyUsed, used.Passkey, used.Count),
            ClinicEvent.PasskeyRemoved removed => Say.Of(RecordWords.LogPasskeyRemoved,
                people.Passkeys.All.GetValueOrDefault(removed.Passkey) is { } known ? Name(known.Person) : "",
                people.Passkeys.All.GetValueOrDefault(removed.Passkey)?.Name, removed.Passkey),
            _ when ControlText.Of(happened) is { } words => words,
            _ when ProgrammeText.Of(happened) is { } words => words,
            ClinicEvent.RecordKeyRenewed renewed => Say.Of(RecordWords.LogKeyRenewed, renewed.Lost, renewed.Now),
            ClinicEvent.RecordSealed => RecordWords.LogRecordSealed,
            _ when happened.IsErased => RecordWords.LogPayloadErased,
            ClinicEvent.RecordErased erased => Say.Of(
                RecordWords.LogRecordErased, erased.Bench, erased.FirstBatch, erased.LastBatch, erased.Cartridges,
                    Say.Counted(erased.Months, RecordWords.MonthOne, RecordWords.MonthMany)),
            ClinicEvent.TablesRebuilt rebuilt => Say.Of(
                RecordWords.LogTablesRebuilt, string.Join(", ", rebuilt.Tables), rebuilt.Differences),
            ClinicEvent.CopiesErased copies => Say.Of(
                RecordWords.LogCopiesErased, copies.Days, string.Join(", ", copies.Files)),
            _ => StockText.Of(happened) ?? InstrumentText.Of(happened) ?? WorklistText.Of(happened)
                ?? ConnectionText.Of(happened)
                ?? throw new ArgumentOutOfRangeException(nameof(happened), happened, "This event has no words."),
        };
    }

    private static string Of(SignInWay way) => way switch
    {
        SignInWay.Pin => RecordWords.WayPin,
        SignInWay.Passkey => RecordWords.WayPasskey,
        _ => RecordWords.WayPassword,
    };

    private static string Of(SecretKind secret) => secret switch
    {
        SecretKind.Password => RecordWords.SecretPassword,
        SecretKind.Pin => RecordWords.SecretPin,
        SecretKind.WelcomeCode => RecordWords.SecretWelcomeCode,
        _ => RecordWords.SecretKey,
    };

    private static string Of(SignInFault why) => why switch
    {
        SignInFault.MustWait => RecordWords.RefusedMustWait,
        SignInFault.Ended => RecordWords.RefusedEnded,
        SignInFault.CountWentBack => RecordWords.RefusedCountWentBack,
        _ => RecordWords.RefusedWrong,
    };

    private static string Of(SignOutCause why) => why switch
    {
        SignOutCause.Switched => RecordWords.OutSwitched,
        SignOutCause.Idle => RecordWords.OutIdle,
        SignOutCause.Expired => RecordWords.OutExpired,
        SignOutCause.Withdrawn => RecordWords.OutWithdrawn,
        SignOutCause.FromElsewhere => RecordWords.OutFromElsewhere,
        _ => RecordWords.OutByPerson,
    };
}
