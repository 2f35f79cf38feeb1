using Incubation.Clinic.People;
using Incubation.Server.Api;
using Incubation.Server.Doors;
using Incubation.Server.Hubs;
using Incubation.Server.Pages;

namespace Incubation.Server.Hosting;

/// <summary>The way of a request through the server.</summary>
internal static class ServerPipeline
{
    public static void Use(WebApplication app)
    {
        var tls = app.Services.GetRequiredService<TlsSettings>();
        app.UsePageHeaders();
        app.UseTrustedProxies(tls);
        app.UseTlsFromElsewhere(tls, tls.IsEverywhere(LoopbackGuard.AddressesOf(app.Configuration)));
        // Programs get problem details, by ApiFaults; people get a page; neither ever gets a trace.
        app.UseExceptionHandler("/failed", createScopeForErrors: true);
        app.UseStatusCodePagesWithReExecute("/not-found", createScopeForStatusCodePages: true);
        ApiFaults.UseProblems(app);
        app.UseOwnPagesOnly();
        // Before who it is is looked up: that costs too.
        app.UseRateLimiter();
        app.UseAuthentication();
        app.UseAuthorization();
        app.UseAntiforgery();
        app.MapStaticAssets().AllowAnonymous();
        app.MapHub<BenchHub>(BenchHub.Path);
        app.MapOpenApi("/openapi/{documentName}.json").WithMetadata(new NeedsAttribute(Right.Look));
        app.MapBenchApi();
        app.MapRackApi();
        app.MapWorklistApi();
        app.MapConnectionApi();
        app.MapClockApi();
        app.MapRecordApi();
        app.MapPlayApi();
        ServiceHealth.Map(app);
        app.MapTabletApi();
        app.MapPasskeyApi();
        app.MapSignOut();
        app.MapAssayFile();
        app.MapReportFiles();
        app.MapProgrammeFiles();
        app.MapStockFiles();
        app.MapFallback("/api/{**rest}", ApiFaults.NothingHere).WithMetadata(new NeedsAttribute(Right.Look))
            .ExcludeFromDescription();
        // Pages say for themselves whom they are for; the lines of their circuits are for whoever may see a bench.
        app.MapRazorComponents<App>()
            .AddInteractiveServerRenderMode(options => options.ContentSecurityFrameAncestorsPolicy = null)
            .WithMetadata(new NeedsAttribute(Right.Look));
    }
}
