using Microsoft.Extensions.Logging;

namespace Incubation.Faults;

/// <summary>
/// Hears what the bench's turns log: a fault that no modelled disk or death explains is a fault of the bench.
/// </summary>
internal sealed class FaultLog(World world) : ILogger
{
    /// <inheritdoc/>
    public IDisposable? BeginScope<TState>(TState state)
        where TState : notnull => null;

    /// <inheritdoc/>
    public bool IsEnabled(LogLevel logLevel) => true;

    /// <inheritdoc/>
    public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
        Func<TState, Exception?, string> formatter)
    {
        world.Trace($"server logs: {formatter(state, exception)}"
            + (exception is null or IOException or ProcessGoneException ? "" : $" {exception}"));
        if (logLevel >= LogLevel.Error && exception is not (IOException or ProcessGoneException))
            world.Watch.Violated("the bench's core throws nothing", $"{formatter(state, exception)} {exception}");
    }
}
