using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Programme;

/// <summary>A specimen of a proficiency round and an assay that it is to be measured by.</summary>
/// <param name="Specimen">The specimen, as its vial says.</param>
/// <param name="Assay">The assay.</param>
public sealed record ProficiencyItem(SpecimenId Specimen, AssayCode Assay);

/// <summary>What was told the programme of one of them.</summary>
/// <param name="Specimen">The specimen.</param>
/// <param name="Assay">The assay.</param>
/// <param name="Value">What the reader showed, as it stood then.</param>
public sealed record ProficiencyResult(SpecimenId Specimen, AssayCode Assay, string Value);

/// <summary>How the programme has graded a result.</summary>
public enum ProficiencyGrade
{
    /// <summary>Good.</summary>
    Satisfactory,

    /// <summary>Not good.</summary>
    Unsatisfactory,

    /// <summary>The programme gave no grade.</summary>
    Ungraded,
}

/// <summary>What the programme was told, when and by whom.</summary>
public sealed record ProficiencyReporting(ImmutableArray<ProficiencyResult> Results, string How, PersonId By,
    Instant At);

/// <summary>A grade, with what it should have been and what is said of it.</summary>
/// <param name="Item">Of which.</param>
/// <param name="Grade">The grade.</param>
/// <param name="Target">What the programme says it should have been, in the assay's unit; null where it says
/// nothing.</param>
/// <param name="Note">What was found and done; empty where nothing is to be said.</param>
/// <param name="By">Who entered it.</param>
/// <param name="At">When.</param>
public sealed record ProficiencyGrading(ProficiencyItem Item, ProficiencyGrade Grade, decimal? Target, string Note,
    PersonId By, Instant At);

/// <summary>That a round is not run, and why.</summary>
public sealed record ProficiencyCancelling(string Why, PersonId By, Instant At);

/// <summary>A round of an external proficiency programme as the clinic's stream tells.</summary>
/// <param name="Number">Its number in the clinic.</param>
/// <param name="Programme">The programme's name.</param>
/// <param name="Name">The round, as the programme calls it.</param>
/// <param name="Items">What is to be measured.</param>
/// <param name="Due">The last day on which its results may be reported, in the clinic's zone.</param>
/// <param name="By">Who received it.</param>
/// <param name="At">When.</param>
public sealed record ProficiencyRound(int Number, string Programme, string Name,
    ImmutableArray<ProficiencyItem> Items, LocalDate Due, PersonId By, Instant At)
{
    /// <summary>What the programme was told; null until then.</summary>
    public ProficiencyReporting? Reported { get; init; }

    /// <summary>That it is not run; null where it is.</summary>
    public ProficiencyCancelling? Cancelled { get; init; }

    /// <summary>The grades that came, in the order in which they were entered first.</summary>
    public ImmutableArray<ProficiencyGrading> Grades { get; init; } = [];

    /// <summary>Whether its specimens are to be run.</summary>
    public bool IsOpen => Reported is null && Cancelled is null;

    /// <summary>Whether it is reported, and a grade is missing.</summary>
    public bool AwaitsGrades => Reported is not null && Items.Any(item => GradeOf(item) is null);

    /// <summary>The grade of an item, or null.</summary>
    public ProficiencyGrading? GradeOf(ProficiencyItem item) => Grades.FirstOrDefault(grade => grade.Item == item);
}
