using System.Collections.Concurrent;

namespace Incubation.Service.Tests.Benches;

/// <summary>What a bench writes into the program's log.</summary>
internal sealed class Lines : ILogger
{
    public ConcurrentQueue<string> Said { get; } = new();

    public ConcurrentQueue<Exception> Faults { get; } = new();

    public IDisposable? BeginScope<TState>(TState state)
        where TState : notnull => null;

    public bool IsEnabled(LogLevel logLevel) => true;

    public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
        Func<TState, Exception?, string> formatter)
    {
        Said.Enqueue(formatter(state, exception));
        if (exception is not null)
            Faults.Enqueue(exception);
    }
}
