using NodaTime;

namespace Incubation.Model;

/// <summary>
/// Arithmetic on times of which nothing is known: they may come from a log that another program, or a clock gone wrong,
/// has written. It ends at the ends of time (instants: the years -9998 and 9999) and never throws.
/// </summary>
public static class TimeArithmetic
{
    private static readonly Duration LargestOffset = Duration.FromHours(18);

    /// <summary>
    /// An instant so much later, or the last there is; earlier, or the first there is, where the length is negative.
    /// </summary>
    public static Instant Later(this Instant instant, Duration later) =>
        later > Instant.MaxValue - instant ? Instant.MaxValue
        : later < Instant.MinValue - instant ? Instant.MinValue
        : instant + later;

    /// <summary>Two lengths together, or the longest there is.</summary>
    public static Duration Longer(this Duration length, Duration more)
    {
        var days = length.TotalDays + more.TotalDays;
        return days >= Duration.MaxValue.TotalDays ? Duration.MaxValue
            : days <= Duration.MinValue.TotalDays ? Duration.MinValue
            : length + more;
    }

    /// <summary>
    /// An instant on the clocks of a zone. At the ends of time, where a zone would go beyond them, it is a little off.
    /// </summary>
    public static ZonedDateTime Local(this Instant instant, DateTimeZone zone) => instant
        .Within(Instant.MinValue + LargestOffset, Instant.MaxValue - LargestOffset).InZone(zone);

    /// <summary>The nearest instant between two.</summary>
    public static Instant Within(this Instant instant, Instant first, Instant last) =>
        Instant.Max(first, Instant.Min(instant, last));
}
