using Incubation.Planning;
using Incubation.Records;
using Incubation.Records.People;
using Incubation.Service.Alarms;
using Incubation.Service.Assays;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Controls;
using Incubation.Service.Demo;
using Incubation.Service.Gates;
using Incubation.Service.People;
using Incubation.Service.Playback;
using Incubation.Service.Record;
using Incubation.Service.Reports;
using Incubation.Service.Requests;
using Incubation.Service.Screens;
using Incubation.Service.Settings;
using Incubation.Service.StepTimes;
using Incubation.Service.Stock;
using Incubation.Service.WhatIf;
using Microsoft.AspNetCore.Identity;
using Microsoft.Extensions.DependencyInjection.Extensions;
using NodaTime;
using NodaTime.Extensions;

namespace Incubation.Service.Hosting;

/// <summary>What a running clinic is made of, whatever it is reached by.</summary>
internal static class ServiceParts
{
    /// <summary>Adds everything that needs no web.</summary>
    public static void Add(IServiceCollection services, ServerSettings settings, ServiceSettings service, SessionLengths lengths, DataFile file)
    {
        AddLive(services, settings, file);
        AddAlarms(services, service);
        AddPeople(services, lengths);
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
        services.AddSingleton<Func<ISearchBudget>>(() => new TimeBudget(settings.SearchBudget));
        services.AddSingleton<IBenchLog, RecordsBenchLog>();
        services.AddSingleton<ClinicBook>();
        services.AddSingleton<AmendDesk>();
        services.AddSingleton(provider => new Records.Batches.CartridgeBook(
            provider.GetRequiredService<DataFile>(), one => provider.GetRequiredService<ClinicBook>().Log.Amended(one)));
        services.AddSingleton<DayBook>();
        services.AddSingleton<PlayBook>();
        services.AddSingleton<BatchProof>();
        services.AddSingleton<Records.Reports.ReportBook>();
        services.AddSingleton<ReportDesk>();
        services.AddSingleton<StepTimeDesk>();
        services.AddSingleton(provider => new Records.Retention.RecordRetention(
            provider.GetRequiredService<DataFile>(), provider.GetRequiredService<ClinicBook>().Log, provider.GetRequiredService<Records.Batches.CartridgeBook>()));
        services.AddSingleton<RetentionDesk>();
        services.AddSingleton<BenchBook>();
        services.AddSingleton<SnapshotWriter>();
        services.AddSingleton<GateKeeper>();
        services.AddSingleton<QualityDesk>();
        services.AddHostedService<QualityWatch>();
        services.AddSingleton<Intake>();
        services.AddSingleton<Stockroom>();
        services.AddSingleton<BoxJudge>();
        services.AddSingleton<StockDesk>();
        services.AddSingleton<BenchSetUp>();
        services.AddSingleton<WhatIfStudies>();
        services.AddSingleton<AssayDesk>();
        services.AddSingleton<BenchDesk>();
        services.AddSingleton<DemoDay>();
        services.AddSingleton<Opening>();
    }

    private static void AddAlarms(IServiceCollection services, ServiceSettings service)
    {
        services.AddSingleton<ScreenWatch>();
        services.AddSingleton<IHostAlarms, HostAlarms>();
        services.AddSingleton(provider => new Webhook(
            // What is told stays with the address that was set: no other that it points to is followed.
            service.Webhook, new HttpMessageInvoker(new SocketsHttpHandler { AllowAutoRedirect = false }), provider.GetRequiredKeyedService<TimeProvider>(Sessions.RealTime),
            provider.GetRequiredService<BenchClock>(), provider.GetRequiredService<ILogger<Webhook>>()));
        services.AddHostedService(provider => provider.GetRequiredService<Webhook>());
        services.AddHostedService<AlarmWatch>();
    }

    private static void AddPeople(IServiceCollection services, SessionLengths lengths)
    {
        services.AddKeyedSingleton(Sessions.RealTime, TimeProvider.System);
        services.AddSingleton(lengths);
        services.AddSingleton(provider => new PeopleStore(provider.GetRequiredService<Records.DataFile>(), provider.GetRequiredService<ClinicBook>().Log));
        services.AddSingleton<Sessions>();
        services.AddSingleton<BackOff>();
        services.AddSingleton<SignInDesk>();
        services.AddSingleton<PeopleDesk>();
        services.AddSingleton<DeviceDesk>();
        services.AddSingleton<SetUpDesk>();
        services.AddSingleton<DemoPeople>();
        services.AddIdentityCore<Account>().AddUserStore<AccountStore>();
        // Identity's own rule asks for kinds of characters; ours does not.
        services.RemoveAll<IPasswordValidator<Account>>();
        services.AddScoped<IPasswordValidator<Account>, PasswordRule>();
        services.AddScoped<IPasswordHasher<Account>, SlowHasher>();
        services.AddScoped<ILookupNormalizer, SmallLetters>();
    }
}
