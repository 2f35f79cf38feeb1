using Incubation.Clinic.TestKit;
using Incubation.Records.Clinic;

namespace Incubation.Records.Tests;

/// <summary>Stories of the invented clinic, told to a log.</summary>
internal static class StoryTelling
{
    /// <summary>Records a whole story; says what was not recorded, which is nothing.</summary>
    public static IReadOnlyList<ClinicOutcome> Tell(this ClinicLog log, IReadOnlyList<StoryCommand> story) =>
    [
        .. story.Select(command => log.Record(command.Events, command.Provenance))
            .Where(outcome => outcome is not ClinicOutcome.Recorded),
    ];
}
