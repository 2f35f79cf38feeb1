using Incubation.Clinic.Programme;
using Incubation.Model;
using Incubation.Model.Controls;

namespace Incubation.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>Whether results of a new kit lot are held until it was compared with the one before.</summary>
    public sealed record LotComparisonRequired(bool Required) : ClinicEvent;

    /// <summary>A new kit lot is to be compared with an old one.</summary>
    /// <param name="Comparison">Its number in the clinic, from 1.</param>
    /// <param name="Assay">The assay of both.</param>
    /// <param name="Old">The old lot.</param>
    /// <param name="New">The new one.</param>
    /// <param name="Criterion">By what it is judged.</param>
    public sealed record LotComparisonBegun(int Comparison, AssayCode Assay, LotCode Old, LotCode New,
        LotCriterion Criterion) : ClinicEvent;

    /// <summary>One specimen's results by both lots, or others than before.</summary>
    /// <param name="Comparison">The comparison.</param>
    /// <param name="Pair">The pair's number in it, from 1.</param>
    /// <param name="Label">What the specimen is called where its results are not on record; else empty.</param>
    /// <param name="Old">By the old lot.</param>
    /// <param name="New">By the new one.</param>
    public sealed record LotPairSet(int Comparison, int Pair, string Label, ComparedResult Old, ComparedResult New)
        : ClinicEvent;

    /// <summary>A pair does not count.</summary>
    /// <param name="Comparison">The comparison.</param>
    /// <param name="Pair">The pair's number in it.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record LotPairRemoved(int Comparison, int Pair, string Why) : ClinicEvent;

    /// <summary>A supervisor has decided on a comparison.</summary>
    /// <param name="Comparison">The comparison.</param>
    /// <param name="Decision">What was decided.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record LotComparisonSettled(int Comparison, LotDecision Decision, string Why) : ClinicEvent;
}
