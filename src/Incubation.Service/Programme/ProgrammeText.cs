using System.Globalization;
using Incubation.Clinic;
using Incubation.Clinic.Programme;
using Incubation.Model.Controls;
using Incubation.Service.Text;

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
        _ => null,
    };

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
