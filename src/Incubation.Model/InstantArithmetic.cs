using NodaTime;

namespace Incubation.Model;

/// <summary>
/// Arithmetic on instants of which nothing is known: they may come from a log that another program, or a clock gone
/// wrong, has written. It ends at the ends of time (the years -9998 and 9999) and never throws.
/// </summary>
public static class InstantArithmetic
{
    /// <summary>An instant so much later, or the last there is; earlier, or the first there is, where it is negative.
    /// </summary>
    public static Instant Plus(this Instant instant, Duration later) =>
        later > Instant.MaxValue - instant ? Instant.MaxValue
        : later < Instant.MinValue - instant ? Instant.MinValue
        : instant + later;
}
