using Incubation.Clinic.People;
using Incubation.Service.People;

namespace Incubation.Server.Doors;

/// <summary>
/// The cookies: the token of a sign-in, the key of an enrolled device, and the name by which a browser is known.
/// Scripts cannot read them, other sites' posts do not carry them, and under TLS they bind themselves to this very host
/// (OWASP ASVS 5.0, 3.3.1 to 3.3.4).
/// </summary>
public static class Cookies
{
    private const string Session = "incubation";
    private const string Device = "incubation-device";
    private const string Browser = "incubation-browser";

    /// <summary>The longest that browsers keep a cookie: 400 days (RFC 6265bis).</summary>
    private static readonly TimeSpan LongestLife = TimeSpan.FromDays(400);

    /// <summary>The token of the sign-in, or null.</summary>
    public static string? SessionOf(HttpRequest request) => request.Cookies[Name(Session, request)];

    /// <summary>
    /// Ends the sign-in that a browser presents, where another one or a device's key takes its place.
    /// </summary>
    public static void EndPresented(this Sessions sessions, HttpRequest request)
    {
        ArgumentNullException.ThrowIfNull(sessions);
        if (SessionOf(request) is { } token)
            sessions.End(Tokens.Hash(token), SignOutCause.Switched);
    }

    /// <summary>The key of the enrolled device, or null.</summary>
    public static string? DeviceOf(HttpRequest request) => request.Cookies[Name(Device, request)];

    /// <summary>Gives the browser the token of a sign-in: until it is closed, or the server ends the sign-in.</summary>
    public static void GiveSession(HttpContext context, string token) =>
        context.Response.Cookies.Append(Name(Session, context.Request), token, Options(context.Request));

    /// <summary>Gives a device its key.</summary>
    public static void GiveDevice(HttpContext context, string key)
    {
        var options = Options(context.Request);
        options.MaxAge = LongestLife;
        context.Response.Cookies.Append(Name(Device, context.Request), key, options);
    }

    /// <summary>The sealed name of a browser, or null.</summary>
    public static string? BrowserOf(HttpRequest request) => request.Cookies[Name(Browser, request)];

    /// <summary>Gives a browser in which somebody has signed in its sealed name.</summary>
    public static void GiveBrowser(HttpContext context, string sealedName)
    {
        var options = Options(context.Request);
        options.MaxAge = LongestLife;
        context.Response.Cookies.Append(Name(Browser, context.Request), sealedName, options);
    }

    /// <summary>Takes the token of the sign-in away.</summary>
    public static void TakeSession(HttpContext context) =>
        context.Response.Cookies.Delete(Name(Session, context.Request), Options(context.Request));

    /// <summary>
    /// A cookie's name: under TLS with the prefix that forbids a domain, another path and plain HTTP.
    /// </summary>
    public static string Name(string name, bool isTls) => isTls ? "__Host-" + name : name;

    private static string Name(string name, HttpRequest request) => Name(name, request.IsHttps);

    private static CookieOptions Options(HttpRequest request) => new()
    {
        HttpOnly = true,
        Secure = request.IsHttps,
        SameSite = SameSiteMode.Lax,
        Path = "/",
        IsEssential = true,
    };
}
