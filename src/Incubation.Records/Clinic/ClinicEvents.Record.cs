namespace Incubation.Records.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>The record's key was lost, and everything up to here was signed with a new one as it stood.</summary>
    /// <param name="Lost">Name of the key that was lost.</param>
    /// <param name="Now">Name of the new key.</param>
    public sealed record RecordKeyRenewed(string Lost, string Now) : ClinicEvent;
}

/// <summary>The names of the events about the record itself in the log.</summary>
internal static class RecordEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<Events.EventForm> Forms { get; } =
    [
        new("record-key-renewed", 1, typeof(ClinicEvent.RecordKeyRenewed)),
    ];
}
