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
        // Programs get problem details, by ApiFaults; people get a page; neither ever gets a trace.
        app.UseExceptionHandler("/failed", createScopeForErrors: true);
        app.UseStatusCodePagesWithReExecute("/not-found", createScopeForStatusCodePages: true);
        app.UseOwnPagesOnly();
        app.UseAntiforgery();
        app.MapStaticAssets();
        app.MapHub<BenchHub>(BenchHub.Path);
        app.MapOpenApi("/openapi/{documentName}.json");
        app.MapBenchApi();
        app.MapClockApi();
        ServiceHealth.Map(app);
        app.MapFallback("/api/{**rest}", ApiFaults.NothingHere).ExcludeFromDescription();
        app.MapRazorComponents<App>().AddInteractiveServerRenderMode(options => options.ContentSecurityFrameAncestorsPolicy = null);
    }
}
