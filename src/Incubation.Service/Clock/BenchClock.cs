using NodaTime;

namespace Incubation.Service.Clock;

/// <summary>The server's time as benches use it: whole milliseconds, the resolution of plans and of screens.</summary>
public sealed class BenchClock(TimeProvider time, double rate)
{
    /// <summary>Seconds of the server's time in one real second.</summary>
    public double Rate { get; } = rate;

    /// <summary>Where timers come from.</summary>
    public TimeProvider Time { get; } = time;

    /// <summary>Now, in whole milliseconds.</summary>
    public Instant Now => ToMilliseconds(Instant.FromDateTimeOffset(Time.GetUtcNow()));

    /// <summary>Cuts an instant to whole milliseconds.</summary>
    public static Instant ToMilliseconds(Instant instant) =>
        Instant.FromUnixTimeMilliseconds(instant.ToUnixTimeMilliseconds());
}
