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

    public static ClinicEvent.ClosedResultAmended Amended(string request, string before, string after, string why) =>
        new(
        ClinicStory.Bench, 1, RequestId.Of(request), new ReadResult.Measured(before, "mg/L"),
        new ReadResult.Measured(after, "mg/L"), why, null);
}
