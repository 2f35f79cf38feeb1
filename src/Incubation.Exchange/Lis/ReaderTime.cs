using System.Globalization;
using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Exchange.Lis;

/// <summary>A time by the clock of a reader, which says no zone, or an offset at most.</summary>
/// <param name="Text">As it came: YYYYMMDD, YYYYMMDDHHMM or YYYYMMDDHHMMSS, perhaps with +HHMM or -HHMM.</param>
/// <param name="Shown">What the clock showed; the beginning, where only a day or a minute is said.</param>
/// <param name="At">When that was, if the clock is right: an interval where only a day or a minute is said, and in the
/// hour that a zone has twice or not at all.</param>
public sealed record ReaderTime(string Text, LocalDateTime Shown, InstantRange At)
{
    private static readonly LocalDateTimePattern Second = Pattern("uuuuMMddHHmmss");

    private static readonly (int Length, LocalDateTimePattern Pattern, Period Span)[] Forms =
    [
        (14, Second, Period.Zero),
        (12, Pattern("uuuuMMddHHmm"), Period.FromSeconds(59)),
        (8, Pattern("uuuuMMdd"), Period.FromHours(24) - Period.FromSeconds(1)),
    ];

    private static readonly OffsetPattern OffsetForm = OffsetPattern.CreateWithInvariantCulture("+HHmm");

    /// <summary>Reads a time; null where it is none, or lies before 1990 or after 2199.</summary>
    /// <param name="text">As it came.</param>
    /// <param name="zone">In which the reader's clock is set.</param>
    public static ReaderTime? Read(string text, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(text);
        ArgumentNullException.ThrowIfNull(zone);
        var sign = text.IndexOfAny(['+', '-']);
        var digits = sign < 0 ? text : text[..sign];
        var form = Array.Find(Forms, form => form.Length == digits.Length);
        if (form.Pattern is null || form.Pattern.Parse(digits) is not { Success: true, Value: var shown }
            || shown.Year is < 1990 or > 2199)
            return null;
        if (sign < 0)
            return new ReaderTime(text, shown, new InstantRange(
                EndsOf(shown, zone).Earliest, EndsOf(shown + form.Span, zone).Latest));
        return OffsetForm.Parse(text[sign..]) is { Success: true, Value: var offset }
            ? new ReaderTime(text, shown, new InstantRange(
                shown.WithOffset(offset).ToInstant(), (shown + form.Span).WithOffset(offset).ToInstant()))
            : null;
    }

    /// <summary>A time to the second, as a reader in that zone writes it.</summary>
    public static ReaderTime Of(Instant at, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(zone);
        return Read(Second.Format(at.InZone(zone).LocalDateTime), zone)
            ?? throw new ArgumentOutOfRangeException(nameof(at), at, "A reader's time lies between 1990 and 2199.");
    }

    private static InstantRange EndsOf(LocalDateTime local, DateTimeZone zone)
    {
        var mapping = zone.MapLocal(local);
        var one = local.WithOffset(mapping.EarlyInterval.WallOffset).ToInstant();
        var other = local.WithOffset(mapping.LateInterval.WallOffset).ToInstant();
        return new InstantRange(Instant.Min(one, other), Instant.Max(one, other));
    }

    private static LocalDateTimePattern Pattern(string text) =>
        LocalDateTimePattern.Create(text, CultureInfo.InvariantCulture);
}
