using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.Demo;
using Incubation.Service.Settings;
using Incubation.Simulation;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using NodaTime;

namespace Incubation.Server.Demo;

/// <summary>Runs the autopilot once the server listens, prints its summary, and leaves the server running.</summary>
public sealed class AutopilotService(
    BenchRegistry benches, DemoPeople people, BenchClock clock, ServerSettings settings,
    IServer server, IHostApplicationLifetime lifetime,
    ILogger<AutopilotService> logger) : BackgroundService
{
    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        await lifetime.StartedAsync(stoppingToken);
        var address = server.Features.Get<IServerAddressesFeature>()?.Addresses.FirstOrDefault();
        if (address is null || benches.All.Count == 0)
        {
            Console.WriteLine(AutopilotWords.AutopilotNoBench);
            return;
        }

        try
        {
            var bench = benches.All[0].Id;
            await using var aide = new Autopilot(new Uri(address), people.KeyOfVirtualAide(), bench.Value, clock,
                settings.Seed)
            { IsWired = true };
            Console.WriteLine(Say(await aide.PlayAsync(stoppingToken)));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            // The demonstration ends; the bench and its pages go on.
            logger.LogError(fault, "The autopilot stopped.");
            Console.WriteLine(AutopilotWords.AutopilotStopped);
        }
    }

    /// <summary>How a batch went, for a terminal.</summary>
    public static string Say(DaySummary day) => Service.Text.Say.Of(
        AutopilotWords.AutopilotSummary,
        day.ReadInWindow, day.Cartridges, day.ReadOutside, day.Discarded, Service.Text.Say.Length(day.Finish),
            Spare(day.LeastSpare), Spare(day.MedianSpare));

    private static string Spare(Duration? spare) => spare is { } length ? Service.Text.Say.Length(length) : "–";
}
