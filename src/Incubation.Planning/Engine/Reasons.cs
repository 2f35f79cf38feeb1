using System.Globalization;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Planning.Engine;

/// <summary>Puts reasons into words.</summary>
internal static class Reasons
{
    private static readonly InstantPattern ToTheSecond = InstantPattern.CreateWithInvariantCulture("yyyy-MM-dd'T'HH:mm:ss'Z'");

    /// <summary>A sentence of Words.resx with its gaps filled.</summary>
    public static string With(string format, params object[] parts) => string.Format(CultureInfo.InvariantCulture, format, parts);

    /// <summary>An instant as the files write it, to the second.</summary>
    public static string Time(Instant instant) => ToTheSecond.Format(instant);
}
