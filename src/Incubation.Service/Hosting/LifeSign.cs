using Incubation.Service.Clock;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Hosting;

/// <summary>
/// Leaves the server's time in a small file beside the data every few seconds, so that after a power cut the next start
/// knows how long it was down, however long nothing had been reported before. A convenience: where it cannot be written
/// or read, the last event says it less exactly.
/// </summary>
public sealed class LifeSign(string path, BenchClock clock) : BackgroundService
{
    private static readonly TimeSpan Every = TimeSpan.FromSeconds(5);

    /// <summary>The last time that the server is known to have run, by an earlier run's own clock; or null.</summary>
    public Instant? Last { get; } = Read(path);

    /// <summary>Leaves the present time.</summary>
    public void Leave()
    {
        try
        {
            File.WriteAllText(path, InstantPattern.ExtendedIso.Format(clock.Now));
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            // A full disk is said by the health check; this file is none of its victims that matter.
        }
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var tick = new PeriodicTimer(Every);
        try
        {
            do
                Leave();
            while (await tick.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            Leave();
        }
    }

    private static Instant? Read(string path)
    {
        try
        {
            return File.Exists(path)
                && InstantPattern.ExtendedIso.Parse(File.ReadAllText(path)) is { Success: true } last
                ? last.Value : null;
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }
}
