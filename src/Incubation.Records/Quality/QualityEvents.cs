using Incubation.Records.Clinic;
using Incubation.Records.Events;

namespace Incubation.Records.Quality;

/// <summary>The names of the events about controls in the log.</summary>
internal static class QualityEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<EventForm> Forms { get; } =
    [
        new("control-target-set", 1, typeof(ClinicEvent.ControlTargetSet)),
        new("control-rules-set", 1, typeof(ClinicEvent.ControlRulesSet)),
        new("control-judged", 1, typeof(ClinicEvent.ControlJudged)),
        new("corrective-action-taken", 1, typeof(ClinicEvent.CorrectiveActionTaken)),
        new("released-reviewed", 1, typeof(ClinicEvent.ReleasedReviewed)),
        new("reader-serviced", 1, typeof(ClinicEvent.ReaderServiced)),
    ];
}
