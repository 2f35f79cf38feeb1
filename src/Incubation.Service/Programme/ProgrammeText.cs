using System.Globalization;
using Incubation.Clinic;
using Incubation.Clinic.Programme;
using Incubation.Model.Controls;
using Incubation.Records.Batches;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Programme;

/// <summary>The words of the control programme.</summary>
public static class ProgrammeText
{
    /// <summary>What an event about the programme says, in a sentence; null for any other event.</summary>
    public static string? Of(ClinicEvent happened) => happened switch
    {
        ClinicEvent.LotComparisonRequired set =>
            set.Required ? ProgrammeWords.LogRequired : ProgrammeWords.LogNotRequired,
        ClinicEvent.LotComparisonBegun begun => Say.Of(ProgrammeWords.LogComparisonBegun, begun.Comparison,
            begun.Assay, begun.New, begun.Old, begun.Criterion is { } criterion ? Of(criterion, "") : ""),
        // A value is a result: it stands on the comparison's page, for those who may read it.
        ClinicEvent.LotPairSet set => Say.Of(ProgrammeWords.LogPairSet, set.Pair, set.Comparison),
        ClinicEvent.LotPairRemoved removed =>
            Say.Of(ProgrammeWords.LogPairRemoved, removed.Pair, removed.Comparison, removed.Why),
        ClinicEvent.LotComparisonSettled settled =>
            Say.Of(ProgrammeWords.LogComparisonSettled, settled.Comparison, Of(settled.Decision), settled.Why),
        ClinicEvent.ProficiencyReceived received => Say.Of(ProgrammeWords.LogRoundReceived, received.Round,
            received.Programme, received.Name, Say.Day(received.Due)),
        // A value is a result: it stands on the round's page, for those who may read it.
        ClinicEvent.ProficiencyReported reported =>
            Say.Of(ProgrammeWords.LogRoundReported, reported.Round, reported.How),
        ClinicEvent.ProficiencyCancelled cancelled =>
            Say.Of(ProgrammeWords.LogRoundCancelled, cancelled.Round, cancelled.Why),
        ClinicEvent.ProficiencyGraded graded => Say.Of(ProgrammeWords.LogRoundGraded, graded.Round,
            graded.Item?.Specimen, graded.Item?.Assay, Of(graded.Grade), graded.Note).TrimEnd(),
        _ => null,
    };

    /// <summary>How a programme graded a result.</summary>
    public static string Of(ProficiencyGrade grade) => grade switch
    {
        ProficiencyGrade.Satisfactory => ProgrammeWords.GradeSatisfactory,
        ProficiencyGrade.Unsatisfactory => ProgrammeWords.GradeUnsatisfactory,
        _ => ProgrammeWords.GradeUngraded,
    };

    /// <summary>What is to be done about a round.</summary>
    /// <param name="round">The round.</param>
    /// <param name="today">The day, in the clinic's zone.</param>
    public static string Of(ProficiencyRound round, LocalDate today)
    {
        ArgumentNullException.ThrowIfNull(round);
        return round.Cancelled is not null ? ProgrammeWords.RoundCancelled
            : round.IsOpen ? today > round.Due ? ProgrammeWords.RoundOverdue : ProgrammeWords.RoundToReport
            : round.AwaitsGrades ? ProgrammeWords.RoundAwaitsGrades
            : round.Grades.Any(grade => grade.Grade == ProficiencyGrade.Unsatisfactory)
            ? ProgrammeWords.GradeUnsatisfactory : ProgrammeWords.RoundGraded;
    }

    /// <summary>Where the run of an item is.</summary>
    public static string Of(ItemLine line)
    {
        ArgumentNullException.ThrowIfNull(line);
        return line.Run is not { } run ? ProgrammeWords.RunNone
            : Say.Dotted(run.Request.Value, line.Value is not null ? null
                : ResultStatusWord(run));
    }

    private static string ResultStatusWord(CartridgeRecord run) => run.Result is null
        ? run.Standing switch
        {
            CartridgeStatus.Discarded => ProgrammeWords.RunDiscarded,
            CartridgeStatus.Waiting => ProgrammeWords.RunWaiting,
            _ => ProgrammeWords.RunUnderWay,
        }
        : ProgrammeWords.RunHeld;

    /// <summary>A criterion: "at most 10 %, 5 specimens".</summary>
    /// <param name="criterion">The criterion.</param>
    /// <param name="unit">The assay's unit, as people read it.</param>
    public static string Of(LotCriterion criterion, string unit)
    {
        ArgumentNullException.ThrowIfNull(criterion);
        return Say.Of(ProgrammeWords.Criterion, Number(criterion.Largest), UnitOf(criterion, unit),
            Say.Counted(criterion.Specimens, ProgrammeWords.SpecimenOne, ProgrammeWords.SpecimenMany));
    }

    /// <summary>What differences are counted in.</summary>
    public static string UnitOf(LotCriterion criterion, string unit)
    {
        ArgumentNullException.ThrowIfNull(criterion);
        return criterion.Unit == DifferenceUnit.Percent ? "%" : unit;
    }

    /// <summary>What came of a comparison.</summary>
    public static string Of(LotVerdict verdict) => verdict switch
    {
        LotVerdict.Within => ProgrammeWords.VerdictWithin,
        LotVerdict.Beyond => ProgrammeWords.VerdictBeyond,
        _ => ProgrammeWords.VerdictTooFew,
    };

    /// <summary>What was decided.</summary>
    public static string Of(LotDecision decision) =>
        decision == LotDecision.Accepted ? ProgrammeWords.DecisionAccepted : ProgrammeWords.DecisionRefused;

    /// <summary>A difference with its sign, as people read it.</summary>
    public static string Signed(decimal value) => value.ToString("+0.##;−0.##;0", CultureInfo.InvariantCulture);

    /// <summary>A number as people read it, no zeros at its end.</summary>
    public static string Number(decimal value) => value.ToString("0.######", CultureInfo.InvariantCulture);
}
