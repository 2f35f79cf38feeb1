using System.Globalization;
using Incubation.Server.Parts;

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

    /// <inheritdoc cref="PageWords.Json"/>
    public static string Json() => PageWords.Json(ScreenWords.ResourceManager);
}
