using Incubation.Clinic.Programme;
using Incubation.Model;

namespace Incubation.Service.Requests;

/// <summary>A request beside the rounds of proficiency testing.</summary>
internal static class RoundReading
{
    /// <summary>
    /// What is wrong where a specimen of an open round is asked for as a patient's, so that its result would be
    /// reported as one, or something else as a specimen of a round; else null.
    /// </summary>
    /// <param name="proficiency">The rounds.</param>
    /// <param name="specimen">The specimen, as it was stated.</param>
    /// <param name="assay">The assay; null where that is unknown.</param>
    /// <param name="kind">As what it is asked for.</param>
    public static string? Fault(ProficiencyState proficiency, string? specimen, AssayCode? assay, RequestKind kind)
    {
        var round = TextId.IsValid(specimen) ? proficiency.OpenRoundOf(new SpecimenId(specimen!)) : null;
        return kind switch
        {
            RequestKind.Patient when round is not null => RequestsWords.IntakeIsProficiency,
            RequestKind.Proficiency when assay is { } code
                && round?.Items.Contains(new ProficiencyItem(new SpecimenId(specimen!), code)) != true =>
                RequestsWords.IntakeNoRound,
            _ => null,
        };
    }
}
