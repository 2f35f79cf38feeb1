namespace Incubation.Server.Demo;

/// <summary>Waits for the server to listen.</summary>
internal static class LifetimeWait
{
    /// <summary>Ends once the server has started, or with the wait.</summary>
    public static async Task StartedAsync(this IHostApplicationLifetime lifetime, CancellationToken cancellation)
    {
        var started = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        using var registration = lifetime.ApplicationStarted.Register(() => started.TrySetResult());
        using var cancelled = cancellation.Register(() => started.TrySetCanceled(cancellation));
        await started.Task;
    }
}
