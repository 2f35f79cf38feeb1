using System.Globalization;

namespace Incubation.Records;

/// <summary>A sentence for people out of its words and the things that it is about.</summary>
internal static class Sentence
{
    public static string Of(string words, params object?[] things) =>
        string.Format(CultureInfo.CurrentCulture, words, things);
}
