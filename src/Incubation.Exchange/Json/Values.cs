using System.Globalization;
using Incubation.Model;
using NodaTime;

namespace Incubation.Exchange.Json;

/// <summary>Reads single values; each says what is wrong with an item and what is allowed.</summary>
internal static class Values
{
    /// <summary>The longest that a step, a window or an incubation can sensibly last.</summary>
    public static readonly Duration LongestLength = Duration.FromHours(24);

    private static readonly Instant EarliestInstant = NodaTime.Instant.FromUtc(2000, 1, 1, 0, 0);
    private static readonly Instant LatestInstant = NodaTime.Instant.FromUtc(2200, 1, 1, 0, 0);

    public static T? Id<T>(JsonItem item, FaultList faults)
        where T : struct, ITextId<T>
    {
        // Ids and what refers to them are taken alike, in their normal form.
        if (item is JsonItem.Text text && Bounds.IsIdentifier(text.Value))
            return T.Of(Bounds.Normal(text.Value));
        faults.Add(item, What(item), FaultList.Text(Words.AllowedId, TextId.MaximumLength));
        return null;
    }

    /// <summary>Reads a number of hands, a slot or a reader, from 1 to what the bench has.</summary>
    public static ReadValue<T> Number<T>(int maximum)
        where T : struct, INumberId<T> =>
        (item, faults) => Integer(1, maximum)(item, faults) is { } value ? T.Of(value) : null;

    public static ReadValue<int> Integer(int minimum, int maximum) => (item, faults) =>
    {
        if (item is JsonItem.Number number
            && int.TryParse(number.Written, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out var value)
            && value >= minimum && value <= maximum)
            return value;
        faults.Add(item, What(item), maximum < minimum
            ? Words.AllowedNone : FaultList.Text(Words.AllowedInteger, minimum, maximum));
        return null;
    };

    public static ReadValue<double> Real(double minimum, double maximum) => (item, faults) =>
    {
        if (item is JsonItem.Number number
            && double.TryParse(number.Written, NumberStyles.Float, CultureInfo.InvariantCulture, out var value)
            && value >= minimum && value <= maximum)
            return value;
        faults.Add(item, What(item), FaultList.Text(Words.AllowedReal, minimum, maximum));
        return null;
    };

    public static bool? Truth(JsonItem item, FaultList faults)
    {
        if (item is JsonItem.Truth truth)
            return truth.Value;
        faults.Add(item, What(item), Words.KindTruth);
        return null;
    }

    /// <summary>Reads one of a few words.</summary>
    public static ReadValue<T> OneOf<T>(IReadOnlyDictionary<string, T> words)
        where T : struct => (item, faults) =>
    {
        if (item is JsonItem.Text text && words.TryGetValue(text.Value, out var value))
            return value;
        faults.Add(item, What(item), string.Join(", ", words.Keys));
        return null;
    };

    public static Instant? Instant(JsonItem item, FaultList faults)
    {
        if (item is JsonItem.Text text && IsoInstant.TryParse(text.Value, out var instant)
            && instant >= EarliestInstant && instant < LatestInstant)
            return instant;
        faults.Add(item, What(item), Words.AllowedInstant);
        return null;
    }

    /// <summary>A pair of instants, the earliest and the latest.</summary>
    public static InstantRange? Range(JsonItem item, FaultList faults)
    {
        if (item is not JsonItem.Array { Items.Count: 2 } pair)
        {
            faults.Add(item, What(item), Words.AllowedRange);
            return null;
        }
        var (earliest, latest) = (Instant(pair.Items[0], faults), Instant(pair.Items[1], faults));
        if (earliest is not { } from || latest is not { } to)
            return null;
        if (from <= to)
            return new InstantRange(from, to);
        faults.Add(item, Words.RangeReversed, Words.AllowedRange);
        return null;
    }

    /// <summary>A length of a day's steps: whole seconds, not negative, at most <see cref="LongestLength"/>.</summary>
    public static Duration? Length(JsonItem item, FaultList faults)
    {
        if (Exact(item) is { } length && length <= LongestLength
            && length.NanosecondOfDay % NodaConstants.NanosecondsPerSecond == 0)
            return length;
        faults.Add(item, What(item), Words.AllowedLength);
        return null;
    }

    /// <summary>A length that a plan adds up: to the millisecond, not negative.</summary>
    public static Duration? Sum(JsonItem item, FaultList faults)
    {
        if (Exact(item) is { } length)
            return length;
        faults.Add(item, What(item), Words.AllowedSum);
        return null;
    }

    /// <summary>A text of 1 to so many printable characters.</summary>
    public static string? Printable(JsonItem item, int maximumLength, FaultList faults)
    {
        if (item is JsonItem.Text { Value: { Length: > 0 } value } && value.Length <= maximumLength
            && Bounds.IsPrintable(value) && !string.IsNullOrWhiteSpace(value))
            return value;
        faults.Add(item, What(item), FaultList.Text(Words.AllowedText, maximumLength));
        return null;
    }

    private static Duration? Exact(JsonItem item) =>
        item is JsonItem.Text text && IsoDuration.TryParse(text.Value, out var length) ? length : null;

    /// <summary>What stands there instead, shortened.</summary>
    private static string What(JsonItem item)
    {
        const int longest = 64;
        var shown = item switch
        {
            JsonItem.Text text => $"\"{text.Value}\"",
            JsonItem.Number number => number.Written,
            JsonItem.Truth truth => truth.Value ? "true" : "false",
            _ => item.KindInWords,
        };
        shown = string.Concat(shown.Select(letter => char.IsControl(letter) ? ' ' : letter));
        return FaultList.Text(Words.CannotBe, shown.Length > longest ? shown[..longest] + "…" : shown);
    }
}
