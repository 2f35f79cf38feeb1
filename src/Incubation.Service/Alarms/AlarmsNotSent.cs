using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Incubation.Service.People;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Alarms;

/// <summary>
/// Whether alarms wait in the outbox and cannot be sent: then every bench is told, for somebody counts on them.
/// </summary>
public sealed class AlarmsNotSent(ClinicHost clinic, OutboxSender sender, BenchClock clock,
    [FromKeyedServices(Sessions.RealTime)] TimeProvider real)
{
    /// <summary>A destination that fails for so long fails; shorter is a restart of it.</summary>
    public static readonly Duration Patience = Duration.FromMinutes(2);

    private HostAlarm? last;

    /// <summary>Stands while a destination of alarms takes none, or is switched off, and alarms wait for it.</summary>
    public HostAlarm? Alarm
    {
        get
        {
            var now = Instant.FromDateTimeOffset(real.GetUtcNow());
            var trouble = clinic.Log.Connections.InUse
                .Where(one => one.Destination.Topics.Contains(NoticeTopic.Alarms))
                .Select(one => TroubleOf(one, sender.FiguresOf(one.Id), now)).FirstOrDefault(one => one is not null);
            if (trouble is null)
                return last = null;
            var since = last?.Alarm.From ?? clock.Now;
            return last = new HostAlarm(new Alarm(HostAlarm.KeyOf(AlarmKind.NotSentOn, since), since, null, null,
                Acknowledged: false), null, AlarmsWords.AlarmNotSentOn,
                Say.Of(AlarmsWords.AlarmNotSentOnText, trouble));
        }
    }

    private static string? TroubleOf(Connection connection, DestinationFigures figures, Instant now) =>
        figures is { Waiting: 0, ParkedCount: 0 } ? null
        : connection.WhyOff is not null ? Say.Of(AlarmsWords.DestinationOff, connection.Destination.Name)
        : figures is { FailingSince: { } since, Trouble: { } trouble } && now - since > Patience
            ? Say.Of(AlarmsWords.DestinationFails, connection.Destination.Name, trouble)
        : figures.Parked.Any(one => one.Kind == NoticeKind.Alarm)
            ? Say.Of(AlarmsWords.DestinationRefused, connection.Destination.Name) : null;
}
