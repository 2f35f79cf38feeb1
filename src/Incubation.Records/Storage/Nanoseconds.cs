using NodaTime;

namespace Incubation.Records.Storage;

/// <summary>
/// Times in the data file: whole nanoseconds, as exact as the types that the program computes with, in 64 bits. That
/// holds the years 1678 to 2261 and lengths of 292 years.
/// </summary>
internal static class Nanoseconds
{
    /// <summary>Nanoseconds since the Unix epoch; throws <see cref="OverflowException"/> outside the range.</summary>
    public static long Of(Instant instant) => (instant - NodaConstants.UnixEpoch).ToInt64Nanoseconds();

    /// <summary>The instant so many nanoseconds after the Unix epoch.</summary>
    public static Instant ToInstant(long nanoseconds) => NodaConstants.UnixEpoch
        + Duration.FromNanoseconds(nanoseconds);
}
