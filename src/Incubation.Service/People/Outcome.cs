using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;

namespace Incubation.Service.People;

/// <summary>
/// What became of a change: done, perhaps with something to show once, or a sentence that says why not.
/// </summary>
/// <param name="Fault">Why not; null where it was done.</param>
/// <param name="Shown">A code or key that is shown this once; null where there is none.</param>
public sealed record Outcome(string? Fault, string? Shown = null)
{
    /// <summary>Whether it was done.</summary>
    public bool IsDone => Fault is null;

    /// <summary>Done.</summary>
    public static Outcome Done(string? shown = null) => new(null, shown);

    /// <summary>What the clinic's log made of it; where it could not be written, the sentence that says why.</summary>
    public static Outcome Of(Func<ClinicOutcome> record, string? shown = null)
    {
        ArgumentNullException.ThrowIfNull(record);
        try
        {
            return record() is ClinicOutcome.Refused refused ? new Outcome(ClinicText.Say(refused)) : Done(shown);
        }
        catch (AppendException fault)
        {
            return new Outcome(fault.Message);
        }
    }
}

/// <summary>The provenance of what people do in the office.</summary>
public static class Provenances
{
    /// <summary>That of an actor, now.</summary>
    public static Provenance Of(Actor actor, BenchClock clock) => Of(actor.InLog, actor.Device, clock);

    /// <summary>That of a person through a device, now.</summary>
    public static Provenance Of(PersonId person, DeviceId device, BenchClock clock)
    {
        var now = clock.Now;
        return new Provenance(new ReportId(Guid.CreateVersion7().ToString("N")), now, now, person, device);
    }
}
