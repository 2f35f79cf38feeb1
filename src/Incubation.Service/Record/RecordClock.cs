using System.Globalization;
using Incubation.Model;
using NodaTime;

namespace Incubation.Service.Record;

/// <summary>
/// Clock times of a record in the clinic's zone. Each carries its offset from UTC where clocks were changed among the
/// times shown, so that the hour that comes twice in autumn reads right; else the offset stands once for all.
/// </summary>
public sealed class RecordClock
{
    private readonly DateTimeZone zone;

    /// <summary>The clock for a record whose times lie between these.</summary>
    public RecordClock(DateTimeZone zone, IEnumerable<Instant> times)
    {
        ArgumentNullException.ThrowIfNull(zone);
        this.zone = zone;
        var all = times.ToList();
        Day = all.Count == 0 ? null : all.Min().Local(zone).Date;
        var offsets = all.Select(zone.GetUtcOffset).Distinct().ToList();
        Offset = offsets.Count == 1 ? offsets[0] : null;
    }

    /// <summary>The first day, or null without times.</summary>
    public LocalDate? Day { get; }

    /// <summary>The one offset of all times; null where they differ.</summary>
    public Offset? Offset { get; }

    /// <summary>A time with its date and offset: "2026-10-25 02:30:00 +01:00".</summary>
    public static string Full(Instant at, DateTimeZone zone)
    {
        var local = at.Local(zone);
        return local.LocalDateTime.ToString("uuuu-MM-dd HH:mm:ss", CultureInfo.InvariantCulture) + " "
            + Text(local.Offset);
    }

    /// <summary>An offset: "+01:00".</summary>
    public static string Text(Offset offset) => offset.ToString("+HH:mm", CultureInfo.InvariantCulture);

    /// <summary>
    /// A clock time: with its date on another day than the first, with its offset where offsets differ.
    /// </summary>
    public string At(Instant at)
    {
        var local = at.Local(zone);
        var time = local.TimeOfDay.ToString("HH:mm:ss", CultureInfo.InvariantCulture);
        var day = local.Date == Day ? "" : local.Date.ToString("uuuu-MM-dd ", CultureInfo.InvariantCulture);
        return day + time + (Offset is null ? " " + Text(local.Offset) : "");
    }

    /// <summary>The same; empty for null.</summary>
    public string At(Instant? at) => at is { } known ? At(known) : "";

    /// <summary>One time, or two where they differ to the second.</summary>
    public string Between(Instant? from, Instant? to) => (from, to) switch
    {
        (null, null) => "",
        ({ } one, null) => At(one),
        (null, { } one) => At(one),
        ({ } one, { } other) => At(one) == At(other)
            ? At(one) : Service.Text.Say.Of(RecordWords.Between, At(one), At(other)),
    };
}
