using System.Collections.Concurrent;
using Incubation.Chart;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using Microsoft.AspNetCore.SignalR;

namespace Incubation.Server.Hubs;

/// <summary>Pushes every new view of every bench to the screens that watch it.</summary>
public sealed class BenchPublisher : IHostedService
{
    private readonly BenchRegistry benches;
    private readonly SnapshotWriter writer;
    private readonly BenchClock clock;
    private readonly IHubContext<BenchHub, IBenchScreen> hub;
    private readonly ILogger<BenchPublisher> logger;
    // Layouts that a screen has ever watched: the others are not drawn.
    private readonly ConcurrentDictionary<LaneLayout, bool> watched = new();

    public BenchPublisher(BenchRegistry benches, SnapshotWriter writer, BenchClock clock,
        IHubContext<BenchHub, IBenchScreen> hub, ILogger<BenchPublisher> logger)
    {
        this.benches = benches;
        this.writer = writer;
        this.clock = clock;
        this.hub = hub;
        this.logger = logger;
    }

    /// <summary>The screens that watch a bench in a layout.</summary>
    public static string GroupOf(string bench, LaneLayout layout) => $"{layout}/{bench}";

    /// <summary>Notes that a screen watches in a layout.</summary>
    public void Watched(LaneLayout layout) => watched.TryAdd(layout, true);

    /// <inheritdoc/>
    public Task StartAsync(CancellationToken cancellationToken)
    {
        benches.Changed += Push;
        return Task.CompletedTask;
    }

    /// <inheritdoc/>
    public Task StopAsync(CancellationToken cancellationToken)
    {
        benches.Changed -= Push;
        return Task.CompletedTask;
    }

    private void Push(BenchMoment view)
    {
        // Drawn before the server's time is read: screens set their clocks by it.
        foreach (var layout in watched.Keys)
        {
            var snapshot = writer.Write(view, layout) with { ServerTime = clock.Now };
            var sent = hub.Clients.Group(GroupOf(view.State.Id.Value, layout)).Snapshot(snapshot);
            // Screens are not waited for: a slow one misses nothing, each snapshot is whole.
            _ = sent.ContinueWith(
                failed => logger.LogWarning(failed.Exception, "A snapshot could not be pushed."),
                CancellationToken.None, TaskContinuationOptions.OnlyOnFaulted, TaskScheduler.Default);
        }
    }
}
