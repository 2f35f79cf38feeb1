using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;

namespace Incubation.Service.Programme;

/// <summary>A comparison as it was filled in.</summary>
public sealed class ComparisonForm
{
    /// <summary>Code of the assay.</summary>
    public string? Assay { get; set; }

    /// <summary>The new lot.</summary>
    public string? New { get; set; }

    /// <summary>The old lot.</summary>
    public string? Old { get; set; }

    /// <summary>The largest difference that is allowed.</summary>
    public string? Largest { get; set; }

    /// <summary>In what, by its name in <see cref="DifferenceUnit"/>.</summary>
    public string? Unit { get; set; } = nameof(DifferenceUnit.Percent);

    /// <summary>How many specimens are needed.</summary>
    public string? Specimens { get; set; } = "5";
}

/// <summary>A pair as it was typed in: its results are not on record here.</summary>
public sealed class PairForm
{
    /// <summary>What the specimen is called.</summary>
    public string? Label { get; set; }

    /// <summary>By the old lot.</summary>
    public string? Old { get; set; }

    /// <summary>By the new one.</summary>
    public string? New { get; set; }
}

/// <summary>A result on record that can be compared.</summary>
/// <param name="Bench">On which bench.</param>
/// <param name="Request">Its cartridge.</param>
/// <param name="Specimen">On which specimen.</param>
/// <param name="Read">When it was read.</param>
/// <param name="Value">What the reader gave, as it stands after every amendment.</param>
public sealed record ResultOnRecord(BenchId Bench, RequestId Request, SpecimenId Specimen, Instant? Read,
    decimal Value);

/// <summary>A specimen that has a result of both lots, and is in no pair yet.</summary>
/// <param name="Old">By the old lot.</param>
/// <param name="New">By the new one.</param>
public sealed record PairOffered(ResultOnRecord Old, ResultOnRecord New);

/// <summary>A pair of a comparison as it is shown.</summary>
/// <param name="Number">Its number.</param>
/// <param name="Specimen">The specimen, or what it was called.</param>
/// <param name="OldValue">By the old lot.</param>
/// <param name="NewValue">By the new one.</param>
/// <param name="OldRequest">That result's cartridge, or null.</param>
/// <param name="NewRequest">That result's cartridge, or null.</param>
/// <param name="Difference">By how much the new one reads higher, in the criterion's unit.</param>
/// <param name="IsBeyond">Whether that is more than the mean may be.</param>
/// <param name="Removed">Why it does not count; null where it does.</param>
/// <param name="Changed">What the record says by now, where that is something else; else null.</param>
/// <param name="By">Who chose or entered it.</param>
/// <param name="At">When.</param>
public sealed record PairLine(int Number, string Specimen, decimal OldValue, decimal NewValue, RequestId? OldRequest,
    RequestId? NewRequest, decimal Difference, bool IsBeyond, string? Removed, string? Changed, PersonId By,
    Instant At);
