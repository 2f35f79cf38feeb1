using Incubation.Bench;
using Incubation.Service.Clock;
using Incubation.Service.Text;

namespace Incubation.Service.Alarms;

/// <summary>What screens show while the time is in doubt.</summary>
internal static class ClockText
{
    /// <summary>The alarm on the clock, or null while the time is agreed.</summary>
    public static HostAlarm? Alarm(ClockFault? doubt) => doubt is null
        ? null
        : new HostAlarm(
            new Alarm(HostAlarm.KeyOf(AlarmKind.ClockInDoubt, doubt.Since), doubt.Since, null, null,
                Acknowledged: false),
            null, AlarmsWords.AlarmClock, Say.Of(AlarmsWords.AlarmClockText, doubt.Sentence));
}
