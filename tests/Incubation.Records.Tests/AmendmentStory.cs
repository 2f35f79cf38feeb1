using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records.Clinic;

namespace Incubation.Records.Tests;

/// <summary>A result of an invented clinic, amended twice after its batch had been closed.</summary>
internal static class AmendmentStory
{
    /// <summary>Records the whole story; says what was refused, which is nothing.</summary>
    public static IReadOnlyList<ClinicOutcome> Tell(ClinicLog log)
    {
        ClinicStory.Tell(log);
        return
        [
            .. new[]
            {
                log.Record(Amended("R01", "1.4", "14", "The point was missed when it was typed."), Rows.Touch(200)),
                log.Record(Amended("R01", "14", "250", "Another cartridge's value.") with { Told = "Dr. Invented" }, Rows.Touch(201)),
            }.Where(outcome => outcome is not ClinicOutcome.Recorded),
        ];
    }

    public static ClinicEvent.ClosedResultAmended Amended(string request, string before, string after, string why) => new(
        ClinicStory.Bench, 1, RequestId.Of(request), new ReadResult.Measured(before, "mg/L"), new ReadResult.Measured(after, "mg/L"), why, null);
}
