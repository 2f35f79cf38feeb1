using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Clinic.TestKit;

/// <summary>A result of an invented clinic, amended twice after its batch had been closed.</summary>
public static class AmendmentStory
{
    /// <summary>The clinic's own story, and then this one.</summary>
    public static IReadOnlyList<StoryCommand> Commands { get; } =
    [
        .. ClinicStory.Commands,
        .. StoryCommand.Numbered(
            [
                [Amended("R01", "1.4", "14", "The point was missed when it was typed.")],
                [Amended("R01", "14", "250", "Another cartridge's value.") with { Told = "Dr. Invented" }],
            ],
            200),
    ];

    /// <summary>After that story: a held result of a closed batch is released.</summary>
    public static IReadOnlyList<StoryCommand> Released { get; } =
        StoryCommand.Numbered([[new ClinicEvent.ClosedResultReleased(ClinicStory.Bench, 1, RequestId.Of("R01"),
            "The label was read again.")]], 250);

    /// <summary>
    /// After that story: the value, which had been told, is amended to one that cannot be; that is to be told.
    /// </summary>
    public static IReadOnlyList<StoryCommand> Questioned { get; } = StoryCommand.Numbered(
        [
            [
                Amended("R01", "250", "<200", "The sign was missed.") with { Reason = AmendmentReason.Misread },
                new ClinicEvent.ClosedResultQuestioned(ClinicStory.Bench, 1, RequestId.Of("R01"),
                    ValueQuestion.LessThanInside),
                new ClinicEvent.ClosedTellingDue(ClinicStory.Bench, 1, RequestId.Of("R01"),
                    TellingCause.Correction),
            ],
        ],
        260);

    /// <summary>After that: somebody is told, and of another correction nobody need be.</summary>
    public static IReadOnlyList<StoryCommand> ToldLater { get; } = StoryCommand.Numbered(
        [
            [new ClinicEvent.ClosedResultTold(ClinicStory.Bench, 1, RequestId.Of("R01"), "Nurse", true,
                "The doctor is away.")],
            [
                Amended("R01", "<200", "20", "Read again."),
                new ClinicEvent.ClosedTellingDue(ClinicStory.Bench, 1, RequestId.Of("R01"),
                    TellingCause.Correction),
            ],
            [new ClinicEvent.ClosedTellingWaived(ClinicStory.Bench, 1, RequestId.Of("R01"),
                "The specimen was taken again.")],
        ],
        270);

    /// <summary>
    /// After the first story: the clinic asks for a second look; one amendment is declined, one confirmed, one waits.
    /// </summary>
    public static IReadOnlyList<StoryCommand> SecondLooks { get; } =
    [
        .. StoryCommand.Numbered(
            [
                [new ClinicEvent.AmendmentRuleSet(true)],
                [Proposed("250", "25", "The point was missed.")],
            ],
            300),
        Looked(310, "250", "25", "The point was missed.", 301, confirmed: false),
        .. StoryCommand.Numbered([[Proposed("250", "20", "Read again.")]], 320),
        Looked(330, "250", "20", "Read again.", 320, confirmed: true),
        .. StoryCommand.Numbered([[Proposed("20", "21", "Read once more.")]], 340),
    ];

    /// <summary>An amendment of R01 that waits for a second person.</summary>
    public static ClinicEvent.ClosedAmendmentProposed Proposed(string before, string after, string why) => new(
        ClinicStory.Bench, 1, RequestId.Of("R01"), new ReadResult.Measured(before, "mg/L"),
        new ReadResult.Measured(after, "mg/L"), why, AmendmentReason.Typed, TellingCause.Correction);

    /// <summary>What another person decides on it.</summary>
    public static StoryCommand Looked(int number, string before, string after, string why, int proposed,
        bool confirmed)
    {
        var entered = StoryProvenance.Of(proposed);
        var decided = new ClinicEvent.ClosedAmendmentDecided(ClinicStory.Bench, 1, RequestId.Of("R01"),
            new AmendmentProposal(new ReadResult.Measured(before, "mg/L"), new ReadResult.Measured(after, "mg/L"), why,
                AmendmentReason.Typed, entered.At, entered.Person), confirmed, "Compared with the reader's memory.");
        return new StoryCommand(confirmed
            ? [decided, Amended("R01", before, after, why) with { Reason = AmendmentReason.Typed }] : [decided],
            StoryProvenance.Of(number) with { Person = PersonId.Of("second") });
    }

    public static ClinicEvent.ClosedResultAmended Amended(string request, string before, string after, string why) =>
        new(
        ClinicStory.Bench, 1, RequestId.Of(request), new ReadResult.Measured(before, "mg/L"),
        new ReadResult.Measured(after, "mg/L"), why, null);
}
