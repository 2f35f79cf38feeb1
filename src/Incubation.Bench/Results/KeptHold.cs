using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// A correction that would have let a held result out: whether it may go out is for a supervisor to say.
/// </summary>
/// <param name="From">When the step was that was corrected, as it was told; null where no time was.</param>
/// <param name="To">When it was by the correction; null where no time was.</param>
public sealed record KeptHold(Instant? From, Instant? To);
