using Incubation.Model;
using Incubation.Planning;
using Incubation.Records;
using Incubation.Records.People;
using Incubation.Records.Seals;
using Incubation.Service.Alarms;
using Incubation.Service.Assays;
using Incubation.Service.Benches;
using Incubation.Service.Bundles;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.Connections;
using Incubation.Service.Controls;
using Incubation.Service.Demo;
using Incubation.Service.Gates;
using Incubation.Service.Instruments;
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
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId AtConsole = new("console");

    /// <summary>Adds everything that needs no web.</summary>
    public static void Add(IServiceCollection services, ServerSettings settings, ServiceSettings service,
        SessionLengths lengths, PasskeySettings passkeys, DataFile file)
    {
        AddLive(services, settings, file);
        AddAlarms(services, service);
        AddInstruments(services);
        AddConnections(services);
        AddPeople(services, lengths);
        services.AddSingleton(passkeys);
    }

    private static void AddLive(IServiceCollection services, ServerSettings settings, DataFile file)
    {
        services.AddSingleton(settings);
        services.AddSingleton(file);
        // The file of a demo's clock says nothing to a clinic: whoever could write it would set the clinic's time.
        services.AddSingleton<TimeProvider>(_ => new PacedTimeProvider(TimeProvider.System, settings.Demo is null
            ? ClockLine.RealTime(TimeProvider.System.GetUtcNow())
            : ClockLine.Continue(Path.Combine(settings.DataFolder, Path.GetFileNameWithoutExtension(settings.DataFile)
                + ".clock.json"), TimeProvider.System.GetUtcNow(), settings.Pace)));
        services.AddSingleton<IClock>(provider => provider.GetRequiredService<TimeProvider>().ToClock());
        services.AddSingleton(provider => new BenchClock(provider.GetRequiredService<TimeProvider>(), settings.Pace));
        services.AddSingleton(provider => new ClockGuard(
            provider.GetRequiredService<BenchClock>(), () => provider.GetRequiredService<ClinicHost>().Facts.Zone,
            provider.GetRequiredService<TimeProvider>() is not PacedTimeProvider { Line: var line }
                || (line.Rate == 1 && line.Server == line.Real)));
        services.AddSingleton<ClockService>();
        services.AddHostedService<ClockWatch>();
        services.AddSingleton(provider => new LifeSign(
            Path.Combine(settings.DataFolder, Path.GetFileNameWithoutExtension(settings.DataFile) + ".alive"),
                provider.GetRequiredService<BenchClock>()));
        services.AddHostedService(provider => provider.GetRequiredService<LifeSign>());
        services.AddSingleton<Func<ISearchBudget>>(() => new TimeBudget(settings.SearchBudget));
        services.AddSingleton<IBenchLog, RecordsBenchLog>();
        services.AddSingleton<ClinicHost>();
        services.AddSingleton<AmendmentService>();
        services.AddSingleton<SecondLookService>();
        services.AddSingleton<BundleService>();
        services.AddSingleton<ReleaseService>();
        services.AddSingleton<Decisions.ProgrammeDecisions>();
        services.AddSingleton<Decisions.DecisionList>();
        services.AddSingleton<Decisions.DecisionEscalation>();
        services.AddSingleton<Decisions.DecisionWatch>();
        services.AddSingleton<LateReportService>();
        services.AddSingleton(provider => new Records.Batches.CartridgeProjection(
            provider.GetRequiredService<DataFile>(), one =>
                provider.GetRequiredService<ClinicHost>().Log.Amended(one)));
        services.AddSingleton<DayProjection>();
        services.AddSingleton<Waiting.WaitingService>();
        services.AddSingleton<Requests.CarriedOver>();
        services.AddSingleton<PlaybackService>();
        services.AddSingleton<BatchProof>();
        services.AddSingleton<Records.Reports.ReportProjection>();
        services.AddSingleton<ReportService>();
        services.AddSingleton<StepTimeService>();
        services.AddSingleton(provider => new Records.Retention.RecordRetention(
            provider.GetRequiredService<DataFile>(), provider.GetRequiredService<ClinicHost>().Log,
                provider.GetRequiredService<Records.Batches.CartridgeProjection>()));
        services.AddSingleton<RetentionService>();
        services.AddSingleton<TableWatch>();
        services.AddHostedService(provider => provider.GetRequiredService<TableWatch>());
        services.AddSingleton(provider => new RecordCheckService(
            provider.GetRequiredService<DataFile>(), provider.GetRequiredService<Records.Batches.CartridgeProjection>(),
            provider.GetRequiredService<TableWatch>(), provider.GetRequiredService<BenchClock>()));
        services.AddSingleton<BenchRegistry>();
        services.AddSingleton<SnapshotWriter>();
        services.AddSingleton<ClosedControls>();
        services.AddSingleton<LotGateService>();
        services.AddSingleton<ControlService>();
        services.AddSingleton<Programme.ComparisonService>();
        services.AddSingleton<Programme.ProficiencyService>();
        services.AddSingleton<Programme.MovingMeanService>();
        services.AddSingleton<Controls.ControlFiles>();
        services.AddHostedService<ControlWatch>();
        services.AddSingleton<Intake>();
        services.AddSingleton<StockQueries>();
        services.AddSingleton<StockFiles>();
        services.AddSingleton<BoxJudge>();
        services.AddSingleton<StockService>();
        services.AddSingleton<Panels.PanelService>();
        services.AddSingleton<Worklist.OrderIntake>();
        services.AddSingleton<Worklist.OrderFile>();
        services.AddSingleton<Worklist.WorklistService>();
        services.AddSingleton<Temperatures.TemperatureService>();
        services.AddSingleton<Labels.LabelRuleService>();
        services.AddSingleton<Rack.RackReader>();
        services.AddSingleton<Rack.RackChecks>();
        services.AddSingleton<Rack.RackService>();
        services.AddSingleton<BenchSetUp>();
        services.AddSingleton<WhatIfStudies>();
        services.AddSingleton<AssayService>();
        services.AddSingleton(provider =>
            new WriteBudget(provider.GetRequiredService<BenchClock>(), settings.CommandRate));
        services.AddSingleton<BenchService>();
        services.AddSingleton<DemoDay>();
        services.AddSingleton<Opening>();
    }

    private static void AddAlarms(IServiceCollection services, ServiceSettings service)
    {
        services.AddSingleton<ScreenWatch>();
        services.AddSingleton<AlarmsNotSent>();
        services.AddSingleton<IHostAlarms, HostAlarms>();
        services.AddSingleton(provider => new Webhook(
            // What is told stays with the address that was set: no other that it points to is followed.
            service.Webhook, new HttpMessageInvoker(new SocketsHttpHandler { AllowAutoRedirect = false }),
                provider.GetRequiredKeyedService<TimeProvider>(Sessions.RealTime),
            provider.GetRequiredService<BenchClock>(), provider.GetRequiredService<ILogger<Webhook>>()));
        services.AddHostedService(provider => provider.GetRequiredService<Webhook>());
        services.AddHostedService<AlarmWatch>();
    }

    private static void AddInstruments(IServiceCollection services)
    {
        services.AddSingleton(provider => new Records.Instruments.WireStore(provider.GetRequiredService<DataFile>(),
            provider.GetRequiredService<ClinicHost>().Log));
        services.AddSingleton<LineBook>();
        services.AddSingleton<WireTaker>();
        services.AddSingleton<ClosedMatching>();
        services.AddSingleton<WireRights>();
        services.AddSingleton<WireJudge>();
        services.AddSingleton<InstrumentService>();
        services.AddSingleton<WireInbox>();
        services.AddHostedService<InstrumentLines>();
        services.AddSingleton(provider => new Records.Retention.WorklistRetention(
            provider.GetRequiredService<DataFile>(), provider.GetRequiredService<ClinicHost>().Log));
        services.AddHostedService<Worklist.WorklistWatch>();
        services.AddSingleton<DemoReaders>();
    }

    private static void AddConnections(IServiceCollection services)
    {
        services.AddSingleton(provider => new Records.Connections.OutboxStore(provider.GetRequiredService<DataFile>(),
            provider.GetRequiredService<ClinicHost>().Log));
        services.AddSingleton<CertificateEnds>();
        services.AddSingleton<IDestinationKind, WebhookKind>();
        services.AddSingleton<RequestFacts>();
        services.AddSingleton<OutgoingMessages>();
        services.AddSingleton<MarkBook>();
        services.AddSingleton<OutboxSender>();
        services.AddHostedService(provider => provider.GetRequiredService<OutboxSender>());
        services.AddSingleton<ConnectionService>();
        services.AddSingleton<AlarmNotices>();
        services.AddSingleton<DoubtNotices>();
    }

    private static void AddPeople(IServiceCollection services, SessionLengths lengths)
    {
        services.AddKeyedSingleton(Sessions.RealTime, TimeProvider.System);
        services.AddSingleton(lengths);
        services.AddSingleton(provider =>
        {
            var (file, clinic) = (provider.GetRequiredService<DataFile>(),
                provider.GetRequiredService<ClinicHost>().Log);
            // Before anything of it is believed.
            FirstSealing.Bring(file, clinic, Provenances.Of(Itself, AtConsole,
                provider.GetRequiredService<BenchClock>()));
            return new PeopleStore(file, clinic);
        });
        services.AddSingleton<Sessions>();
        services.AddSingleton<AccessLog>();
        services.AddSingleton<UncheckedResults>();
        services.AddSingleton<BackOff>();
        services.AddSingleton(_ => new HashingQueue());
        services.AddSingleton<SignInService>();
        services.AddSingleton<PeopleService>();
        services.AddSingleton<DeviceService>();
        services.AddSingleton<PasskeyChallenges>();
        services.AddSingleton<PasskeyService>();
        services.AddSingleton<SignIns>();
        services.AddSingleton<SetUpService>();
        services.AddSingleton<DemoPeople>();
        services.AddIdentityCore<Account>().AddUserStore<AccountStore>();
        // Identity's own rule asks for kinds of characters; ours does not.
        services.RemoveAll<IPasswordValidator<Account>>();
        services.AddScoped<IPasswordValidator<Account>, PasswordRule>();
        services.AddScoped<IPasswordHasher<Account>, SlowHasher>();
        services.AddScoped<ILookupNormalizer, SmallLetters>();
    }
}
