using System.Threading.Channels;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.Snapshots;

namespace Incubation.Service.Gates;

/// <summary>
/// Has controls judged as soon as their results stand in a bench's log, and looks every minute whether a new day has
/// made controls due.
/// </summary>
public sealed class ControlWatch(LotGateService gates, BenchRegistry benches, BenchClock clock,
    ILogger<ControlWatch> logger) : BackgroundService
{
    private static readonly TimeSpan LookEvery = TimeSpan.FromMinutes(1);
    private readonly Channel<bool> wanted =
        Channel.CreateBounded<bool>(new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropWrite });

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        benches.Changed += Note;
        await using var minute = clock.Time.CreateTimer(_ => wanted.Writer.TryWrite(true), null, LookEvery, LookEvery);
        try
        {
            await foreach (var _ in wanted.Reader.ReadAllAsync(stoppingToken))
                await SettleAsync();
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
        finally
        {
            benches.Changed -= Note;
        }
    }

    private void Note(BenchMoment view)
    {
        if (gates.HasUnjudged(view.State))
            wanted.Writer.TryWrite(true);
    }

    private async Task SettleAsync()
    {
        try
        {
            await gates.SettleAsync();
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogError(fault, "Controls could not be looked at.");
        }
    }
}
