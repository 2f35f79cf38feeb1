using Incubation.Model;
using Incubation.Records.Log;
using Incubation.Records.Retention;
using Incubation.Service.Clock;
using Incubation.Service.People;

namespace Incubation.Service.Worklist;

/// <summary>Has the orders erased that were cancelled long enough ago.</summary>
public sealed class WorklistWatch(WorklistRetention retention, BenchClock clock,
    [FromKeyedServices(Sessions.RealTime)] TimeProvider time, ILogger<WorklistWatch> logger) : BackgroundService
{
    private static readonly TimeSpan EraseEvery = TimeSpan.FromHours(1);
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId Through = new("server");

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        while (true)
        {
            try
            {
                while (retention.EraseOver(clock.Now, () => Provenances.Of(Itself, Through, clock)) > 0)
                    stoppingToken.ThrowIfCancellationRequested();
            }
            catch (AppendException fault)
            {
                logger.LogWarning("Cancelled orders could not be erased: {Fault}", fault.Message);
            }

            await Task.Delay(EraseEvery, time, stoppingToken);
        }
    }
}
