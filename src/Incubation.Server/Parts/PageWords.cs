using System.Collections;
using System.Globalization;
using System.Resources;
using System.Text.Json;

namespace Incubation.Server.Parts;

/// <summary>Words that a page's modules get from it as data.</summary>
internal static class PageWords
{
    /// <summary>
    /// All words of the present language as a JSON object, safe inside an HTML script element: the writer escapes
    /// '&lt;'.
    /// </summary>
    public static string Json(ResourceManager resources)
    {
        var words = new SortedDictionary<string, string?>(StringComparer.Ordinal);
        var neutral = resources.GetResourceSet(CultureInfo.InvariantCulture, createIfNotExists: true,
            tryParents: true)!;
        foreach (DictionaryEntry entry in neutral)
            words[(string)entry.Key] = resources.GetString((string)entry.Key, CultureInfo.CurrentUICulture);
        return JsonSerializer.Serialize(words);
    }
}
