using Incubation.Server.Api;
using Incubation.Server.Components;
using Incubation.Server.Live;

namespace Incubation.Server.Hosting;

/// <summary>The way of a request through the server.</summary>
internal static class ServerPipeline
{
    public static void Use(WebApplication app)
    {
        app.UsePageHeaders();
        // Programs get problem details, people get a page; neither ever gets a trace.
        app.UseWhen(IsForPrograms, api => api.UseExceptionHandler(new ExceptionHandlerOptions { ExceptionHandler = ApiFaults.AnswerAsync, AllowStatusCode404Response = true }));
        app.UseWhen(context => !IsForPrograms(context), pages =>
        {
            pages.UseExceptionHandler("/failed", createScopeForErrors: true);
            pages.UseStatusCodePagesWithReExecute("/not-found", createScopeForStatusCodePages: true);
        });
        app.UseOwnPagesOnly();
        app.UseAntiforgery();
        app.MapStaticAssets();
        app.MapHub<BenchHub>(BenchHub.Path);
        app.MapOpenApi("/openapi/{documentName}.json");
        app.MapBenchApi();
        app.MapFallback("/api/{**rest}", ApiFaults.NothingHere).ExcludeFromDescription();
        app.MapRazorComponents<App>().AddInteractiveServerRenderMode(options => options.ContentSecurityFrameAncestorsPolicy = null);
    }

    private static bool IsForPrograms(HttpContext context) =>
        context.Request.Path.StartsWithSegments("/api", StringComparison.OrdinalIgnoreCase)
        || context.Request.Path.StartsWithSegments("/hub", StringComparison.OrdinalIgnoreCase)
        || context.Request.Path.StartsWithSegments("/openapi", StringComparison.OrdinalIgnoreCase);
}
