using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.People;

/// <summary>A sign-in that has not ended.</summary>
/// <param name="Id">Hash of its token, or an id of its own where a device's key stands for it.</param>
/// <param name="Person">Who.</param>
/// <param name="Way">How they showed who they are.</param>
/// <param name="Device">The enrolled device that it is bound to; null where it is bound to a token.</param>
/// <param name="Name">Names it in the log where it has no enrolled device.</param>
/// <param name="Started">When it began.</param>
/// <param name="LastSeen">When something was last touched in it, to the minute.</param>
/// <param name="Browser">The browser and its system as it named them itself, for people to know it by; null where it
/// did not.</param>
public sealed record Session(string Id, PersonId Person, SignInWay Way, DeviceId? Device, DeviceId Name,
    Instant Started, Instant LastSeen, string? Browser = null)
{
    /// <summary>The row of the clinic's stream by which it began; 0 where it is not written yet.</summary>
    public long Begun { get; init; }
}
