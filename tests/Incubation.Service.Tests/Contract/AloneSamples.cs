using System.Text.Encodings.Web;
using System.Text.Json;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Service.Tests.Contract;

/// <summary>Writes samples of what a screen does without its server.</summary>
internal static class AloneSamples
{
    private static readonly JsonSerializerOptions Form = new JsonSerializerOptions(JsonSerializerDefaults.Web)
    {
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    }.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);

    /// <summary>
    /// Keeps the many samples of a long run beside the tests' own files; the modules' tests read them where the
    /// variable <c>INCUBATION_SAMPLES</c> names that folder.
    /// </summary>
    public static void KeepLong(string name, string lines) =>
        File.WriteAllText(Path.Combine(AppContext.BaseDirectory, name), lines);

    /// <summary>A list with one sample a line.</summary>
    public static string Lines<T>(IEnumerable<T> samples) =>
        "[\n" + string.Join(",\n", samples.Select(sample => JsonSerializer.Serialize(sample, Form))) + "\n]\n";
}
