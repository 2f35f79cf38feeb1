using System.Globalization;
using System.Text.RegularExpressions;
using Incubation.Exchange;
using NodaTime;

namespace Incubation.Service.Text;

/// <summary>What a plain number in a field for a length counts.</summary>
public enum LengthUnit
{
    Seconds,
    Minutes,
    Hours,
}

/// <summary>
/// A length as people type it, in whole seconds and at most a year: what was understood, or what is wrong with it.
/// </summary>
/// <param name="Length">The length; null where it was not understood.</param>
/// <param name="Fault">What is wrong, and what to type instead; null where it was understood.</param>
public readonly partial record struct TypedLength(Duration? Length, string? Fault)
{
    private static readonly Duration Longest = Duration.FromDays(366);

    /// <summary>
    /// Reads "20 s", "20s", "2 min", "3 minutes", "24 h", "1 h 30 min", "1.5 h", "1:30" (minutes and seconds),
    /// "24:00:00" (hours, minutes and seconds), an ISO 8601 duration as files have it, and a plain number in the
    /// field's own unit.
    /// </summary>
    /// <param name="text">What was typed; blanks round it are left out.</param>
    /// <param name="own">What a plain number counts; null where one is not taken.</param>
    public static TypedLength Read(string? text, LengthUnit? own)
    {
        var typed = text?.Trim() ?? "";
        if (TypedNumber.HasOtherDigits(typed))
            return Wrong(TextWords.ValueOtherDigits);
        if (typed.StartsWith('P'))
            return IsoDuration.TryParse(typed, out var iso) ? Bounded(iso) : Wrong(TypedWords.TypedLength);
        if (Colons().Match(typed) is { Success: true } clock)
            return Bounded(Duration.FromSeconds(clock.Groups[1].Captures.Concat(clock.Groups[2].Captures)
                .Aggregate(0L, (sum, part) => (sum * 60) + long.Parse(part.Value, CultureInfo.InvariantCulture))));
        if (Parts().Match(typed) is { Success: true } parts)
            return OfParts(parts);
        var number = TypedNumber.Read(typed);
        return number.Value is { } value && own is { } unit && value >= 0
            ? OfSeconds(value, SecondsOf(unit))
            : Wrong(number.FaultOr(TypedWords.TypedLength));
    }

    /// <summary>
    /// A length as forms print it: minutes and seconds, with hours where there are any; 0:50, 15:00, 24:00:00.
    /// </summary>
    public static string Format(Duration length)
    {
        var hours = (long)length.TotalHours;
        return hours > 0
            ? string.Create(CultureInfo.InvariantCulture, $"{hours}:{length.Minutes:00}:{length.Seconds:00}")
            : string.Create(CultureInfo.InvariantCulture, $"{length.Minutes}:{length.Seconds:00}");
    }

    /// <summary>A length with its units: 50 s, 2 min 30 s, 24 h, 10 d.</summary>
    public static string Write(Duration length)
    {
        var days = length >= Duration.FromDays(2) ? length.Days : 0;
        var hours = (long)length.TotalHours - (days * 24L);
        (long Count, string Words)[] parts =
        [
            (days, TypedWords.LengthDays), (hours, TypedWords.LengthHours), (length.Minutes, TypedWords.LengthMinutes),
            (length.Seconds, TypedWords.LengthSeconds),
        ];
        var said = parts.Where(part => part.Count > 0).Select(part => Say.Of(part.Words, part.Count)).ToList();
        return said.Count > 0 ? string.Join(' ', said) : Say.Of(TypedWords.LengthSeconds, 0);
    }

    /// <summary>What to show beside a field: the length as it was understood; null where it was not.</summary>
    public static string? Understood(string? text, LengthUnit own) =>
        Read(text, own).Length is { } length ? Say.Of(TypedWords.Understood, Write(length)) : null;

    /// <summary>
    /// A length in whole seconds within bounds, for a field that counts in seconds; null where it is none.
    /// </summary>
    /// <param name="text">What was typed.</param>
    /// <param name="most">The most seconds that are allowed.</param>
    /// <param name="fault">What is wrong, or null.</param>
    public static Duration? Seconds(string? text, int most, out string? fault)
    {
        var read = Read(text, LengthUnit.Seconds);
        fault = read.Fault
            ?? (read.Length > Duration.FromSeconds(most) ? Say.Of(TypedWords.TypedLengthMost, most) : null);
        return fault is null ? read.Length : null;
    }

    private static TypedLength OfParts(Match parts)
    {
        var sum = 0m;
        foreach (var (name, seconds) in new[] { ("d", 86_400), ("h", 3_600), ("m", 60), ("s", 1) })
        {
            if (!parts.Groups[name].Success)
                continue;
            var number = TypedNumber.Read(parts.Groups[name].Value);
            if (number.Value is not { } value)
                return Wrong(number.Fault!);
            if (value > Bound(seconds))
                return Wrong(TypedWords.TypedLengthLong);
            sum += value * seconds;
        }

        return OfSeconds(sum, 1);
    }

    private static TypedLength OfSeconds(decimal count, int each)
    {
        if (count > Bound(each))
            return Wrong(TypedWords.TypedLengthLong);
        var seconds = count * each;
        return seconds == decimal.Truncate(seconds)
            ? Bounded(Duration.FromSeconds((long)seconds)) : Wrong(TypedWords.TypedLengthPart);
    }

    private static decimal Bound(int each) => (decimal)Longest.TotalSeconds / each;

    private static TypedLength Bounded(Duration length) =>
        length > Longest ? Wrong(TypedWords.TypedLengthLong)
        : length.SubsecondTicks != 0 ? Wrong(TypedWords.TypedLengthPart) : new TypedLength(length, null);

    private static int SecondsOf(LengthUnit unit) => unit switch
    {
        LengthUnit.Hours => 3_600,
        LengthUnit.Minutes => 60,
        _ => 1,
    };

    private static TypedLength Wrong(string sentence) => new(null, sentence);

    [GeneratedRegex("^([0-9]{1,5})(?::([0-5]?[0-9])){1,2}$", RegexOptions.CultureInvariant)]
    private static partial Regex Colons();

    [GeneratedRegex(
        @"^(?=[0-9.,])(?:(?<d>[0-9.,]+)\s*(?:d|days?)(?![a-z])\.?\s*)?"
        + @"(?:(?<h>[0-9.,]+)\s*(?:h|hrs?|hours?)(?![a-z])\.?\s*)?"
        + @"(?:(?<m>[0-9.,]+)\s*(?:m|mins?|minutes?)(?![a-z])\.?\s*)?"
        + @"(?:(?<s>[0-9.,]+)\s*(?:s|secs?|seconds?)(?![a-z])\.?)?$"
        + @"(?<=[a-z]\.?\s*)",
        RegexOptions.CultureInvariant | RegexOptions.IgnoreCase)]
    private static partial Regex Parts();
}
