using System.Collections;
using System.Globalization;
using System.Resources;
using System.Text.Json;

namespace Incubation.Server.Pages.Bench;

/// <summary>
/// The words of the bench and wall screens. The screens' modules get them from the page as data, so that a translation
/// is a resource file and no code.
/// </summary>
public static class ScreenText
{
    /// <summary>A word in the present language; throws <see cref="ArgumentException"/> where there is none.</summary>
    public static string Get(string key) =>
        ScreenWords.ResourceManager.GetString(key, CultureInfo.CurrentUICulture)
            ?? throw new ArgumentException($"The screens have no word '{key}'.", nameof(key));

    /// <summary>
    /// All words of the present language as a JSON object, safe inside an HTML script element: the writer escapes
    /// '&lt;'.
    /// </summary>
    public static string Json() => Json(ScreenWords.ResourceManager);

    /// <summary>The same of another screen's words.</summary>
    internal static string Json(ResourceManager resources)
    {
        var words = new SortedDictionary<string, string?>(StringComparer.Ordinal);
        var neutral = resources.GetResourceSet(CultureInfo.InvariantCulture, createIfNotExists: true,
            tryParents: true)!;
        foreach (DictionaryEntry entry in neutral)
            words[(string)entry.Key] = resources.GetString((string)entry.Key, CultureInfo.CurrentUICulture);
        return JsonSerializer.Serialize(words);
    }
}
