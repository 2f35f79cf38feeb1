using System.Globalization;
using Incubation.Exchange;
using NodaTime;

namespace Incubation.Cli;

/// <summary>Fills sentences in: instants and lengths as the files write them, numbers without a language.</summary>
internal static class Say
{
    public static string Text(string pattern, params object[] arguments) =>
        string.Format(CultureInfo.InvariantCulture, pattern, [.. arguments.Select(InWords)]);

    private static object InWords(object argument) => argument switch
    {
        // A file's own time, say, is finer than what is written.
        Instant instant => IsoInstant.Format(Instant.FromUnixTimeMilliseconds(instant.ToUnixTimeMilliseconds())),
        Duration length => IsoDuration.Format(length),
        double number => number.ToString("0.###", CultureInfo.InvariantCulture),
        _ => argument,
    };
}
