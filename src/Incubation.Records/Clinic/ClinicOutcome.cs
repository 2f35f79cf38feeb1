using Incubation.Clinic;
using Incubation.Records.Log;

namespace Incubation.Records.Clinic;

/// <summary>What the clinic's log made of a command.</summary>
public abstract record ClinicOutcome
{
    private ClinicOutcome() { }

    /// <summary>It is on the disk, and the tables show it.</summary>
    public sealed record Recorded(LogHead Head) : ClinicOutcome;

    /// <summary>This command was recorded before; nothing was done.</summary>
    public sealed record AlreadyRecorded : ClinicOutcome;

    /// <summary>Nothing of the command was recorded.</summary>
    /// <param name="Why">The reason.</param>
    /// <param name="Detail">The thing meant, as data for the sentence.</param>
    public sealed record Refused(ClinicRefusal Why, string Detail) : ClinicOutcome;
}
