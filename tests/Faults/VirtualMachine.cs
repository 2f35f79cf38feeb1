using NodaTime;

namespace Incubation.Faults;

/// <summary>
/// The server's machine: a monotonic clock that drifts, and a wall clock that drifts with it and can be set. Timers are
/// the simulation's own.
/// </summary>
/// <param name="agenda">True time.</param>
/// <param name="drift">So much the clocks gain on true time; negative where they lose.</param>
internal sealed class VirtualMachine(Agenda agenda, double drift) : TimeProvider
{
    private readonly Instant made = agenda.Now;

    /// <summary>How far the wall clock has been set ahead.</summary>
    public Duration SetAhead { get; set; }

    /// <inheritdoc/>
    public override long TimestampFrequency => TimeSpan.TicksPerSecond;

    /// <inheritdoc/>
    public override long GetTimestamp() => (long)((agenda.Now - made).TotalTicks * (1 + drift));

    /// <inheritdoc/>
    public override DateTimeOffset GetUtcNow() => made.ToDateTimeOffset().AddTicks(GetTimestamp())
        + SetAhead.ToTimeSpan();

    /// <inheritdoc/>
    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        throw new NotSupportedException("On virtual time the agenda wakes the server.");
}
