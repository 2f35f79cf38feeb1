using System.Net;
using Microsoft.AspNetCore.HttpOverrides;

namespace Incubation.Server.Hosting;

/// <summary>What comes from other machines comes by TLS, or not at all.</summary>
internal static class TlsGuard
{
    private const string OneYear = "max-age=31536000";

    /// <summary>Believes the trusted proxies, and nobody else, about whom a request comes from.</summary>
    public static void UseTrustedProxies(this IApplicationBuilder app, TlsSettings tls)
    {
        if (tls.Proxies.Count == 0)
            return;
        var options =
            new ForwardedHeadersOptions
            {
                ForwardedHeaders = ForwardedHeaders.XForwardedFor | ForwardedHeaders.XForwardedProto
            };
        options.KnownIPNetworks.Clear();
        options.KnownProxies.Clear();
        foreach (var proxy in tls.Proxies)
            options.KnownProxies.Add(proxy);
        // What a proxy on another machine sends in the clear can be read and changed on its way, whatever it says.
        app.Use(async (context, next) =>
        {
            if (context.Request.IsHttps || !IsFromElsewhere(context.Connection.RemoteIpAddress))
                await next(context);
            else
                await RefuseAsync(context);
        });
        app.UseForwardedHeaders(options);
    }

    /// <summary>
    /// Refuses what another machine sends in the clear, past the proxy; and where TLS is everywhere, pages in the clear
    /// on this machine too, whose cookies no browser would keep. What watches the service, and programs with keys, may.
    /// </summary>
    public static void UseTlsFromElsewhere(this IApplicationBuilder app, TlsSettings tls, bool isTlsEverywhere) =>
        app.Use(async (context, next) =>
    {
        if (context.Request.IsHttps && !(IsProxysOwn(context, tls)
            && IsFromElsewhere(context.Connection.RemoteIpAddress)))
        {
            context.Response.Headers.StrictTransportSecurity = OneYear;
        }
        else if (IsFromElsewhere(context.Connection.RemoteIpAddress) || IsProxysOwn(context, tls)
            || (isTlsEverywhere && !IsForPrograms(context.Request.Path)))
        {
            await RefuseAsync(context);
            return;
        }

        await next(context);
    });

    private static Task RefuseAsync(HttpContext context) =>
        Results.Problem(statusCode: StatusCodes.Status403Forbidden, detail: HostWords.TlsOnly).ExecuteAsync(context);

    private static bool IsFromElsewhere(IPAddress? address) =>
        address is not null && !IPAddress.IsLoopback(address.IsIPv4MappedToIPv6 ? address.MapToIPv4() : address);

    /// <summary>A proxy that does not say for whom it asks would make everybody a visitor of this machine.</summary>
    private static bool IsProxysOwn(HttpContext context, TlsSettings tls) =>
        context.Connection.RemoteIpAddress is { } address && tls.Proxies.Contains(address)
            && !context.Request.Path.StartsWithSegments("/health");

    private static bool IsForPrograms(PathString path) => path.StartsWithSegments("/health")
        || path.StartsWithSegments("/api");
}
