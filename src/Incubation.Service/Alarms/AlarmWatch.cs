using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Incubation.Service.People;
using Incubation.Service.Snapshots;

namespace Incubation.Service.Alarms;

/// <summary>
/// Every second: whether benches have a screen, and which alarms nobody has acknowledged in time go on to others.
/// </summary>
public sealed class AlarmWatch(
    BenchRegistry benches, BenchClock clock, ScreenWatch screens, Webhook webhook, AlarmNotices notices,
    AlarmsNotSent notSent, IHostAlarms host,
    [FromKeyedServices(Sessions.RealTime)] TimeProvider real, ILogger<AlarmWatch> logger) : BackgroundService
{
    private static readonly TimeSpan Every = TimeSpan.FromSeconds(1);

    private readonly HashSet<(BenchId Bench, AlarmKey Key)> sent = [];
    private readonly HashSet<(BenchId Bench, AlarmKey Key)> put = [];
    private string? shown;

    /// <summary>Sends on what has become due, each alarm once while it stands.</summary>
    public void SendOn()
    {
        foreach (var runner in benches.All)
        {
            var state = runner.Present.State;
            var due = Due(runner.Present).ToList();
            foreach (var gone in new[] { sent, put })
                gone.RemoveWhere(one => one.Bench == state.Id && due.All(alarm => alarm.Key != one.Key));
            foreach (var alarm in due)
            {
                if (sent.Add((state.Id, alarm.Key)))
                    webhook.Send(WebhookMessage.Of(state, alarm));
                if (!put.Contains((state.Id, alarm.Key))
                    && notices.Put(state.Id, alarm, AlarmText.PlaceOf(state, alarm.Key.Request)))
                    put.Add((state.Id, alarm.Key));
            }
        }
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        webhook.Changed += LookAgain;
        using var tick = new PeriodicTimer(Every, real);
        try
        {
            while (await tick.WaitForNextTickAsync(stoppingToken))
                CheckAll();
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
        finally
        {
            webhook.Changed -= LookAgain;
        }
    }

    private void CheckAll()
    {
        try
        {
            screens.Check();
            SendOn();
            if (notSent.Alarm?.Text is var trouble && trouble != shown)
            {
                shown = trouble;
                LookAgain();
            }
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            // The next second tries again: nothing may end this watch.
            logger.LogError(fault, "The alarms could not be watched.");
        }
    }

    private IEnumerable<Alarm> Due(BenchMoment view)
    {
        var now = clock.Now;
        return view.View.Alarms.Where(alarm => !host.Withholds(alarm))
            // That something could not be sent on is not sent on, and what has passed has been.
            .Concat(host.Of(view.State).Where(one => one.Ended is null && one.Alarm.Key.Kind != AlarmKind.NotSentOn)
                .Select(one => one.Alarm))
            .Where(alarm => alarm.StandsAt(now) && !alarm.Acknowledged && alarm.EscalatesAt <= now);
    }

    private void LookAgain()
    {
        foreach (var runner in benches.All)
            runner.LookAgain();
    }
}
