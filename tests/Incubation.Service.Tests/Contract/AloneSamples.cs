using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;
using Incubation.TestKit;
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
    /// The seeds of so many samples: from 1 on, but for a long run from where <c>INCUBATION_SEED</c> says.
    /// </summary>
    public static IEnumerable<ulong> Seeds(int many)
    {
        var first = CaseCount.IsLong ? ulong.Parse(Environment.GetEnvironmentVariable("INCUBATION_SEED") ?? "1",
            CultureInfo.InvariantCulture) : 1;
        return Enumerable.Range(0, many).Select(i => first + (ulong)i);
    }

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
