using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Model;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage.ValueConversion;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Records.Storage;

internal sealed class InstantColumn() : ValueConverter<Instant, long>(
    instant => Nanoseconds.Of(instant), number => Nanoseconds.ToInstant(number));

internal sealed class DurationColumn() : ValueConverter<Duration, long>(
    duration => Nanoseconds.Of(duration), number => Duration.FromNanoseconds(number));

internal sealed class LocalDateColumn() : ValueConverter<LocalDate, string>(
    date => LocalDatePattern.Iso.Format(date), text => LocalDatePattern.Iso.Parse(text).Value);

internal sealed class TextIdColumn<T>() : ValueConverter<T, string>(id => id.Value, text => Make(text))
    where T : struct, ITextId<T>
{
    // An expression tree may not call a static abstract member itself.
    private static T Make(string text) => T.Of(text);
}

/// <summary>How the types of the trade lie in columns.</summary>
internal static class Conversions
{
    /// <summary>
    /// Instants and lengths as whole nanoseconds, dates as ISO text, identifiers and choices as text.
    /// </summary>
    public static void Configure(ModelConfigurationBuilder configuration)
    {
        configuration.Properties<Instant>().HaveConversion<InstantColumn>();
        configuration.Properties<Duration>().HaveConversion<DurationColumn>();
        configuration.Properties<LocalDate>().HaveConversion<LocalDateColumn>();
        configuration.Properties<RequestId>().HaveConversion<TextIdColumn<RequestId>>();
        configuration.Properties<SpecimenId>().HaveConversion<TextIdColumn<SpecimenId>>();
        configuration.Properties<AssayCode>().HaveConversion<TextIdColumn<AssayCode>>();
        configuration.Properties<LotCode>().HaveConversion<TextIdColumn<LotCode>>();
        configuration.Properties<BenchId>().HaveConversion<TextIdColumn<BenchId>>();
        configuration.Properties<IncubationPlace>().HaveConversion<string>();
        configuration.Properties<RequestKind>().HaveConversion<string>();
        configuration.Properties<Priority>().HaveConversion<string>();
        configuration.Properties<SecretKind>().HaveConversion<string>();
        configuration.Properties<SignInWay>().HaveConversion<string>();
        configuration.Properties<NoticeKind>().HaveConversion<string>();
        configuration.Properties<DeliveryStatus>().HaveConversion<string>();
    }
}
