using Incubation.Clinic.Programme;
using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;

namespace Incubation.Clinic.TestKit;

/// <summary>The control programme of an invented clinic: a new lot is compared with the old one.</summary>
public static class ProgrammeStory
{
    public static LotCode Old { get; } = LotCode.Of("A-L7");

    public static LotCode New { get; } = LotCode.Of("A-L9");

    public static LotCriterion Criterion { get; } = new(DifferenceUnit.Percent, 10, 2);

    /// <summary>Two lots of an assay, the second received after a comparison was asked for.</summary>
    public static IReadOnlyList<StoryCommand> Lots { get; } =
    [
        .. StockStory.Commands,
        .. StoryCommand.Numbered(
            [
                [new ClinicEvent.LotComparisonRequired(true)],
                [.. StockStory.Box(New, new LocalDate(2027, 9, 30), 25)],
            ], 20),
    ];

    /// <summary>A comparison: a pair of the record, one typed, one that counts no more; accepted.</summary>
    public static IReadOnlyList<StoryCommand> Compared { get; } =
    [
        .. Lots,
        .. StoryCommand.Numbered(
            [
                [new ClinicEvent.LotComparisonBegun(1, ClinicStory.A, Old, New, Criterion)],
                [new ClinicEvent.LotPairSet(1, 1, "", Of(10, "R01"), Of(10.5m, "R02"))],
                [Typed(2, "old specimen 7", 40, 43)],
                [Typed(3, "old specimen 8", 40, 90)],
                [new ClinicEvent.LotPairRemoved(1, 3, "It had stood open.")],
                [new ClinicEvent.LotComparisonSettled(1, LotDecision.Accepted, "Mean within the limit.")],
            ], 30),
    ];

    public static ProficiencyItem First { get; } = new(SpecimenId.Of("PT-1"), ClinicStory.A);

    public static ProficiencyItem Second { get; } = new(SpecimenId.Of("PT-2"), ClinicStory.A);

    public static ClinicEvent.ProficiencyReceived Round { get; } =
        new(1, "Invented programme", "2026-A", [First, Second], new LocalDate(2026, 3, 20));

    public static ClinicEvent.ProficiencyReported Told { get; } = new(1,
        [new ProficiencyResult(First.Specimen, First.Assay, "4.2"),
            new ProficiencyResult(Second.Specimen, Second.Assay, "<0.5")], "on its portal");

    /// <summary>After the comparison: a round that is reported and graded, and one that is not run.</summary>
    public static IReadOnlyList<StoryCommand> Proficiency { get; } =
    [
        .. Compared,
        .. StoryCommand.Numbered(
            [
                [Round],
                [Told],
                [new ClinicEvent.ProficiencyGraded(1, First, ProficiencyGrade.Satisfactory, 4.3m, "")],
                [new ClinicEvent.ProficiencyGraded(1, Second, ProficiencyGrade.Unsatisfactory, 2, "The vial was old.")],
                [Round with { Round = 2, Name = "2026-B" }],
                [new ClinicEvent.ProficiencyCancelled(2, "The vials came broken.")],
            ], 50),
    ];

    public static ComparedResult Of(decimal value, string request) =>
        new(value, ClinicStory.Bench, RequestId.Of(request));

    public static ClinicEvent.LotPairSet Typed(int pair, string label, decimal old, decimal now, int comparison = 1) =>
        new(comparison, pair, label, new ComparedResult(old, null, null), new ComparedResult(now, null, null));
}
