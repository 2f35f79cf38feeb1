using System.Text.Json.Nodes;
using Incubation.Clinic;
using Incubation.Records.Assays;
using Incubation.Records.Events;

namespace Incubation.Records.Clinic;

/// <summary>The names of clinic events in the log.</summary>
internal static class ClinicEvents
{
    /// <summary>Every clinic event with its name and version.</summary>
    public static EventRegistry<ClinicEvent> Registry { get; } = new(
        [
            new("clinic-opened", 2, typeof(ClinicEvent.ClinicOpened)),
            new("assay-drafted", 1, typeof(ClinicEvent.AssayDrafted)),
            new("assay-draft-dropped", 1, typeof(ClinicEvent.AssayDraftDropped)),
            new("assay-approved", 2, typeof(ClinicEvent.AssayApproved)),
            new("panel-set", 1, typeof(ClinicEvent.PanelSet)),
            new("panel-removed", 1, typeof(ClinicEvent.PanelRemoved)),
            new("lot-received", 1, typeof(ClinicEvent.LotReceived)),
            new("bench-registered", 1, typeof(ClinicEvent.BenchRegistered)),
            new("request-received", 2, typeof(ClinicEvent.RequestReceived)),
            new("clock-confirmed", 1, typeof(ClinicEvent.ClockConfirmed)),
            .. PeopleEvents.Forms,
            .. ControlEvents.Forms,
            .. StockEvents.Forms,
            .. RecordEvents.Forms,
            .. AmendmentEvents.Forms,
            .. ProgrammeEvents.Forms,
            .. InstrumentEvents.Forms,
            .. WorklistEvents.Forms,
            .. ConnectionEvents.Forms,
        ],
        upcasters:
        [
            new("clinic-opened", 1, Unsealed),
            new("assay-approved", 1, SheetJson.OfTimesAndUnit),
            new("request-received", 1, WithoutParticulars),
            new("key-made", 1, WithoutLastDay),
            new("control-target-set", 1, WithoutLastDay),
            new("control-judged", 1, JudgedOnce),
            new("closed-result-amended", 1, WithoutReason),
        ]);

    private static JsonObject Unsealed(JsonObject payload)
    {
        payload["sealed"] = false;
        return payload;
    }

    private static JsonObject JudgedOnce(JsonObject payload)
    {
        payload["run"]!["revision"] = 0;
        payload["run"]!["cause"] = "entered";
        return payload;
    }

    private static JsonObject WithoutReason(JsonObject payload)
    {
        payload["reason"] = null;
        return payload;
    }

    private static JsonObject WithoutLastDay(JsonObject payload)
    {
        payload["lastDay"] = null;
        return payload;
    }

    private static JsonObject WithoutParticulars(JsonObject payload)
    {
        payload["particulars"] = null;
        return payload;
    }
}

/// <summary>The names of the events about people, devices and keys in the log.</summary>
internal static class PeopleEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<EventForm> Forms { get; } =
    [
        new("retention-set", 1, typeof(ClinicEvent.RetentionSet)),
        new("person-added", 1, typeof(ClinicEvent.PersonAdded)),
        new("inspector-admitted", 1, typeof(ClinicEvent.InspectorAdmitted)),
        new("role-changed", 1, typeof(ClinicEvent.RoleChanged)),
        new("person-ended", 1, typeof(ClinicEvent.PersonEnded)),
        new("person-resumed", 1, typeof(ClinicEvent.PersonResumed)),
        new("secret-set", 1, typeof(ClinicEvent.SecretSet)),
        new("signed-in", 1, typeof(ClinicEvent.SignedIn)),
        new("sign-in-refused", 1, typeof(ClinicEvent.SignInRefused)),
        new("signed-out", 1, typeof(ClinicEvent.SignedOut)),
        new("device-enrolled", 1, typeof(ClinicEvent.DeviceEnrolled)),
        new("device-revoked", 1, typeof(ClinicEvent.DeviceRevoked)),
        new("key-made", 2, typeof(ClinicEvent.KeyMade)),
        new("key-revoked", 1, typeof(ClinicEvent.KeyRevoked)),
        new("record-exported", 1, typeof(ClinicEvent.RecordExported)),
        new("record-seen", 1, typeof(ClinicEvent.RecordSeen)),
        new("passkey-added", 1, typeof(ClinicEvent.PasskeyAdded)),
        new("passkey-used", 1, typeof(ClinicEvent.PasskeyUsed)),
        new("passkey-removed", 1, typeof(ClinicEvent.PasskeyRemoved)),
        new("unchecked-results-seen", 1, typeof(ClinicEvent.UncheckedResultsSeen)),
    ];
}

/// <summary>The names of the events about lots in the log.</summary>
internal static class StockEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<EventForm> Forms { get; } =
    [
        new("stock-received", 1, typeof(ClinicEvent.StockReceived)),
        new("stock-opened", 1, typeof(ClinicEvent.StockOpened)),
        new("stock-counted", 1, typeof(ClinicEvent.StockCounted)),
        new("stock-quarantined", 1, typeof(ClinicEvent.StockQuarantined)),
        new("stock-let-out", 1, typeof(ClinicEvent.StockLetOut)),
        new("stock-finished", 1, typeof(ClinicEvent.StockFinished)),
        new("reorder-point-set", 1, typeof(ClinicEvent.ReorderPointSet)),
    ];
}

/// <summary>The names of the events about controls in the log.</summary>
internal static class ControlEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<EventForm> Forms { get; } =
    [
        new("control-target-set", 2, typeof(ClinicEvent.ControlTargetSet)),
        new("control-target-removed", 1, typeof(ClinicEvent.ControlTargetRemoved)),
        new("control-rules-set", 1, typeof(ClinicEvent.ControlRulesSet)),
        new("moving-mean-set", 1, typeof(ClinicEvent.MovingMeanSet)),
        new("control-judged", 2, typeof(ClinicEvent.ControlJudged)),
        new("judgement-rule-taken", 1, typeof(ClinicEvent.JudgementRuleTaken)),
        new("corrective-action-taken", 1, typeof(ClinicEvent.CorrectiveActionTaken)),
        new("released-reviewed", 1, typeof(ClinicEvent.ReleasedReviewed)),
        new("reader-serviced", 1, typeof(ClinicEvent.ReaderServiced)),
    ];
}

/// <summary>The names of the events about the control programme in the log.</summary>
internal static class ProgrammeEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<EventForm> Forms { get; } =
    [
        new("lot-comparison-required", 1, typeof(ClinicEvent.LotComparisonRequired)),
        new("lot-comparison-begun", 1, typeof(ClinicEvent.LotComparisonBegun)),
        new("lot-pair-set", 1, typeof(ClinicEvent.LotPairSet)),
        new("lot-pair-removed", 1, typeof(ClinicEvent.LotPairRemoved)),
        new("lot-comparison-settled", 1, typeof(ClinicEvent.LotComparisonSettled)),
        new("proficiency-received", 1, typeof(ClinicEvent.ProficiencyReceived)),
        new("proficiency-reported", 1, typeof(ClinicEvent.ProficiencyReported)),
        new("proficiency-cancelled", 1, typeof(ClinicEvent.ProficiencyCancelled)),
        new("proficiency-graded", 1, typeof(ClinicEvent.ProficiencyGraded)),
    ];
}

/// <summary>The names of the events about the record itself in the log.</summary>
internal static class RecordEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<EventForm> Forms { get; } =
    [
        new("record-key-renewed", 1, typeof(ClinicEvent.RecordKeyRenewed)),
        new("record-sealed", 1, typeof(ClinicEvent.RecordSealed)),
        new("record-erased", 1, typeof(ClinicEvent.RecordErased)),
        new("tables-rebuilt", 1, typeof(ClinicEvent.TablesRebuilt)),
        new("copies-erased", 1, typeof(ClinicEvent.CopiesErased)),
    ];
}

/// <summary>The names of the events about closed batches in the log.</summary>
internal static class AmendmentEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<EventForm> Forms { get; } =
    [
        new("closed-result-amended", 2, typeof(ClinicEvent.ClosedResultAmended)),
        new("closed-result-released", 1, typeof(ClinicEvent.ClosedResultReleased)),
        new("closed-result-questioned", 1, typeof(ClinicEvent.ClosedResultQuestioned)),
        new("closed-telling-due", 1, typeof(ClinicEvent.ClosedTellingDue)),
        new("closed-result-told", 1, typeof(ClinicEvent.ClosedResultTold)),
        new("closed-telling-waived", 1, typeof(ClinicEvent.ClosedTellingWaived)),
        new("amendment-rule-set", 1, typeof(ClinicEvent.AmendmentRuleSet)),
        new("closed-amendment-proposed", 1, typeof(ClinicEvent.ClosedAmendmentProposed)),
        new("closed-amendment-decided", 1, typeof(ClinicEvent.ClosedAmendmentDecided)),
        new("reported-after-close", 1, typeof(ClinicEvent.ReportedAfterClose)),
        new("late-report-settled", 1, typeof(ClinicEvent.LateReportSettled)),
    ];
}

/// <summary>The names of the events about instruments and their messages in the log.</summary>
internal static class InstrumentEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<EventForm> Forms { get; } =
    [
        new("instrument-set", 1, typeof(ClinicEvent.InstrumentSet)),
        new("instrument-ended", 1, typeof(ClinicEvent.InstrumentEnded)),
        new("wire-message-taken", 1, typeof(ClinicEvent.WireMessageTaken)),
        new("wire-message-judged", 1, typeof(ClinicEvent.WireMessageJudged)),
        new("wire-question-settled", 1, typeof(ClinicEvent.WireQuestionSettled)),
        new("wire-messages-kept", 1, typeof(ClinicEvent.WireMessagesKept)),
        new("wire-messages-erased", 1, typeof(ClinicEvent.WireMessagesErased)),
    ];
}

/// <summary>The names of the events about orders in the log.</summary>
internal static class WorklistEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<EventForm> Forms { get; } =
    [
        new("order-received", 1, typeof(ClinicEvent.OrderReceived)),
        new("order-placed", 1, typeof(ClinicEvent.OrderPlaced)),
        new("order-returned", 1, typeof(ClinicEvent.OrderReturned)),
        new("order-cancelled", 1, typeof(ClinicEvent.OrderCancelled)),
        new("orders-erased", 1, typeof(ClinicEvent.OrdersErased)),
    ];
}

/// <summary>The names of the events about destinations in the log.</summary>
internal static class ConnectionEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<EventForm> Forms { get; } =
    [
        new("destination-added", 1, typeof(ClinicEvent.DestinationAdded)),
        new("destination-changed", 1, typeof(ClinicEvent.DestinationChanged)),
        new("destination-secret-replaced", 1, typeof(ClinicEvent.DestinationSecretReplaced)),
        new("destination-switched", 1, typeof(ClinicEvent.DestinationSwitched)),
        new("destination-ended", 1, typeof(ClinicEvent.DestinationEnded)),
        new("delivery-resent", 1, typeof(ClinicEvent.DeliveryResent)),
        new("day-resent", 1, typeof(ClinicEvent.DayResent)),
        new("delivery-given-up", 1, typeof(ClinicEvent.DeliveryGivenUp)),
        new("result-noticed", 1, typeof(ClinicEvent.ResultNoticed)),
        new("alarm-noticed", 1, typeof(ClinicEvent.AlarmNoticed)),
    ];
}
