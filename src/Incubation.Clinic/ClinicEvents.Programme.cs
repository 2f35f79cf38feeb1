using System.Collections.Immutable;
using Incubation.Clinic.Programme;
using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;

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

    /// <summary>A round of an external proficiency programme has been received.</summary>
    /// <param name="Round">Its number in the clinic, from 1.</param>
    /// <param name="Programme">The programme's name.</param>
    /// <param name="Name">The round, as the programme calls it.</param>
    /// <param name="Items">What is to be measured, by which assay.</param>
    /// <param name="Due">The last day on which its results may be reported, in the clinic's zone.</param>
    public sealed record ProficiencyReceived(int Round, string Programme, string Name,
        ImmutableArray<ProficiencyItem> Items, LocalDate Due) : ClinicEvent;

    /// <summary>The programme was told a round's results.</summary>
    /// <param name="Round">The round.</param>
    /// <param name="Results">What it was told, of each item.</param>
    /// <param name="How">How, in words.</param>
    public sealed record ProficiencyReported(int Round, ImmutableArray<ProficiencyResult> Results, string How)
        : ClinicEvent;

    /// <summary>A round is not run.</summary>
    /// <param name="Round">The round.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record ProficiencyCancelled(int Round, string Why) : ClinicEvent;

    /// <summary>The programme has graded a result, or graded it otherwise than before.</summary>
    /// <param name="Round">The round.</param>
    /// <param name="Item">Which of its items.</param>
    /// <param name="Grade">The grade.</param>
    /// <param name="Target">What it should have been, in the assay's unit; null where the programme says
    /// nothing.</param>
    /// <param name="Note">What was found and done: always said where it is unsatisfactory.</param>
    public sealed record ProficiencyGraded(int Round, ProficiencyItem Item, ProficiencyGrade Grade, decimal? Target,
        string Note) : ClinicEvent;
}
