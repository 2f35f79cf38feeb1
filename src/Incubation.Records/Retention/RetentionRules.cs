using Incubation.Bench;
using Incubation.Records.Clinic;
using NodaTime;

namespace Incubation.Records.Retention;

/// <summary>What the clinic's log asks before it records that something was erased, whoever asks for it.</summary>
internal static class RetentionRules
{
    /// <summary>What speaks against an erasing, or null: it may not be earlier than the retention in force allows.</summary>
    /// <param name="erased">What is to be recorded.</param>
    /// <param name="touch">When it arrives.</param>
    /// <param name="months">What the clinic has set, or null.</param>
    /// <param name="zone">The clinic's zone.</param>
    public static ClinicObjection? Against(ClinicEvent.RecordErased erased, Touch touch, int? months, DateTimeZone zone)
    {
        var inForce = RecordRetention.MonthsOf(months);
        return erased.Months < inForce || erased.ClosedBefore > RecordRetention.ClosedBefore(touch.Arrived, inForce, zone)
            ? new ClinicObjection(ClinicRefusal.RetentionNotOver, erased.Bench.Value)
            : null;
    }
}
