using Incubation.Service.People;

namespace Incubation.Server.Doors;

/// <summary>What a browser is given when somebody has signed in with it.</summary>
internal static class SignInCookies
{
    /// <summary>Where a request would sign in.</summary>
    public static SignInPlace Place(HttpContext context, DeviceService devices, KnownBrowsers browsers)
    {
        var tablet = devices.DeviceOf(Cookies.DeviceOf(context.Request));
        return new SignInPlace(tablet, Addresses.Of(context), tablet is null ? browsers.Of(context.Request) : null,
            tablet is null ? BrowserNames.Of(context.Request) : null);
    }

    /// <summary>Ends the sign-in that the browser had, and gives it the new one.</summary>
    public static void Give(HttpContext context, SignInOutcome.Done done, Sessions sessions, KnownBrowsers browsers)
    {
        sessions.EndPresented(context.Request);
        if (done.Token is null)
            return;
        Cookies.GiveSession(context, done.Token);
        browsers.Remember(context, done.Browser, done.Person);
    }
}
