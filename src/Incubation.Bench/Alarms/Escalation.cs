using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// When an alarm that nobody acknowledges goes beyond the bench: to the wall screen, and to whoever else is to be told.
/// </summary>
public static class Escalation
{
    /// <summary>The longest that an alarm is left to the bench alone.</summary>
    public static readonly Duration Patience = Duration.FromSeconds(30);

    /// <summary>
    /// With a deadline, the alarm is forwarded after one third of the remaining time (that time divided by this), if
    /// that is shorter than <see cref="Patience"/>.
    /// </summary>
    public const int RemainingTimeDivisor = 3;

    /// <summary>
    /// The instant for an alarm that stands from <paramref name="from"/>, with something to keep until
    /// <paramref name="deadline"/>.
    /// </summary>
    public static Instant At(Instant from, Instant? deadline) =>
        from + (deadline is { } end
            ? Duration.Max(Duration.Zero, Duration.Min(Patience, (end - from) / RemainingTimeDivisor)) : Patience);
}
