using Incubation.Clinic.People;
using Incubation.Server.Api;
using Incubation.Server.Doors;
using Incubation.Server.Hubs;
using Incubation.Service.People;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Components.Server.Circuits;
using Microsoft.AspNetCore.SignalR;

namespace Incubation.Server.Hosting;

/// <summary>Who may come in: what the server is made of for it.</summary>
internal static class PeopleServices
{
    public static void Add(IServiceCollection services, bool isTlsEverywhere)
    {
        services.AddSingleton<KnownBrowsers>();
        services.AddScoped<Passkeys>();
        services.AddSingleton<Actors>();
        services.AddSingleton(provider => new RefusalLog(
            provider.GetRequiredKeyedService<TimeProvider>(Sessions.RealTime),
            provider.GetRequiredService<ILogger<RefusalLog>>()));
        services.AddSingleton<WhoWriter>();
        services.AddSingleton<RecordApi.Exporter>();
        services.AddSingleton<HubDoor>();
        services.AddSingleton<Lines>();
        services.AddHostedService(provider => provider.GetRequiredService<Lines>());
        services.AddScoped<ICurrentActor, CurrentActor>();
        services.AddScoped<PageReload>();
        services.AddScoped<CircuitHandler, CircuitDoor>();
        AddDoor(services, isTlsEverywhere);
    }

    private static void AddDoor(IServiceCollection services, bool isTlsEverywhere)
    {
        services.AddAuthentication(Actors.Scheme)
            .AddScheme<AuthenticationSchemeOptions, DoorHandler>(Actors.Scheme, null);
        services.AddSingleton<IAuthorizationHandler, NeedsRightHandler>();
        services.AddSingleton<IAuthorizationMiddlewareResultHandler, Refusals>();
        services.AddAuthorization(options =>
        {
            foreach (var right in Enum.GetValues<Right>())
                options.AddPolicy(NeedsAttribute.PolicyOf(right), policy =>
                    policy.AddRequirements(new NeedsRight(right)));
            // What says nothing for itself is for those inside alone.
            options.FallbackPolicy = new AuthorizationPolicyBuilder().AddRequirements(new NeedsRight(Right.Look))
                .Build();
        });
        services.AddSignalR().AddHubOptions<BenchHub>(options => options.AddFilter<HubDoor>());
        services.AddRateLimiter(Limits.Configure);
        services.AddAntiforgery(options =>
        {
            options.Cookie.Name = Cookies.Name("incubation-form", isTlsEverywhere);
            options.Cookie.Path = "/";
            options.Cookie.HttpOnly = true;
            options.Cookie.SameSite = SameSiteMode.Strict;
            options.Cookie.SecurePolicy = isTlsEverywhere
                ? CookieSecurePolicy.Always : CookieSecurePolicy.SameAsRequest;
        });
    }
}
