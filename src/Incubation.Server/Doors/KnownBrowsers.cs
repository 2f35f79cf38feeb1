using System.Security.Cryptography;
using Incubation.Model;
using Incubation.Service.People;
using Microsoft.AspNetCore.DataProtection;

namespace Incubation.Server.Doors;

/// <summary>
/// Knows browsers in which somebody has signed in before, by a name that nobody can invent, and who that was: wrong
/// tries of strangers are counted apart from theirs, so that strangers cannot use them up.
/// </summary>
public sealed class KnownBrowsers(IDataProtectionProvider protection)
{
    /// <summary>So many people are known in one browser, those who signed in last.</summary>
    private const int MaxPersons = 8;

    /// <summary>Stands in no name of a browser and no name to sign in with.</summary>
    private const char Between = '\n';

    private readonly IDataProtector seal = protection.CreateProtector("incubation browser");

    /// <summary>The browser, or null where it is not known.</summary>
    public KnownBrowser? Of(HttpRequest request)
    {
        try
        {
            if (Cookies.BrowserOf(request) is not { Length: > 0 } cookie)
                return null;
            var parts = seal.Unprotect(cookie).Split(Between);
            return parts.All(TextId.IsValid)
                ? new KnownBrowser(new DeviceId(parts[0]), [.. parts.Skip(1).Select(person => new PersonId(person))])
                : null;
        }
        catch (CryptographicException)
        {
            return null;
        }
    }

    /// <summary>Lets a browser be known from now on, to whoever signed in in it.</summary>
    public void Remember(HttpContext context, DeviceId browser, PersonId person)
    {
        ArgumentNullException.ThrowIfNull(context);
        var before = Of(context.Request) is { } known && known.Name == browser ? known.Persons : [];
        var persons = before.Prepend(person).Distinct().Take(MaxPersons).Select(one => one.Value);
        Cookies.GiveBrowser(context, seal.Protect(string.Join(Between, persons.Prepend(browser.Value))));
    }
}
