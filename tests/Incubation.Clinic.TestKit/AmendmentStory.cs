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

    public static ClinicEvent.ClosedResultAmended Amended(string request, string before, string after, string why) =>
        new(
        ClinicStory.Bench, 1, RequestId.Of(request), new ReadResult.Measured(before, "mg/L"),
        new ReadResult.Measured(after, "mg/L"), why, null);
}
