using Incubation.Records;
using Incubation.Server.Api;
using Incubation.Server.Demo;
using Incubation.Server.Doors;
using Incubation.Server.Hubs;
using Incubation.Service.Hosting;
using Incubation.Service.People;
using Incubation.Service.Settings;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.SignalR;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Server.Hosting;

/// <summary>What the server is made of.</summary>
internal static class ServerServices
{
    // Fifty benches with their screens, and as many again.
    private const int MaxConnections = 1000;
    private const int MaxHeaderBytes = 16 * 1024;
    private static readonly TimeSpan LongestHeaders = TimeSpan.FromSeconds(15);

    private static readonly TimeSpan LongestStop = TimeSpan.FromSeconds(4);

    public static void Add(
        WebApplicationBuilder builder, ServerSettings settings, TlsSettings tls, SessionLengths lengths,
            PasskeySettings passkeys, ServiceSettings service, DataFile file)
    {
        builder.WebHost.UseStaticWebAssets();
        builder.WebHost.UseUrls([.. LoopbackGuard.AddressesOf(builder.Configuration)]);
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = LargestBodyAttribute.Usual;
            kestrel.Limits.MaxConcurrentConnections = MaxConnections;
            kestrel.Limits.MaxConcurrentUpgradedConnections = MaxConnections;
            kestrel.Limits.MaxRequestHeadersTotalSize = MaxHeaderBytes;
            kestrel.Limits.RequestHeadersTimeout = LongestHeaders;
            if (tls.Certificate is { } certificate)
                kestrel.ConfigureHttpsDefaults(https => https.ServerCertificate = certificate);
        });
        // Another site's name that resolves to this machine is not this server.
        builder.Configuration.AddInMemoryCollection(
            [new("AllowedHosts", builder.Configuration["AllowedHosts"] ?? "localhost;127.0.0.1;[::1]")]);
        // A part that nobody registered fails at the start, not at the first call that would have needed it.
        builder.Host.UseDefaultServiceProvider(provider => provider.ValidateOnBuild = provider.ValidateScopes = true);
        AddLogging(builder.Logging);
        ServiceParts.Add(builder.Services, settings, service, lengths, passkeys, file);
        AddScreens(builder.Services, settings);
        AddWeb(builder.Services, settings);
        builder.Services.AddSingleton(tls);
        PeopleServices.Add(builder.Services, tls.IsEverywhere(LoopbackGuard.AddressesOf(builder.Configuration)));
    }

    private static void AddLogging(ILoggingBuilder logging)
    {
        logging.AddFilter("Microsoft", LogLevel.Warning);
        logging.AddFilter("System", LogLevel.Warning);
        // A wrong key is told to whoever sent it.
        logging.AddFilter(typeof(DoorHandler).FullName, LogLevel.Warning);
        // That keys lie unencrypted in the data's folder is as intended: whoever reads it reads the data.
        logging.AddFilter("Microsoft.AspNetCore.DataProtection", LogLevel.Error);
        // What a hub's method fails with is said by the hub's door.
        logging.AddFilter("Microsoft.AspNetCore.SignalR.Internal.DefaultHubDispatcher", LogLevel.None);
        // A start that fails is said in a sentence, without its trace.
        logging.AddFilter("Microsoft.Extensions.Hosting.Internal.Host", LogLevel.None);
        // Starting and stopping is said by this program in its own words.
        logging.AddFilter("Microsoft.Hosting.Lifetime", LogLevel.Warning);
    }

    private static void AddScreens(IServiceCollection services, ServerSettings settings)
    {
        ServiceHealth.Add(services);
        // Commands in hand are answered, screens told, the file closed, before the service manager loses patience.
        services.Configure<HostOptions>(options => options.ShutdownTimeout = LongestStop);
        services.AddSingleton<BenchPublisher>();
        services.AddHostedService(provider => provider.GetRequiredService<BenchPublisher>());
        if (settings.Demo is not null && (settings.DemoReaders || settings.Autopilot))
            services.AddHostedService<DemoReadersService>();
        if (settings.Autopilot)
            services.AddHostedService<AutopilotService>();
    }

    private static void AddWeb(IServiceCollection services, ServerSettings settings)
    {
        var keys = Directory.CreateDirectory(Path.Combine(settings.DataFolder, "keys"));
        services.AddDataProtection().PersistKeysToFileSystem(keys).SetApplicationName("incubation");
        services.AddRazorComponents().AddInteractiveServerComponents(options => options.DetailedErrors = false);
        services.AddSignalR()
            .AddJsonProtocol(options =>
                options.PayloadSerializerOptions.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb))
            // Options of one hub count only where they are set through the builder.
            .AddHubOptions<BenchHub>(options =>
            {
                options.MaximumReceiveMessageSize = BenchHub.LongestMessage;
                options.AddFilter<ClientCount>();
            });
        services.ConfigureHttpJsonOptions(options =>
        {
            options.SerializerOptions.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);
            options.SerializerOptions.UnmappedMemberHandling =
                System.Text.Json.Serialization.JsonUnmappedMemberHandling.Disallow;
        });
        services.Configure<RouteHandlerOptions>(options => options.ThrowOnBadRequest = true);
        services.AddProblemDetails();
        services.AddExceptionHandler<ApiFaults>();
        services.AddOpenApi("v1", ApiDocument.Describe);
    }
}
