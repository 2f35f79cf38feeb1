using System.Text.Json;
using System.Text.Json.Serialization;
using Incubation.Bench;
using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Records.Events;

/// <summary>
/// A length as an ISO 8601 duration, exact to the nanosecond: <c>PT1M30S</c>, <c>PT0.25S</c>. Days are 24 hours; months
/// and years have no fixed length and are refused.
/// </summary>
internal sealed class IsoDurationConverter : JsonConverter<Duration>
{
    public override Duration Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        var text = reader.GetString() ?? throw new JsonException("A length is missing.");
        if (PlainLength.TryRead(text, out var plain))
            return plain;
        var period = PeriodPattern.NormalizingIso.Parse(text);
        if (!period.Success || period.Value.Months != 0 || period.Value.Years != 0)
            throw new JsonException($"'{text}' is no ISO 8601 duration of a fixed length.");
        return period.Value.ToDuration();
    }

    public override void Write(Utf8JsonWriter writer, Duration value, JsonSerializerOptions options) =>
        writer.WriteStringValue(value == Duration.Zero
            ? "PT0S"
            : PeriodPattern.NormalizingIso.Format(Period.FromNanoseconds(value.ToInt64Nanoseconds())));
}

/// <summary>An interval of instants as an object with both ends; both are required.</summary>
internal sealed class InstantRangeConverter : JsonConverter<InstantRange>
{
    private sealed record Ends(Instant Earliest, Instant Latest);

    public override InstantRange Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        var ends = JsonSerializer.Deserialize<Ends>(ref reader, options)
            ?? throw new JsonException("An interval is missing.");
        return new InstantRange(ends.Earliest, ends.Latest);
    }

    public override void Write(Utf8JsonWriter writer, InstantRange value, JsonSerializerOptions options) =>
        JsonSerializer.Serialize(writer, new Ends(value.Earliest, value.Latest), options);
}

/// <summary>Every identifier as its text or number alone.</summary>
internal sealed class IdConverterFactory : JsonConverterFactory
{
    public override bool CanConvert(Type typeToConvert) => ConverterOf(typeToConvert) is not null;

    public override JsonConverter CreateConverter(Type typeToConvert, JsonSerializerOptions options) =>
        (JsonConverter)Activator.CreateInstance(ConverterOf(typeToConvert)!.MakeGenericType(typeToConvert))!;

    private static Type? ConverterOf(Type type)
    {
        if (!type.IsValueType)
            return null;
        foreach (var candidate in type.GetInterfaces())
        {
            if (!candidate.IsGenericType)
                continue;
            if (candidate.GetGenericTypeDefinition() == typeof(ITextId<>))
                return typeof(TextIdConverter<>);
            if (candidate.GetGenericTypeDefinition() == typeof(INumberId<>))
                return typeof(NumberIdConverter<>);
        }
        return null;
    }
}

internal sealed class TextIdConverter<T> : JsonConverter<T>
    where T : struct, ITextId<T>
{
    public override T Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        try
        {
            return T.Of(reader.GetString()!);
        }
        catch (Exception e) when (e is ArgumentException or InvalidOperationException)
        {
            throw new JsonException(e.Message, e);
        }
    }

    public override void Write(Utf8JsonWriter writer, T value, JsonSerializerOptions options) =>
        writer.WriteStringValue(value.Value);
}

internal sealed class NumberIdConverter<T> : JsonConverter<T>
    where T : struct, INumberId<T>
{
    public override T Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        try
        {
            return T.Of(reader.GetInt32());
        }
        catch (Exception e) when (e is ArgumentException or InvalidOperationException or FormatException)
        {
            throw new JsonException(e.Message, e);
        }
    }

    public override void Write(Utf8JsonWriter writer, T value, JsonSerializerOptions options) =>
        writer.WriteNumberValue(value.Value);
}

/// <summary>A converter that writes a value as another, which has the names on disk.</summary>
internal interface IWrittenAs
{
    /// <summary>What has the names on disk.</summary>
    Type Form { get; }
}

/// <summary>A value that is written as another that has the names on disk.</summary>
internal sealed class WrittenAs<T, TForm>(Func<T, TForm> write, Func<TForm, T> read) : JsonConverter<T>, IWrittenAs
    where T : class
    where TForm : class
{
    /// <inheritdoc/>
    public Type Form => typeof(TForm);

    public override T Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
        read(JsonSerializer.Deserialize<TForm>(ref reader, options) ?? throw new JsonException("A value is missing."));

    public override void Write(Utf8JsonWriter writer, T value, JsonSerializerOptions options) =>
        JsonSerializer.Serialize(writer, write(value), options);
}

/// <summary>A time during which something cannot be used, as it is written.</summary>
internal sealed record CalendarEntryForm(ResourceKind Resource, int? Number, Instant From, Instant To, string? Why)
{
    public static CalendarEntryForm Of(CalendarEntry entry) =>
        new(entry.Resource.Parts.Kind, entry.Resource.Parts.Number, entry.From, entry.To, entry.Why);

    public CalendarEntry Read() => new(new ResourceForm(Resource, Number).Named(), From, To, Why);
}

/// <summary>What is in use again, as it is written.</summary>
internal sealed record ResourceForm(ResourceKind Resource, int? Number)
{
    public static ResourceForm Of(BenchEvent.PutBackInUse put) =>
        new(put.Resource.Parts.Kind, put.Resource.Parts.Number);

    public BenchEvent.PutBackInUse Read() => new(Named());

    public BenchResource Named() => BenchResource.Of(Resource, Number)
        ?? throw new JsonException($"There is no {Resource} {Number}.");
}
