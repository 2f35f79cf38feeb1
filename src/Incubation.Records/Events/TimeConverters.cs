using System.Text.Json;
using System.Text.Json.Serialization;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Records.Events;

/// <summary>
/// Instants as ISO 8601 in UTC, exact to the nanosecond. A long log holds millions of them in its plans: the usual
/// forms are read by the JSON reader itself, every other by the pattern that wrote them.
/// </summary>
internal sealed class InstantConverter : JsonConverter<Instant>
{
    /// <summary>"2026-03-02T08:00:00Z".</summary>
    private const int Shortest = 20;

    /// <summary>With seven decimals, as exact as the reader's own type.</summary>
    private const int Longest = Shortest + 8;

    public override Instant Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        if (reader is { TokenType: JsonTokenType.String, HasValueSequence: false, ValueIsEscaped: false }
            && reader.ValueSpan is { Length: >= Shortest and <= Longest } text
            && text[10] == 'T' && text[16] == ':' && text[^1] == 'Z'
            && reader.TryGetDateTimeOffset(out var at))
            return Instant.FromDateTimeOffset(at);
        return NodaConverters.InstantConverter.Read(ref reader, typeToConvert, options);
    }

    public override void Write(Utf8JsonWriter writer, Instant value, JsonSerializerOptions options) =>
        NodaConverters.InstantConverter.Write(writer, value, options);
}

/// <summary>Reads the commonest lengths, whole hours, minutes and seconds, without a pattern.</summary>
internal static class PlainLength
{
    private const long MaxOfAPart = 1_000_000;

    /// <summary>
    /// A length like PT1H2M3S with at least one part, each at most once and in this order; false for every other text.
    /// </summary>
    public static bool TryRead(string text, out Duration length)
    {
        length = Duration.Zero;
        if (text.Length < 4 || !text.StartsWith("PT", StringComparison.Ordinal))
            return false;
        var (seconds, part, next) = (0L, 0L, 0);
        var digits = 0;
        for (var at = 2; at < text.Length; at++)
        {
            if (char.IsAsciiDigit(text[at]) && part < MaxOfAPart)
            {
                part = (part * 10) + (text[at] - '0');
                digits++;
                continue;
            }
            var unit = "HMS".IndexOf(text[at], StringComparison.Ordinal);
            if (unit < next || digits == 0)
                return false;
            seconds += part * (unit == 0 ? 3600 : unit == 1 ? 60 : 1);
            (part, digits, next) = (0, 0, unit + 1);
        }
        length = Duration.FromSeconds(seconds);
        return digits == 0;
    }
}
