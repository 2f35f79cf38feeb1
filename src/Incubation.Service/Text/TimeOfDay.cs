using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Text;

/// <summary>A time of day as a person types it.</summary>
public static class TimeOfDay
{
    private static readonly LocalTimePattern Typed = LocalTimePattern.CreateWithInvariantCulture("HH:mm");
    private static readonly LocalTimePattern TypedWithSeconds = LocalTimePattern.CreateWithInvariantCulture("HH:mm:ss");
    private static readonly LocalDateTimePattern DateAndTime =
        LocalDateTimePattern.CreateWithInvariantCulture("uuuu-MM-dd'T'HH:mm");
    // Blazor adds the seconds to what a field for date and time holds.
    private static readonly LocalDateTimePattern DateAndTimeWithSeconds =
        LocalDateTimePattern.CreateWithInvariantCulture("uuuu-MM-dd'T'HH:mm:ss");
    private static readonly Duration HalfDay = Duration.FromHours(12);

    /// <summary>
    /// The instant at which clocks in a zone show a date and time; null for none. False where the text is none.
    /// </summary>
    public static bool TryReadDateAndTime(string? text, DateTimeZone zone, out Instant? at)
    {
        at = null;
        if (string.IsNullOrWhiteSpace(text))
            return true;
        var read = DateAndTime.Parse(text);
        if (!read.Success)
            read = DateAndTimeWithSeconds.Parse(text);
        at = read.Success ? read.Value.InZoneLeniently(zone).ToInstant() : null;
        return read.Success;
    }

    /// <summary>As either of the two below is written.</summary>
    public static bool TryReadEither(string? text, Instant now, DateTimeZone zone, out Instant? at) =>
        TryRead(text, now, zone, out at) || TryReadDateAndTime(text, zone, out at);

    /// <summary>What <see cref="TryReadDateAndTime"/> reads as this instant, to the minute.</summary>
    public static string WriteDateAndTime(Instant at, DateTimeZone zone) =>
        DateAndTime.Format(at.InZone(zone).LocalDateTime);

    /// <summary>What <see cref="TryReadEither"/> reads as this instant, to the minute.</summary>
    public static string Write(Instant at, Instant now, DateTimeZone zone)
    {
        var local = at.InZone(zone).LocalDateTime;
        var minute = local.Date + new LocalTime(local.Hour, local.Minute);
        var time = Typed.Format(minute.TimeOfDay);
        return TryRead(time, now, zone, out var nearest) && nearest == minute.InZoneLeniently(zone).ToInstant()
            ? time : WriteDateAndTime(at, zone);
    }

    /// <summary>
    /// The instant nearest to now at which clocks in a zone show a time; null for no time. False where the text is no
    /// time.
    /// </summary>
    public static bool TryRead(string? text, Instant now, DateTimeZone zone, out Instant? at)
    {
        at = null;
        if (string.IsNullOrWhiteSpace(text))
            return true;
        var read = Typed.Parse(text);
        if (!read.Success)
            read = TypedWithSeconds.Parse(text);
        if (!read.Success)
            return false;
        var today = (now.InZone(zone).Date + read.Value).InZoneLeniently(zone).ToInstant();
        at = today < now - HalfDay ? today + Duration.FromDays(1) : today > now + HalfDay
            ? today - Duration.FromDays(1) : today;
        return true;
    }

    /// <summary>
    /// What to show beside a field for a time: on which day it was understood, with the time; null where it was not.
    /// </summary>
    public static string? Understood(string? text, Instant now, DateTimeZone zone)
    {
        if (!TryRead(text, now, zone, out var read) || read is not { } at)
            return null;
        var days = Period.DaysBetween(now.InZone(zone).Date, at.InZone(zone).Date);
        return Say.Of(TypedWords.Understood, Say.Of(
            days < 0 ? TypedWords.TimeYesterday : days > 0 ? TypedWords.TimeTomorrow : TypedWords.TimeToday,
            Say.Clock(at, zone)));
    }
}
