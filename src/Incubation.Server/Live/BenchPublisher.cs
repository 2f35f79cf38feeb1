using System.Collections.Concurrent;
using Incubation.Chart;
using Microsoft.AspNetCore.SignalR;

namespace Incubation.Server.Live;

/// <summary>Pushes every new view of every bench to the screens that watch it.</summary>
public sealed class BenchPublisher : IHostedService
{
    private readonly BenchBook _benches;
    private readonly SnapshotWriter _writer;
    private readonly BenchClock _clock;
    private readonly IHubContext<BenchHub, IBenchScreen> _hub;
    private readonly ILogger<BenchPublisher> _logger;
    // Layouts that a screen has ever watched: the others are not drawn.
    private readonly ConcurrentDictionary<LaneLayout, bool> _watched = new();

    public BenchPublisher(BenchBook benches, SnapshotWriter writer, BenchClock clock, IHubContext<BenchHub, IBenchScreen> hub, ILogger<BenchPublisher> logger)
    {
        _benches = benches;
        _writer = writer;
        _clock = clock;
        _hub = hub;
        _logger = logger;
    }

    /// <summary>The screens that watch a bench in a layout.</summary>
    public static string GroupOf(string bench, LaneLayout layout) => $"{layout}/{bench}";

    /// <summary>Notes that a screen watches in a layout.</summary>
    public void Watched(LaneLayout layout) => _watched.TryAdd(layout, true);

    /// <inheritdoc/>
    public Task StartAsync(CancellationToken cancellationToken)
    {
        _benches.Changed += Push;
        return Task.CompletedTask;
    }

    /// <inheritdoc/>
    public Task StopAsync(CancellationToken cancellationToken)
    {
        _benches.Changed -= Push;
        return Task.CompletedTask;
    }

    private void Push(BenchView view)
    {
        // Drawn before the server's time is read: screens set their clocks by it.
        foreach (var layout in _watched.Keys)
        {
            var snapshot = _writer.Write(view, layout) with { ServerTime = _clock.Now };
            var sent = _hub.Clients.Group(GroupOf(view.State.Id.Value, layout)).Snapshot(snapshot);
            // Screens are not waited for: a slow one misses nothing, each snapshot is whole.
            _ = sent.ContinueWith(
                failed => _logger.LogWarning(failed.Exception, "A snapshot could not be pushed."),
                CancellationToken.None, TaskContinuationOptions.OnlyOnFaulted, TaskScheduler.Default);
        }
    }
}
