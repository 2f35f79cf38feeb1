using System.Text.Json.Nodes;
using Incubation.Bench;
using Incubation.Records.Events;

namespace Incubation.Records.Benches;

/// <summary>The names of bench events in the log.</summary>
internal static class BenchEvents
{
    /// <summary>Every bench event with its name and version.</summary>
    public static EventRegistry<BenchEvent> Registry { get; } = new(
        [
            new("bench-opened", 1, typeof(BenchEvent.BenchOpened)),
            new("requests-added", 2, typeof(BenchEvent.RequestsAdded)),
            new("request-withdrawn", 1, typeof(BenchEvent.RequestWithdrawn)),
            new("repeat-ordered", 1, typeof(BenchEvent.RepeatOrdered)),
            new("request-carried-over", 1, typeof(BenchEvent.RequestCarriedOver)),
            new("request-given-up", 1, typeof(BenchEvent.RequestGivenUp)),
            new("fate-revoked", 1, typeof(BenchEvent.FateRevoked)),
            new("requests-carried-over", 1, typeof(BenchEvent.RequestsCarriedOver)),
            new("batch-started", 1, typeof(BenchEvent.BatchStarted)),
            new("batch-closed", 1, typeof(BenchEvent.BatchClosed)),
            new("plan-adopted", 2, typeof(BenchEvent.PlanAdopted)),
            new("planning-noted", 1, typeof(BenchEvent.PlanningNoted)),
            new("mixed", 1, typeof(BenchEvent.Mixed)),
            new("loaded", 1, typeof(BenchEvent.Loaded)),
            new("read-started", 1, typeof(BenchEvent.ReadStarted)),
            new("cleared", 1, typeof(BenchEvent.Cleared)),
            new("card-changed", 1, typeof(BenchEvent.CardChanged)),
            new("discarded", 1, typeof(BenchEvent.Discarded)),
            new("result-entered", 2, typeof(BenchEvent.ResultEntered)),
            new("specimen-rejected", 1, typeof(BenchEvent.SpecimenRejected)),
            new("readiness-confirmed", 1, typeof(BenchEvent.ReadinessConfirmed)),
            new("result-released", 1, typeof(BenchEvent.ResultReleased)),
            new("result-amended", 2, typeof(BenchEvent.ResultAmended)),
            new("critical-told", 2, typeof(BenchEvent.CriticalTold)),
            new("result-questioned", 1, typeof(BenchEvent.ResultQuestioned)),
            new("telling-waived", 1, typeof(BenchEvent.TellingWaived)),
            new("amendment-proposed", 1, typeof(BenchEvent.AmendmentProposed)),
            new("amendment-confirmed", 1, typeof(BenchEvent.AmendmentConfirmed)),
            new("amendment-declined", 1, typeof(BenchEvent.AmendmentDeclined)),
            new("step-not-begun", 1, typeof(BenchEvent.StepNotBegun)),
            new("step-not-known", 1, typeof(BenchEvent.StepNotKnown)),
            new("report-undone", 1, typeof(BenchEvent.ReportUndone)),
            new("accounts-revised", 1, typeof(BenchEvent.ReportsRevised)),
            new("said-again", 1, typeof(BenchEvent.SaidAgain)),
            new("question-settled", 1, typeof(BenchEvent.QuestionSettled)),
            new("put-out-of-use", 1, typeof(BenchEvent.PutOutOfUse)),
            new("put-back-in-use", 1, typeof(BenchEvent.PutBackInUse)),
            new("hands-changed", 1, typeof(BenchEvent.HandsChanged)),
            new("intake-paused", 1, typeof(BenchEvent.IntakePaused)),
            new("intake-resumed", 1, typeof(BenchEvent.IntakeResumed)),
            new("ready-changed", 1, typeof(BenchEvent.ReadyChanged)),
            new("priority-changed", 1, typeof(BenchEvent.PriorityChanged)),
            new("due-changed", 1, typeof(BenchEvent.DueChanged)),
            new("request-commented", 1, typeof(BenchEvent.RequestCommented)),
            new("discard-asked", 1, typeof(BenchEvent.DiscardAsked)),
            new("incubator-set", 1, typeof(BenchEvent.IncubatorSet)),
            new("temperature-measured", 1, typeof(BenchEvent.TemperatureMeasured)),
            new("probe-expected", 1, typeof(BenchEvent.ProbeExpected)),
            new("labels-asked", 1, typeof(BenchEvent.LabelsAsked)),
            new("lot-gate-set", 1, typeof(BenchEvent.LotGateSet)),
            new("card-doubted", 1, typeof(BenchEvent.CardDoubted)),
            new("card-seen", 1, typeof(BenchEvent.CardSeen)),
            new("restarted", 1, typeof(BenchEvent.Restarted)),
            new("clock-doubted", 1, typeof(BenchEvent.ClockDoubted)),
            new("clock-agreed", 1, typeof(BenchEvent.ClockAgreed)),
            new("alarm-acknowledged", 1, typeof(BenchEvent.AlarmAcknowledged)),
            new("identity-not-checked", 1, typeof(BenchEvent.IdentityNotChecked)),
            new("identity-settled", 1, typeof(BenchEvent.IdentitySettled)),
            new("result-not-checked", 1, typeof(BenchEvent.ResultNotChecked)),
            new("result-kept-held", 1, typeof(BenchEvent.ResultKeptHeld)),
            new("release-ended", 1, typeof(BenchEvent.ReleaseEnded)),
            new("sent-by-another", 1, typeof(BenchEvent.SentByAnother)),
            new("time-not-taken", 1, typeof(BenchEvent.TimeNotTaken)),
            new("label-scanned", 1, typeof(BenchEvent.LabelScanned)),
            new("standing-kept", 5, typeof(BenchEvent.CheckpointKept)),
        ],
        upcasters:
        [
            new("standing-kept", 1, WithoutGates),
            new("requests-added", 1, WithoutFacts),
            new("standing-kept", 2, WithoutReadiness),
            new("standing-kept", 3, WithoutProbes),
            new("standing-kept", 4, WithoutLabels),
            new("result-entered", 1, WithoutIdentity),
            new("plan-adopted", 1, ReasonsInWords),
            new("result-amended", 1, WithoutReason),
            new("critical-told", 1, WithoutWhy),
        ]);

    /// <summary>Before, no gate was kept: the host sets each anew before anything of its lot comes.</summary>
    private static JsonObject WithoutGates(JsonObject payload)
    {
        payload["standing"]!.AsObject()["lotGates"] = new JsonArray();
        return payload;
    }

    /// <summary>Before, a plan said its reasons in words.</summary>
    private static JsonObject ReasonsInWords(JsonObject payload)
    {
        foreach (var list in new[] { "unplaced", "lost" })
            foreach (var left in payload["plan"]![list]!.AsArray())
                left!["why"] = new JsonObject { ["kind"] = "in-words", ["text"] = left["why"]!.DeepClone() };
        return payload;
    }

    private static JsonObject WithoutReason(JsonObject payload)
    {
        payload["reason"] = null;
        return payload;
    }

    private static JsonObject WithoutWhy(JsonObject payload)
    {
        payload["why"] = null;
        return payload;
    }

    private static JsonObject WithoutIdentity(JsonObject payload)
    {
        payload["identity"] = "not-asked";
        return payload;
    }

    /// <summary>Before, nobody gave their word on anything: it is asked for anew.</summary>
    private static JsonObject WithoutReadiness(JsonObject payload)
    {
        var standing = payload["standing"]!.AsObject();
        standing["insideSince"] = null;
        standing["readinessWords"] = new JsonArray();
        return payload;
    }

    /// <summary>Before, no probe was expected.</summary>
    private static JsonObject WithoutProbes(JsonObject payload)
    {
        payload["standing"]!.AsObject()["probes"] = new JsonArray();
        return payload;
    }

    /// <summary>Before, a bench had nothing set of its own about labels.</summary>
    private static JsonObject WithoutLabels(JsonObject payload)
    {
        payload["standing"]!.AsObject()["labels"] = null;
        return payload;
    }

    /// <summary>Before, a request told nothing of its assay but times and unit.</summary>
    private static JsonObject WithoutFacts(JsonObject payload)
    {
        foreach (var request in payload["requests"]!.AsArray())
            request!.AsObject()["facts"] = null;
        return payload;
    }
}
