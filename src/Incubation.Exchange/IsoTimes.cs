using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Exchange;

/// <summary>
/// Instants as the files write them: ISO 8601 in UTC with <c>Z</c>, whole seconds, or milliseconds where there are any.
/// </summary>
public static class IsoInstant
{
    private static readonly InstantPattern Seconds =
        InstantPattern.CreateWithInvariantCulture("uuuu-MM-dd'T'HH:mm:ss'Z'");
    private static readonly InstantPattern Milliseconds =
        InstantPattern.CreateWithInvariantCulture("uuuu-MM-dd'T'HH:mm:ss.fff'Z'");
    private static readonly InstantPattern Reading =
        InstantPattern.CreateWithInvariantCulture("uuuu-MM-dd'T'HH:mm:ss.FFF'Z'");

    /// <summary>
    /// Reads an instant; false where the text is none, has an offset, or is finer than a millisecond.
    /// </summary>
    public static bool TryParse(string text, out Instant instant) => Reading.Parse(text)
        .TryGetValue(default, out instant);

    /// <summary>
    /// Writes an instant; throws <see cref="ArgumentException"/> where it is finer than a millisecond.
    /// </summary>
    public static string Format(Instant instant)
    {
        if (Instant.FromUnixTimeMilliseconds(instant.ToUnixTimeMilliseconds()) != instant)
            throw new ArgumentException($"{InstantPattern.ExtendedIso.Format(instant)} is finer than a millisecond.",
                nameof(instant));
        return (instant.ToUnixTimeMilliseconds() % 1000 == 0 ? Seconds : Milliseconds).Format(instant);
    }
}

/// <summary>
/// Lengths as the files write them: ISO 8601 of days, hours, minutes and seconds, not negative: <c>PT1M30S</c>,
/// <c>PT0S</c>.
/// </summary>
public static partial class IsoDuration
{
    /// <summary>Reads a length, to the millisecond; false where the text is none, is negative or finer.</summary>
    public static bool TryParse(string text, out Duration length)
    {
        length = Duration.Zero;
        ArgumentNullException.ThrowIfNull(text);
        var match = Grammar().Match(text);
        if (!match.Success || text.EndsWith('P') || text.EndsWith('T'))
            return false;
        length = Duration.FromDays((int)Part(match, "days")) + Duration.FromHours((int)Part(match, "hours"))
            + Duration.FromMinutes(Part(match, "minutes")) + Duration.FromSeconds(Part(match, "seconds"))
            + Duration.FromMilliseconds(long.Parse(match.Groups["fraction"].Value.PadRight(3, '0'),
                CultureInfo.InvariantCulture));
        return true;
    }

    /// <summary>
    /// Writes a length; throws <see cref="ArgumentException"/> where it is negative or finer than a millisecond.
    /// </summary>
    public static string Format(Duration length)
    {
        var total = length.BclCompatibleTicks / NodaConstants.TicksPerMillisecond;
        if (length < Duration.Zero || Duration.FromMilliseconds(total) != length)
            throw new ArgumentException(
                $"{DurationPattern.Roundtrip.Format(length)} is negative or finer than a millisecond.", nameof(length));
        var (hours, minutes, seconds, milliseconds) = (total / 3_600_000, total / 60_000 % 60, total / 1000 % 60,
            total % 1000);
        var text = new StringBuilder("PT");
        if (hours > 0)
            text.Append(CultureInfo.InvariantCulture, $"{hours}H");
        if (minutes > 0)
            text.Append(CultureInfo.InvariantCulture, $"{minutes}M");
        if (milliseconds > 0)
            text.Append(CultureInfo.InvariantCulture, $"{seconds}.{milliseconds:000}S");
        else if (seconds > 0 || text.Length == 2)
            text.Append(CultureInfo.InvariantCulture, $"{seconds}S");
        return text.ToString();
    }

    private static long Part(Match match, string name) =>
        match.Groups[name].Success ? long.Parse(match.Groups[name].Value, CultureInfo.InvariantCulture) : 0;

    [GeneratedRegex(
        @"\AP(?:(?<days>[0-9]{1,5})D)?(?:T(?:(?<hours>[0-9]{1,6})H)?(?:(?<minutes>[0-9]{1,8})M)?"
        + @"(?:(?<seconds>[0-9]{1,10})(?:\.(?<fraction>[0-9]{1,3}))?S)?)?\z",
        RegexOptions.ExplicitCapture | RegexOptions.CultureInvariant)]
    private static partial Regex Grammar();
}
