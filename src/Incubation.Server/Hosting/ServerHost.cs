using System.Globalization;
using System.Net.Sockets;
using Incubation.Records;
using Incubation.Records.Backup;
using Incubation.Records.Log;
using Incubation.Service.Decisions;
using Incubation.Service.Hosting;
using Incubation.Service.People;
using Incubation.Service.Settings;
using Incubation.Service.Stock;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;

namespace Incubation.Server.Hosting;

/// <summary>
/// Starts the server, says where it is, and ends it; what cannot be started is said in a sentence, never as a trace.
/// </summary>
public static class ServerHost
{
    private const int Done = 0;

    /// <summary>What was asked for cannot be understood, or cannot be had.</summary>
    private const int NotStarted = 2;

    /// <summary>Runs the server until it is stopped; the exit code.</summary>
    public static async Task<int> RunAsync(string[] args)
    {
        var arguments = ServerArguments.Read(args);
        if (arguments.Help)
        {
            Console.WriteLine(HostWords.Help);
            return Done;
        }

        var builder = WebApplication.CreateBuilder(Options(arguments));
        var faults = new List<string>(arguments.Faults);
        ConfigurationFile.Add(
            builder.Configuration, arguments.Values.GetValueOrDefault(ServerSettings.Section + ":Config")
                ?? Environment.GetEnvironmentVariable(ConfigurationFile.Variable), faults);
        builder.Configuration.AddInMemoryCollection(arguments.Values);
        if (arguments.Health && faults.Count == 0)
            return await HealthQuestion.AskAsync(builder.Configuration, Console.Out, Console.Error);
        SettingNames.Check(builder.Configuration, faults);
        var service = ServiceSettings.Read(builder.Configuration, faults);
        var settings = ServerSettings.Read(builder.Configuration, faults);
        var lengths = SessionLengths.Read(builder.Configuration, faults);
        var passkeys = PasskeySettings.Read(builder.Configuration, faults);
        builder.Services.AddSingleton(StockSettings.Read(builder.Configuration, faults));
        builder.Services.AddSingleton(InspectorSettings.Read(builder.Configuration, faults));
        builder.Services.AddSingleton(EscalationSettings.Read(builder.Configuration, faults));
        builder.Services.AddSingleton(PatienceSettings.Read(builder.Configuration, faults));
        builder.Services.AddSingleton(LabelSettings.Read(builder.Configuration, faults));
        var tls = TlsSettings.Read(builder.Configuration, TimeProvider.System.GetUtcNow(), faults);
        if (faults.Count == 0)
            faults.AddRange(tls.FaultsOf(LoopbackGuard.AddressesOf(builder.Configuration), settings?.Demo is not null));
        if (settings is null || faults.Count > 0)
            return Refuse(faults);
        return await RunAsync(builder, settings, tls, lengths, passkeys, service);
    }

    private static async Task<int> RunAsync(WebApplicationBuilder builder, ServerSettings settings, TlsSettings tls,
        SessionLengths lengths, PasskeySettings passkeys, ServiceSettings service)
    {
        try
        {
            using var file = DataFile.Open(settings.DataFile, new DataFileOptions(KeyFile: settings.RecordKey,
                SignAsItStands: settings.SignAsItStands));
            file.Log.RefuseCut();
            ServerServices.Add(builder, settings, tls, lengths, passkeys, service, file);
            ServiceLogs.Add(builder.Logging, service);
            Telemetry.Add(builder, service);
            await using var app = builder.Build();
            ServerPipeline.Use(app);
            Console.WriteLine(Say.Of(HostWords.StartData, settings.DataFile));
            if (file.KeptBeforeChange is { } kept)
                Console.WriteLine(Say.Of(HostWords.StartBroughtForward, kept));
            await app.Services.GetRequiredService<Opening>().OpenAsync(CancellationToken.None);
            if (OpenBeforeSetUp(app, builder.Configuration) is { } sentence)
                return Refuse([sentence]);
            await app.StartAsync();
            if (!Announce(app, tls))
            {
                await app.StopAsync();
                return NotStarted;
            }

            await app.WaitForShutdownAsync();
            return Done;
        }
        catch (Exception fault)
            when ((Sentence(fault) ?? RecordCheck.Explain(fault, settings.DataFile)) is { } sentence)
        {
            return Refuse([sentence]);
        }
    }

    /// <summary>Files beside the program, not beside wherever it was started from.</summary>
    private static WebApplicationOptions Options(ServerArguments arguments) => new()
    {
        ApplicationName = arguments.Values.GetValueOrDefault("applicationName"),
        EnvironmentName = arguments.Values.GetValueOrDefault("environment"),
        ContentRootPath = arguments.Values.GetValueOrDefault("contentRoot") ?? AppContext.BaseDirectory,
    };

    /// <summary>
    /// What is meant for people when the server cannot start; null for a fault of the program itself.
    /// </summary>
    private static string? Sentence(Exception fault) => fault switch
    {
        DataFileException or LogBrokenException or UnreadableEventException or InvalidDataException
            or StartException => fault.Message,
        AppendException => fault.Message,
        IOException { InnerException: Microsoft.AspNetCore.Connections.AddressInUseException } =>
            Say.Of(HostWords.PortBusy, fault.Message),
        SocketException => Say.Of(HostWords.PortUnusable, fault.Message),
        UnauthorizedAccessException => Say.Of(HostWords.NoPermission, fault.Message),
        _ => null,
    };

    /// <summary>
    /// Other machines are not let in before somebody can be asked who they are; null where all is well.
    /// </summary>
    private static string? OpenBeforeSetUp(WebApplication app, IConfiguration configuration) =>
        app.Services.GetRequiredService<SetUpService>().IsDone
            ? null
            : LoopbackGuard.AddressesOf(configuration).Where(address => !LoopbackGuard.IsThisMachineOnly(address))
                .Select(address => Say.Of(HostWords.NotSetUpYet, address, LoopbackGuard.DefaultUrl)).FirstOrDefault();

    /// <summary>
    /// Says where the server is. False, with a sentence, where it turns out to listen for other machines.
    /// </summary>
    private static bool Announce(WebApplication app, TlsSettings tls)
    {
        var addresses = app.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()?.Addresses
            ?? [];
        var faults = tls.FaultsOf(addresses, app.Services.GetRequiredService<ServerSettings>().Demo is not null);
        if (faults.Count > 0)
        {
            Refuse(faults);
            return false;
        }

        if (addresses.Count > 0)
            Console.WriteLine(
                Say.Of(HostWords.StartAddress,
                    string.Join(CultureInfo.CurrentCulture.TextInfo.ListSeparator + " ", addresses)));
        var address = addresses.FirstOrDefault() ?? LoopbackGuard.DefaultUrl;
        app.Services.GetRequiredService<Opening>().SayHowToComeIn(address);
        SayOfPasskeys(app.Services.GetRequiredService<PasskeyService>(),
            app.Services.GetRequiredService<PasskeySettings>().RemoveOf);
        if (app.Services.GetRequiredService<ServerSettings>().NewCodeFor is { } name)
        {
            var outcome = app.Services.GetRequiredService<PeopleService>().NewCodeAtConsole(name);
            Console.WriteLine(outcome.Fault
                ?? Say.Of(HostWords.NewCodeShown, name, address.TrimEnd('/') + "/welcome", outcome.Shown));
        }

        return true;
    }

    private static void SayOfPasskeys(PasskeyService passkeys, string? toRemove)
    {
        if (toRemove is not null)
            Console.WriteLine(passkeys.RemoveAllAtConsole(toRemove).Fault
                ?? Say.Of(HostWords.PasskeysRemoved, toRemove));
        if (passkeys.DomainFault is { } sentence)
            Console.WriteLine(sentence);
    }

    private static int Refuse(IEnumerable<string> sentences)
    {
        foreach (var sentence in sentences)
            Console.Error.WriteLine(sentence);
        return NotStarted;
    }
}
