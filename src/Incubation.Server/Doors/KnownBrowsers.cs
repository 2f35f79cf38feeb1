using System.Security.Cryptography;
using Incubation.Model;
using Microsoft.AspNetCore.DataProtection;

namespace Incubation.Server.Doors;

/// <summary>
/// Knows browsers in which somebody has signed in before, by a name that nobody can invent: wrong tries of strangers
/// are counted apart from theirs, so that strangers cannot use them up.
/// </summary>
public sealed class KnownBrowsers(IDataProtectionProvider protection)
{
    private readonly IDataProtector seal = protection.CreateProtector("incubation browser");

    /// <summary>The browser's name in the log, or null where it is not known.</summary>
    public DeviceId? Of(HttpRequest request)
    {
        try
        {
            return Cookies.BrowserOf(request) is { Length: > 0 } cookie && seal.Unprotect(cookie) is var name
                && TextId.IsValid(name) ? new DeviceId(name) : null;
        }
        catch (CryptographicException)
        {
            return null;
        }
    }

    /// <summary>Lets a browser be known from now on.</summary>
    public void Remember(HttpContext context, DeviceId browser) =>
        Cookies.GiveBrowser(context, seal.Protect(browser.Value));
}
