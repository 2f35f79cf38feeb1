using System.Collections.Immutable;
using NodaTime;

namespace Incubation.Clinic.Connections;

/// <summary>
/// How long is waited before something that failed is tried again: longer each time, and never quite as long, so that
/// what failed together is not tried together.
/// </summary>
public static class RetryWaits
{
    /// <summary>By so much of itself a wait is shorter or longer, by chance.</summary>
    private const double Spread = 0.2;

    private static readonly ImmutableArray<Duration> Steps =
    [
        Duration.FromSeconds(5), Duration.FromSeconds(15), Duration.FromMinutes(1), Duration.FromMinutes(4),
        Duration.FromMinutes(15), Duration.FromMinutes(60),
    ];

    /// <summary>
    /// A destination is not left untried for longer: whatever waits for it goes soon after it is back.
    /// </summary>
    public static readonly Duration LongestOfDestination = Duration.FromMinutes(15);

    /// <summary>No wait is longer, whatever its destination asks for.</summary>
    public static Duration Longest { get; } = Steps[^1] * (1 + Spread);

    /// <summary>The wait after so many failures in a row.</summary>
    /// <param name="failures">How many, from 1.</param>
    /// <param name="chance">From 0 to 1.</param>
    public static Duration After(int failures, double chance)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(failures, 1);
        ArgumentOutOfRangeException.ThrowIfNegative(chance);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(chance, 1);
        return Steps[Math.Min(failures, Steps.Length) - 1] * (1 - Spread + 2 * Spread * chance);
    }
}
