using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;

namespace Incubation.Clinic.Programme;

/// <summary>What was decided on a comparison of two lots.</summary>
public enum LotDecision
{
    /// <summary>The new lot may be used.</summary>
    Accepted,

    /// <summary>It may not.</summary>
    Refused,
}

/// <summary>A result that is compared.</summary>
/// <param name="Value">The value, in the unit of the assay.</param>
/// <param name="Bench">The bench that gave it; null where it was entered by hand.</param>
/// <param name="Request">Its cartridge; null where it was entered by hand.</param>
public sealed record ComparedResult(decimal Value, BenchId? Bench, RequestId? Request);

/// <summary>One specimen's results by both lots.</summary>
/// <param name="Number">Its number in the comparison.</param>
/// <param name="Label">What it is called where its results are not on record; else empty.</param>
/// <param name="Old">By the old lot.</param>
/// <param name="New">By the new one.</param>
/// <param name="By">Who chose or entered it last.</param>
/// <param name="At">When.</param>
public sealed record ComparedPair(int Number, string Label, ComparedResult Old, ComparedResult New, PersonId By,
    Instant At)
{
    /// <summary>Why it does not count; null where it does.</summary>
    public string? Removed { get; init; }

    /// <summary>Its values.</summary>
    public LotPair Values => new(Old.Value, New.Value);
}

/// <summary>What was decided, and by whom.</summary>
public sealed record ComparisonDecision(LotDecision Decision, string Why, PersonId By, Instant At);

/// <summary>A comparison of two kit lots as the clinic's stream tells.</summary>
/// <param name="Number">Its number in the clinic.</param>
/// <param name="Assay">The assay.</param>
/// <param name="Old">The old lot.</param>
/// <param name="New">The new one.</param>
/// <param name="Criterion">By what it is judged.</param>
/// <param name="By">Who began it.</param>
/// <param name="At">When.</param>
public sealed record ComparisonCase(int Number, AssayCode Assay, LotCode Old, LotCode New, LotCriterion Criterion,
    PersonId By, Instant At)
{
    /// <summary>Every pair, in its order; those that do not count too.</summary>
    public ImmutableArray<ComparedPair> Pairs { get; init; } = [];

    /// <summary>What was decided; null while it is open.</summary>
    public ComparisonDecision? Decision { get; init; }

    /// <summary>The pairs that count.</summary>
    public IEnumerable<ComparedPair> Counted => Pairs.Where(pair => pair.Removed is null);

    /// <summary>What comes of it as it is.</summary>
    public LotComparison Outcome => LotComparison.Of(Criterion, Counted.Select(pair => pair.Values));
}
