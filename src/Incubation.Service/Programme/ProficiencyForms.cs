using Incubation.Clinic.Programme;
using Incubation.Records.Batches;

namespace Incubation.Service.Programme;

/// <summary>A round as it was filled in.</summary>
public sealed class RoundForm
{
    /// <summary>The programme's name.</summary>
    public string? Programme { get; set; }

    /// <summary>The round.</summary>
    public string? Name { get; set; }

    /// <summary>Its specimens, apart by commas.</summary>
    public string? Specimens { get; set; }

    /// <summary>Codes of the assays that each of them is measured by.</summary>
    public HashSet<string> Assays { get; } = [];

    /// <summary>By when its results are reported, ISO.</summary>
    public string? Due { get; set; }
}

/// <summary>A grade as it was filled in.</summary>
public sealed class GradeForm
{
    /// <summary>The grade, by its name in <see cref="ProficiencyGrade"/>.</summary>
    public string? Grade { get; set; } = nameof(ProficiencyGrade.Satisfactory);

    /// <summary>What it should have been, or empty.</summary>
    public string? Target { get; set; }

    /// <summary>What was found and done.</summary>
    public string? Note { get; set; }
}

/// <summary>An item of a round as it is shown.</summary>
/// <param name="Item">The item.</param>
/// <param name="Run">Its cartridge that was run last; null where none was asked for.</param>
/// <param name="Value">What the reader gave and nothing holds; null where there is no such value.</param>
/// <param name="Reported">What the programme was told; null until then.</param>
/// <param name="Grading">How it was graded; null until then.</param>
public sealed record ItemLine(ProficiencyItem Item, CartridgeRecord? Run, string? Value, string? Reported,
    ProficiencyGrading? Grading);
