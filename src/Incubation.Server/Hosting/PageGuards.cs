using Microsoft.AspNetCore.StaticAssets;

namespace Incubation.Server.Hosting;

/// <summary>What every answer carries, and which callers are heard.</summary>
public static class PageGuards
{
    /// <summary>
    /// Everything comes from this server; no inline script or style; no page of ours inside another's. 'base-uri' must
    /// be 'self': pages under a path need their base element.
    /// </summary>
    public const string ContentPolicy =
        "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'self'; form-action 'self'; "
        + "frame-ancestors 'none'";

    /// <summary>Sets the security headers on every answer, also on one that is begun anew after a fault.</summary>
    public static IApplicationBuilder UsePageHeaders(this IApplicationBuilder app) => app.Use((context, next) =>
    {
        context.Response.OnStarting(() =>
        {
            SetHeaders(context.Response.Headers);
            KeepNowhere(context);
            return Task.CompletedTask;
        });
        return next(context);
    });

    /// <summary>
    /// Refuses what a page of another site sends: web sockets know no cross-origin rule of their own, so that without
    /// this any site open on this machine could tap on the bench.
    /// </summary>
    public static IApplicationBuilder UseOwnPagesOnly(this IApplicationBuilder app) => app.Use(async (context, next) =>
    {
        var origin = context.Request.Headers.Origin;
        var own = $"{context.Request.Scheme}://{context.Request.Host}";
        if (origin.Count > 0 && !string.Equals(origin.ToString(), own, StringComparison.OrdinalIgnoreCase))
        {
            await Results.Problem(title: HostWords.OtherSiteTitle, detail: HostWords.OtherSiteText,
                statusCode: StatusCodes.Status403Forbidden)
                .ExecuteAsync(context);
            return;
        }

        await next(context);
    });

    /// <summary>
    /// What names people, specimens or results stays in no store of a browser or proxy (OWASP ASVS 5.0, 14.3.2): hence
    /// every answer but the files that are the same for everybody.
    /// </summary>
    private static void KeepNowhere(HttpContext context)
    {
        if (context.GetEndpoint()?.Metadata.GetMetadata<StaticAssetDescriptor>() is null)
            context.Response.Headers.CacheControl = "no-store";
    }

    private static void SetHeaders(IHeaderDictionary headers)
    {
        headers.ContentSecurityPolicy = ContentPolicy;
        headers.XContentTypeOptions = "nosniff";
        headers.XFrameOptions = "DENY";
        // Not "no-referrer": browsers then say no origin with a form either, and our own forms would look like another
        // site's.
        headers["Referrer-Policy"] = "same-origin";
        headers["Cross-Origin-Opener-Policy"] = "same-origin";
        headers["Cross-Origin-Resource-Policy"] = "same-origin";
        headers["Permissions-Policy"] = "camera=(self), microphone=(), geolocation=(), screen-wake-lock=(self)";
    }
}
