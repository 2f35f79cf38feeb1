using NodaTime;

namespace Incubation.Records.Storage;

/// <summary>
/// Times in the data file: whole nanoseconds, as exact as the types that the program computes with, in 64 bits. That
/// holds the years 1678 to 2261 and lengths of 292 years. What an event says beyond that lies at the nearest end in
/// tables that are made from it; a row of the log itself is exact or is not written.
/// </summary>
internal static class Nanoseconds
{
    /// <summary>The first instant that the file holds.</summary>
    public static readonly Instant First = ToInstant(long.MinValue);

    /// <summary>The last instant that the file holds.</summary>
    public static readonly Instant Last = ToInstant(long.MaxValue);

    private static readonly Duration Longest = Duration.FromNanoseconds(long.MaxValue);

    /// <summary>
    /// Nanoseconds since the Unix epoch; throws <see cref="OverflowException"/> outside what the file holds.
    /// </summary>
    public static long Exactly(Instant instant) => (instant - NodaConstants.UnixEpoch).ToInt64Nanoseconds();

    /// <summary>Nanoseconds since the Unix epoch; the nearest that the file holds.</summary>
    public static long Of(Instant instant) => Exactly(Within(instant));

    /// <summary>The instant itself, or the nearest that the file holds.</summary>
    public static Instant Within(Instant instant) => Instant.Max(First, Instant.Min(instant, Last));

    /// <summary>A length in nanoseconds; the nearest that the file holds.</summary>
    public static long Of(Duration length) =>
        Duration.Max(-Longest, Duration.Min(length, Longest)).ToInt64Nanoseconds();

    /// <summary>The instant so many nanoseconds after the Unix epoch.</summary>
    public static Instant ToInstant(long nanoseconds) => NodaConstants.UnixEpoch
        + Duration.FromNanoseconds(nanoseconds);
}
