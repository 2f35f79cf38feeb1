namespace Incubation.Service.Clock;

/// <summary>
/// The server's clock: a line through one anchor, real time in, the server's time out. At a rate of 1 it shows real
/// time; a demo runs faster. Timers are due by the server's time. From its start on it measures by the machine's
/// monotonic clock: setting the machine's wall clock moves nothing. It never runs backward.
/// </summary>
public sealed class PacedTimeProvider : TimeProvider
{
    private readonly TimeProvider real;
    private readonly long firstTimestamp;
    private readonly DateTimeOffset firstReal;
    private long forwardTicks;
    private long lastTicks;

    /// <summary>Makes a clock.</summary>
    /// <param name="real">The machine's clock.</param>
    /// <param name="line">The line that it follows.</param>
    public PacedTimeProvider(TimeProvider real, ClockLine line)
    {
        this.real = real;
        firstTimestamp = real.GetTimestamp();
        firstReal = real.GetUtcNow();
        Line = line;
    }

    /// <summary>The line that the clock follows.</summary>
    public ClockLine Line { get; }

    /// <inheritdoc/>
    public override DateTimeOffset GetUtcNow()
    {
        var ticks = Line.At(firstReal + real.GetElapsedTime(firstTimestamp)).UtcTicks
            + Interlocked.Read(ref forwardTicks);
        // Two threads may come here in the other order than they read the clock.
        for (; ; )
        {
            var last = Interlocked.Read(ref lastTicks);
            if (ticks <= last)
                return new DateTimeOffset(last, TimeSpan.Zero);
            if (Interlocked.CompareExchange(ref lastTicks, ticks, last) == last)
                return new DateTimeOffset(ticks, TimeSpan.Zero);
        }
    }

    /// <summary>How far the machine's wall clock is ahead of this one: it was set, or the machine slept.</summary>
    public TimeSpan MachineAhead => Line.At(real.GetUtcNow()) - GetUtcNow();

    /// <summary>
    /// Goes on from so much later; throws <see cref="ArgumentOutOfRangeException"/> for a length that is not.
    /// </summary>
    public void GoForward(TimeSpan by)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(by, TimeSpan.Zero);
        Interlocked.Add(ref forwardTicks, by.Ticks);
    }

    /// <inheritdoc/>
    public override long GetTimestamp() => (long)((real.GetTimestamp() - firstTimestamp) * Line.Rate);

    /// <inheritdoc/>
    public override long TimestampFrequency => real.TimestampFrequency;

    /// <inheritdoc/>
    public override TimeZoneInfo LocalTimeZone => real.LocalTimeZone;

    /// <inheritdoc/>
    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        new PacedTimer(real.CreateTimer(callback, state, ToReal(dueTime), ToReal(period)), this);

    private TimeSpan ToReal(TimeSpan span) =>
        span == Timeout.InfiniteTimeSpan || span == TimeSpan.Zero ? span
        : TimeSpan.FromMilliseconds(Math.Max(1, Math.Ceiling(span.TotalMilliseconds / Line.Rate)));

    private sealed class PacedTimer(ITimer inner, PacedTimeProvider clock) : ITimer
    {
        public bool Change(TimeSpan dueTime, TimeSpan period) =>
            inner.Change(clock.ToReal(dueTime), clock.ToReal(period));

        public void Dispose() => inner.Dispose();

        public ValueTask DisposeAsync() => inner.DisposeAsync();
    }
}
