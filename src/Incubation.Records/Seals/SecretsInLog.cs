using System.Collections.Frozen;
using Incubation.Clinic.People;
using Incubation.Records.Clinic;
using Incubation.Records.Log;

namespace Incubation.Records.Seals;

/// <summary>What the clinic's stream says of secrets, taken in row by row.</summary>
internal sealed class SecretsInLog
{
    private static readonly FrozenSet<string> Names = SecretsState.Told
        .Select(type => ClinicEvents.Registry.Forms.Single(form => form.Type == type).Name).ToFrozenSet();

    /// <summary>What it says after the last row that was taken in.</summary>
    public SecretsState State { get; private set; } = SecretsState.Empty;

    /// <summary>Takes a verified row of any stream in.</summary>
    public void Take(LogRow row)
    {
        var header = row.Header;
        if (header.Stream == StreamName.Clinic && row.Payload is not null && Names.Contains(header.EventType))
            State = State.Apply(ClinicEvents.Registry.Decode(row), header.Sequence);
    }
}
