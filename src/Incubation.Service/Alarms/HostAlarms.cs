using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Clock;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Alarms;

/// <summary>An alarm that no event of a bench raises, but this server.</summary>
/// <param name="Alarm">The alarm; its key names the occurrence by the instant since when it stands.</param>
/// <param name="Ended">When its cause passed, where it stands on until somebody has seen that; else null.</param>
/// <param name="Title">What it says.</param>
/// <param name="Text">What to do.</param>
public sealed record HostAlarm(Alarm Alarm, Instant? Ended, string Title, string Text)
{
    /// <summary>Names an occurrence.</summary>
    public static AlarmKey KeyOf(AlarmKind kind, Instant since) =>
        new(kind, new RequestId(InstantPattern.ExtendedIso.Format(since)));
}

/// <summary>The alarms that no event of a bench raises.</summary>
public interface IHostAlarms
{
    /// <summary>Those that stand at a bench.</summary>
    IReadOnlyList<HostAlarm> Of(BenchState state);

    /// <summary>
    /// Whether an alarm of a bench is not to be shown: while the time is in doubt, nothing is called lost by it.
    /// </summary>
    bool Withholds(Alarm alarm);
}

/// <summary>None at all: of a bench that is only looked back at.</summary>
public sealed class NoHostAlarms : IHostAlarms
{
    /// <inheritdoc/>
    public IReadOnlyList<HostAlarm> Of(BenchState state) => [];

    /// <inheritdoc/>
    public bool Withholds(Alarm alarm) => false;
}

/// <summary>The alarms of this server at a bench: its clock, its screens, its way to others.</summary>
public sealed class HostAlarms(ScreenWatch screens, Webhook webhook, AlarmsNotSent notSent, ClockGuard guard)
    : IHostAlarms
{
    /// <inheritdoc/>
    public IReadOnlyList<HostAlarm> Of(BenchState state)
    {
        ArgumentNullException.ThrowIfNull(state);
        HostAlarm?[] all = [ClockText.Alarm(guard.Doubt), screens.AlarmOf(state.Id),
            webhook.Alarm ?? notSent.Alarm];
        return
        [
            .. all.OfType<HostAlarm>()
                .Select(one =>
                    one with { Alarm = one.Alarm with { Acknowledged = state.Acknowledged.Contains(one.Alarm.Key) } })
                // What has passed, or can only be told, is over once somebody has seen it.
                .Where(one => !one.Alarm.Acknowledged
                    || (one.Ended is null && one.Alarm.Key.Kind != AlarmKind.NotSentOn)),
        ];
    }

    /// <inheritdoc/>
    public bool Withholds(Alarm alarm)
    {
        ArgumentNullException.ThrowIfNull(alarm);
        return guard.Doubt is not null && alarm.Key.Kind != AlarmKind.CartridgeAstray
            && Conditions.Of(alarm.Key.Kind).Actions.Contains(AlarmAction.Discard);
    }
}
