using Incubation.Service.Benches;
using Incubation.Service.Demo;
using Incubation.Service.Settings;

namespace Incubation.Server.Demo;

/// <summary>
/// Runs the readers of a demo's benches once the server listens: what is read comes by wire, whoever does the tapping.
/// </summary>
public sealed class DemoReadersService(BenchRegistry benches, DemoReaders readers, ServerSettings settings,
    IHostApplicationLifetime lifetime, ILogger<DemoReadersService> logger) : BackgroundService
{
    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        try
        {
            await lifetime.StartedAsync(stoppingToken);
            await Task.WhenAll(benches.All.Select(bench =>
                readers.PlayAsync(bench.Id, unchecked((int)settings.Seed), stoppingToken)).ToList());
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            // The demonstration goes on without them: results can be typed.
            logger.LogError(fault, "The demo's readers stopped; results can be typed.");
        }
    }
}
