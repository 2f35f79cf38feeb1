using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Worklist;

/// <summary>
/// What is wanted by an order: one assay on one specimen. Its lot is chosen when it is put on a bench.
/// </summary>
/// <param name="Specimen">What the tube's label says.</param>
/// <param name="Assay">The assay.</param>
/// <param name="Priority">Routine or urgent.</param>
/// <param name="Identifier">A second identifier, or null.</param>
/// <param name="SpecimenType">The specimen's type, or null.</param>
/// <param name="Collected">When it was collected, or null.</param>
/// <param name="Due">When the result should be there, or null.</param>
/// <param name="Comment">What whoever ordered it says besides, or null.</param>
public sealed record OrderContent(SpecimenId Specimen, AssayCode Assay, Priority Priority, string? Identifier,
    string? SpecimenType, Instant? Collected, Instant? Due, string? Comment);

/// <summary>The request as which an order is run.</summary>
/// <param name="Bench">Its bench.</param>
/// <param name="Request">The request.</param>
/// <param name="At">Since when.</param>
public sealed record OrderPlace(BenchId Bench, RequestId Request, Instant At);

/// <summary>That an order is not run.</summary>
/// <param name="Why">Why, in words.</param>
/// <param name="By">Who said so.</param>
/// <param name="At">When.</param>
public sealed record OrderEnd(string Why, PersonId By, Instant At);

/// <summary>An order as the clinic knows it.</summary>
/// <param name="Row">Its row in the clinic's stream, by which it is named in the clinic.</param>
/// <param name="Source">Where it comes from.</param>
/// <param name="Number">What it is called there.</param>
/// <param name="Content">What is wanted.</param>
/// <param name="Came">When it came.</param>
/// <param name="By">Who brought it: a person, or the program's key.</param>
/// <param name="Device">Through what.</param>
public sealed record Order(long Row, OrderSource Source, OrderNumber Number, OrderContent Content, Instant Came,
    PersonId By, DeviceId Device)
{
    /// <summary>The request as which it is run; null while it waits.</summary>
    public OrderPlace? Place { get; init; }

    /// <summary>That it was cancelled; null where it was not.</summary>
    public OrderEnd? Cancelled { get; init; }

    /// <summary>Whether it waits to be put on a bench.</summary>
    public bool Waits => Place is null && Cancelled is null;

    /// <summary>Every row of the clinic's stream about it, in order.</summary>
    public ImmutableArray<long> Rows { get; init; } = [Row];
}
