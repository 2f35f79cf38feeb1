using Incubation.Planning;
using Incubation.Records;
using Incubation.Server.Clinic;
using Incubation.Server.Demo;
using Incubation.Server.Live;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.SignalR;
using NodaTime;
using NodaTime.Extensions;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Server.Hosting;

/// <summary>What the server is made of.</summary>
internal static class ServerServices
{
    private const long LargestBody = 1024 * 1024;

    private static readonly TimeSpan LongestStop = TimeSpan.FromSeconds(4);

    public static void Add(
        WebApplicationBuilder builder, ServerSettings settings, TlsSettings tls, People.SessionLengths lengths, ServiceSettings service, DataFile file)
    {
        builder.WebHost.UseStaticWebAssets();
        builder.WebHost.UseUrls([.. LoopbackGuard.AddressesOf(builder.Configuration)]);
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = LargestBody;
            if (tls.Certificate is { } certificate)
                kestrel.ConfigureHttpsDefaults(https => https.ServerCertificate = certificate);
        });
        // Another site's name that resolves to this machine is not this server.
        builder.Configuration.AddInMemoryCollection([new("AllowedHosts", builder.Configuration["AllowedHosts"] ?? "localhost;127.0.0.1;[::1]")]);
        // A part that nobody registered fails at the start, not at the first call that would have needed it.
        builder.Host.UseDefaultServiceProvider(provider => provider.ValidateOnBuild = provider.ValidateScopes = true);
        AddLogging(builder.Logging);
        AddLive(builder.Services, settings, file);
        AddAlarms(builder.Services, service);
        AddWeb(builder.Services, settings);
        builder.Services.AddSingleton(tls);
        PeopleServices.Add(builder.Services, lengths, tls.IsEverywhere(LoopbackGuard.AddressesOf(builder.Configuration)));
    }

    private static void AddLogging(ILoggingBuilder logging)
    {
        logging.AddFilter("Microsoft", LogLevel.Warning);
        logging.AddFilter("System", LogLevel.Warning);
        // A wrong key is told to whoever sent it.
        logging.AddFilter(typeof(People.DoorHandler).FullName, LogLevel.Warning);
        // That keys lie unencrypted in the data's folder is as intended: whoever reads it reads the data.
        logging.AddFilter("Microsoft.AspNetCore.DataProtection", LogLevel.Error);
        // A start that fails is said in a sentence, without its trace.
        logging.AddFilter("Microsoft.Extensions.Hosting.Internal.Host", LogLevel.None);
        // Starting and stopping is said by this program in its own words.
        logging.AddFilter("Microsoft.Hosting.Lifetime", LogLevel.Warning);
    }

    private static void AddLive(IServiceCollection services, ServerSettings settings, DataFile file)
    {
        services.AddSingleton(settings);
        services.AddSingleton(file);
        services.AddSingleton<TimeProvider>(_ => new PacedTimeProvider(
            TimeProvider.System,
            ClockLine.Continue(Path.Combine(settings.DataFolder, Path.GetFileNameWithoutExtension(settings.DataFile) + ".clock.json"), TimeProvider.System.GetUtcNow(), settings.Pace)));
        services.AddSingleton<IClock>(provider => provider.GetRequiredService<TimeProvider>().ToClock());
        services.AddSingleton(provider => new BenchClock(provider.GetRequiredService<TimeProvider>(), settings.Pace));
        services.AddSingleton(provider => new ClockGuard(
            provider.GetRequiredService<BenchClock>(), () => provider.GetRequiredService<ClinicBook>().Facts.Zone,
            provider.GetRequiredService<TimeProvider>() is not PacedTimeProvider { Line: var line } || (line.Rate == 1 && line.Server == line.Real)));
        services.AddSingleton<ClockDesk>();
        services.AddHostedService<ClockWatch>();
        services.AddSingleton(provider => new LifeSign(
            Path.Combine(settings.DataFolder, Path.GetFileNameWithoutExtension(settings.DataFile) + ".alive"), provider.GetRequiredService<BenchClock>()));
        services.AddHostedService(provider => provider.GetRequiredService<LifeSign>());
        ServiceHealth.Add(services);
        // Commands in hand are answered, screens told, the file closed, before the service manager loses patience.
        services.Configure<HostOptions>(options => options.ShutdownTimeout = LongestStop);
        services.AddSingleton<Func<ISearchBudget>>(() => new TimeBudget(settings.SearchBudget));
        services.AddSingleton<IBenchLog, RecordsBenchLog>();
        services.AddSingleton<ClinicBook>();
        services.AddSingleton<Components.Record.AmendDesk>();
        services.AddSingleton(provider => new Records.Batches.CartridgeBook(
            provider.GetRequiredService<DataFile>(), one => provider.GetRequiredService<ClinicBook>().Log.Amended(one)));
        services.AddSingleton<DayBook>();
        services.AddSingleton<Components.Playback.PlayBook>();
        services.AddSingleton<Components.Record.BatchProof>();
        services.AddSingleton<Records.Reports.ReportBook>();
        services.AddSingleton<Components.Reports.ReportDesk>();
        services.AddSingleton<Components.StepTimes.StepTimeDesk>();
        services.AddSingleton(provider => new Records.Retention.RecordRetention(
            provider.GetRequiredService<DataFile>(), provider.GetRequiredService<ClinicBook>().Log, provider.GetRequiredService<Records.Batches.CartridgeBook>()));
        services.AddSingleton<Components.Record.RetentionDesk>();
        services.AddSingleton<BenchBook>();
        services.AddSingleton<SnapshotWriter>();
        services.AddSingleton<Quality.GateKeeper>();
        services.AddSingleton<Quality.QualityDesk>();
        services.AddHostedService<Quality.QualityWatch>();
        services.AddSingleton<Intake>();
        services.AddSingleton<Stock.Stockroom>();
        services.AddSingleton<Stock.BoxJudge>();
        services.AddSingleton<Stock.StockDesk>();
        services.AddSingleton<BenchSetUp>();
        services.AddSingleton<Components.WhatIf.WhatIfStudies>();
        services.AddSingleton<Assays.AssayDesk>();
        services.AddSingleton<BenchDesk>();
        services.AddSingleton<DemoDay>();
        services.AddSingleton<Opening>();
        services.AddSingleton<BenchPublisher>();
        services.AddHostedService(provider => provider.GetRequiredService<BenchPublisher>());
        if (settings.Autopilot)
            services.AddHostedService<AutopilotService>();
    }

    private static void AddAlarms(IServiceCollection services, ServiceSettings service)
    {
        services.AddSingleton<ScreenWatch>();
        services.AddSingleton<IHostAlarms, HostAlarms>();
        services.AddSingleton(provider => new Webhook(
            // What is told stays with the address that was set: no other that it points to is followed.
            service.Webhook, new HttpMessageInvoker(new SocketsHttpHandler { AllowAutoRedirect = false }), provider.GetRequiredKeyedService<TimeProvider>(People.Sessions.RealTime),
            provider.GetRequiredService<BenchClock>(), provider.GetRequiredService<ILogger<Webhook>>()));
        services.AddHostedService(provider => provider.GetRequiredService<Webhook>());
        services.AddHostedService<AlarmWatch>();
    }

    private static void AddWeb(IServiceCollection services, ServerSettings settings)
    {
        var keys = Directory.CreateDirectory(Path.Combine(settings.DataFolder, "keys"));
        services.AddDataProtection().PersistKeysToFileSystem(keys).SetApplicationName("incubation");
        services.AddRazorComponents().AddInteractiveServerComponents(options => options.DetailedErrors = false);
        services.AddSignalR()
            .AddJsonProtocol(options => options.PayloadSerializerOptions.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb))
            // Options of one hub count only where they are set through the builder.
            .AddHubOptions<BenchHub>(options =>
            {
                options.MaximumReceiveMessageSize = BenchHub.LongestMessage;
                options.AddFilter<ClientCount>();
            });
        services.ConfigureHttpJsonOptions(options =>
        {
            options.SerializerOptions.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);
            options.SerializerOptions.UnmappedMemberHandling = System.Text.Json.Serialization.JsonUnmappedMemberHandling.Disallow;
        });
        services.Configure<RouteHandlerOptions>(options => options.ThrowOnBadRequest = true);
        services.AddProblemDetails();
        services.AddExceptionHandler<Api.ApiFaults>();
        services.AddOpenApi("v1", Api.ApiDocument.Describe);
    }
}
