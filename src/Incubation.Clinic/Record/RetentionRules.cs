using Incubation.Bench;
using NodaTime;

namespace Incubation.Clinic.Record;

/// <summary>What the clinic's log asks before it records that something was erased, whoever asks for it.</summary>
public static class RetentionRules
{
    /// <summary>The least retention that can be set, in months: 42 CFR 493.1105 asks for two years.</summary>
    public const int LeastMonths = 24;

    /// <summary>The retention in force, in months, where this was set, or nothing: never less than the least.</summary>
    public static int MonthsOf(int? set) => Math.Max(LeastMonths, set ?? LeastMonths);

    /// <summary>Batches closed before this may go at an instant.</summary>
    /// <param name="now">The instant.</param>
    /// <param name="months">The retention in force, in months.</param>
    /// <param name="zone">The clinic's zone.</param>
    public static Instant ClosedBefore(Instant now, int months, DateTimeZone zone) =>
        now.InZone(zone).LocalDateTime.PlusMonths(-months).InZoneLeniently(zone).ToInstant();

    /// <summary>
    /// What speaks against an erasing, or null: it may not be earlier than the retention in force allows.
    /// </summary>
    /// <param name="erased">What is to be recorded.</param>
    /// <param name="provenance">When it arrives.</param>
    /// <param name="months">What the clinic has set, or null.</param>
    /// <param name="zone">The clinic's zone.</param>
    internal static ClinicObjection? Against(
        ClinicEvent.RecordErased erased, Provenance provenance, int? months, DateTimeZone zone)
    {
        var inForce = MonthsOf(months);
        return erased.Months < inForce || erased.ClosedBefore > ClosedBefore(provenance.Arrived, inForce, zone)
            ? new ClinicObjection(ClinicRefusal.RetentionNotOver, erased.Bench.Value)
            : null;
    }
}
