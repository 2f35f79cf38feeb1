using Incubation.Records;
using Incubation.Records.Log;
using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace Incubation.Service.Hosting;

/// <summary>
/// Reads the whole record once after each start and verifies hashes, signatures and the file's form. A start itself
/// reads only what came after the kept state of each bench, so that it is quick; this finds what was altered before.
/// </summary>
internal sealed class RecordWatch : BackgroundService, IHealthCheck
{
    /// <summary>The first pages and reports come first.</summary>
    private static readonly TimeSpan Wait = TimeSpan.FromSeconds(15);

    private readonly DataFile file;
    private readonly ILogger<RecordWatch> logger;
    private volatile LogBrokenException? broken;

    /// <summary>Watches a data file.</summary>
    public RecordWatch(DataFile file, ILogger<RecordWatch> logger)
    {
        (this.file, this.logger) = (file, logger);
        file.DistrustFound += Say;
    }

    private void Say(LogBrokenException fault) => logger.LogCritical("{Sentence}", fault.Message);

    /// <summary>Verifies every stream now.</summary>
    public void Verify()
    {
        broken = file.Log.VerifyAll().Faults.FirstOrDefault();
        if (broken is not null)
            Say(broken);
    }

    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context,
        CancellationToken cancellationToken = default) =>
        Task.FromResult((broken ?? file.Distrusted) is { } fault ? HealthCheckResult.Unhealthy(fault.Message)
            : HealthCheckResult.Healthy());

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        try
        {
            await Task.Delay(Wait, stoppingToken);
            await Task.Run(Verify, stoppingToken);
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogError(fault, "The record could not be verified.");
        }
    }
}
