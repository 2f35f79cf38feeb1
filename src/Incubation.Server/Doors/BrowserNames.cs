namespace Incubation.Server.Doors;

/// <summary>
/// Names a browser and its system in words of our own, so that people know their sign-ins apart; what it says of itself
/// is kept nowhere.
/// </summary>
internal static class BrowserNames
{
    // The first that is found: those that are built on another one name that too.
    private static readonly (string Token, string Name)[] Browsers =
    [
        ("Edg", "Edge"), ("OPR/", "Opera"), ("Vivaldi/", "Vivaldi"), ("SamsungBrowser/", "Samsung Internet"),
        ("Firefox/", "Firefox"), ("FxiOS/", "Firefox"), ("CriOS/", "Chrome"), ("Chrome/", "Chrome"),
        ("Safari/", "Safari"),
    ];

    private static readonly (string Token, string Name)[] Systems =
    [
        ("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("CrOS", "ChromeOS"), ("Windows", "Windows"),
        ("Macintosh", "macOS"), ("Linux", "Linux"),
    ];

    /// <summary>The browser and its system; null where neither is known.</summary>
    public static string? Of(HttpRequest request)
    {
        var said = request.Headers.UserAgent.ToString();
        return (Known(Browsers, said), Known(Systems, said)) switch
        {
            (null, null) => null,
            ({ } browser, { } system) => Service.Text.Say.Of(DoorWords.BrowserOnSystem, browser, system),
            var (browser, system) => browser ?? system,
        };
    }

    private static string? Known((string Token, string Name)[] names, string said) =>
        names.FirstOrDefault(one => said.Contains(one.Token, StringComparison.Ordinal)).Name;
}
