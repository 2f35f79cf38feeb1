using System.Security.Cryptography;
using System.Text;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Model;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using NodaTime.Text;

namespace Incubation.Service.Connections;

/// <summary>
/// Puts alarms that nobody has seen into the outbox, each once, also over a restart. Where the log cannot be written
/// there is no outbox either: then it is tried again while the alarm stands.
/// </summary>
public sealed class AlarmNotices(ClinicHost clinic, BenchClock clock, ILogger<AlarmNotices> logger)
{
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId Through = new("server");

    /// <summary>Puts an alarm in, where any destination is told of alarms.</summary>
    /// <param name="bench">The bench.</param>
    /// <param name="alarm">The alarm.</param>
    /// <param name="place">"slot 3", "the reader", or null.</param>
    /// <returns>Whether there is no need to ask again.</returns>
    public bool Put(BenchId bench, Alarm alarm, string? place)
    {
        ArgumentNullException.ThrowIfNull(alarm);
        if (clinic.Log.Connections.InUse.All(one => !one.Destination.Topics.Contains(NoticeTopic.Alarms)))
            return true;
        var now = clock.Now;
        var name = Encoding.UTF8.GetBytes($"{bench}\n{KebabCase.Of(alarm.Key.Kind)}\n{alarm.Key.Request}\n"
            + InstantPattern.ExtendedIso.Format(alarm.From));
        var id = new ReportId("alarm-" + Convert.ToHexStringLower(SHA256.HashData(name).AsSpan(0, 16)));
        try
        {
            clinic.Log.Record(new ClinicEvent.AlarmNoticed(bench, alarm.Key.Kind, place, alarm.From, alarm.Deadline),
                new Provenance(id, now, now, Itself, Through));
            return true;
        }
        catch (AppendException fault)
        {
            logger.LogError(fault, "An alarm of bench {Bench} could not be put into the outbox.", bench);
            return false;
        }
    }
}
