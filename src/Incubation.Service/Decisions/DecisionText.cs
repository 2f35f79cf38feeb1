using Incubation.Clinic.People;

namespace Incubation.Service.Decisions;

/// <summary>The words of what waits for a decision.</summary>
public static class DecisionText
{
    /// <summary>What is to be done.</summary>
    public static string Of(DecisionKind kind) => kind switch
    {
        DecisionKind.CriticalToTell => DecisionWords.CriticalToTell,
        DecisionKind.AmendmentToDecide => DecisionWords.AmendmentToDecide,
        DecisionKind.HeldResult => DecisionWords.HeldResult,
        DecisionKind.DiscardedResult => DecisionWords.DiscardedResult,
        DecisionKind.RejectedControl => DecisionWords.RejectedControl,
        DecisionKind.ReleasedToReview => DecisionWords.ReleasedToReview,
        DecisionKind.LateReport => DecisionWords.LateReport,
        DecisionKind.NotChecked => DecisionWords.NotChecked,
        DecisionKind.ProficiencyDue => DecisionWords.ProficiencyDue,
        DecisionKind.ProficiencyToGrade => DecisionWords.ProficiencyToGrade,
        DecisionKind.LotToCompare => DecisionWords.LotToCompare,
        DecisionKind.ComparisonOpen => DecisionWords.ComparisonOpen,
        DecisionKind.WiredResult => DecisionWords.WiredResult,
        DecisionKind.CertificateEnding => DecisionWords.CertificateEnding,
        DecisionKind.TargetEnding => DecisionWords.TargetEnding,
        _ => DecisionWords.OpenBatch,
    };

    /// <summary>Who may decide it.</summary>
    public static string Who(DecisionLine line) => line.NotBy is not null ? DecisionWords.ByAnotherSupervisor
        : line.Needs == Right.Supervise ? DecisionWords.BySupervisor : DecisionWords.ByAnybody;
}
