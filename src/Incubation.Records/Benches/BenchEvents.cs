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
            new("requests-added", 1, typeof(BenchEvent.RequestsAdded)),
            new("request-withdrawn", 1, typeof(BenchEvent.RequestWithdrawn)),
            new("batch-started", 1, typeof(BenchEvent.BatchStarted)),
            new("batch-closed", 1, typeof(BenchEvent.BatchClosed)),
            new("plan-adopted", 1, typeof(BenchEvent.PlanAdopted)),
            new("mixed", 1, typeof(BenchEvent.Mixed)),
            new("loaded", 1, typeof(BenchEvent.Loaded)),
            new("read-started", 1, typeof(BenchEvent.ReadStarted)),
            new("cleared", 1, typeof(BenchEvent.Cleared)),
            new("card-changed", 1, typeof(BenchEvent.CardChanged)),
            new("discarded", 1, typeof(BenchEvent.Discarded)),
            new("result-entered", 1, typeof(BenchEvent.ResultEntered)),
            new("step-not-begun", 1, typeof(BenchEvent.StepNotBegun)),
            new("report-undone", 1, typeof(BenchEvent.ReportUndone)),
            new("accounts-revised", 1, typeof(BenchEvent.AccountsRevised)),
            new("said-again", 1, typeof(BenchEvent.SaidAgain)),
            new("question-settled", 1, typeof(BenchEvent.QuestionSettled)),
            new("alarm-acknowledged", 1, typeof(BenchEvent.AlarmAcknowledged)),
            new("identity-not-checked", 1, typeof(BenchEvent.IdentityNotChecked)),
            new("identity-settled", 1, typeof(BenchEvent.IdentitySettled)),
        ],
        upcasters: []);
}
