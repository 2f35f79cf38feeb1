using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records;
using Incubation.Server.Hosting;
using Incubation.Service.Clinic;
using Incubation.Service.Decisions;
using Incubation.Service.Hosting;
using Incubation.Service.People;
using Incubation.Service.Settings;
using Incubation.Service.Stock;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;

namespace Incubation.Hostile;

/// <summary>The server's own parts on a data file of the demo's clinic, put together but not listening.</summary>
internal sealed class House : IAsyncDisposable
{
    private readonly DataFile file;
    private readonly WebApplication app;

    private House(DataFile file, WebApplication app) => (this.file, this.app) = (file, app);

    /// <summary>The parts.</summary>
    public IServiceProvider Parts => app.Services;

    /// <summary>The data file.</summary>
    public DataFile File => file;

    /// <summary>The folder of the demo, in a checkout.</summary>
    public static string Demo { get; } = Path.Combine(Checkout, "demo");

    /// <summary>The checkout from which this runs.</summary>
    public static string Checkout
    {
        get
        {
            var at = new DirectoryInfo(AppContext.BaseDirectory);
            while (!System.IO.File.Exists(Path.Combine(at.FullName, "Incubation.sln")))
                at = at.Parent ?? throw new InvalidOperationException("This runs from inside a checkout.");
            return at.FullName;
        }
    }

    /// <summary>Opens a data file as the server does.</summary>
    /// <param name="data">Path of the data file; made where there is none.</param>
    /// <param name="time">Virtual time, or null for the machine's.</param>
    /// <param name="demo">Whether the demo's clinic is put into an empty file.</param>
    public static async Task<House> OpenAsync(string data, TimeProvider? time, bool demo = true)
    {
        var builder = WebApplication.CreateBuilder(new WebApplicationOptions
        {
            ContentRootPath = AppContext.BaseDirectory,
            ApplicationName = typeof(ServerHost).Assembly.GetName().Name,
        });
        builder.Configuration.AddInMemoryCollection(new Dictionary<string, string?>
        {
            [ServerSettings.Section + ":Data"] = data,
            [ServerSettings.Section + ":Demo"] = demo ? Demo : null,
        });
        var faults = new List<string>();
        var settings = ServerSettings.Read(builder.Configuration, faults)
            ?? throw new InvalidOperationException(string.Join(' ', faults));
        var service = ServiceSettings.Read(builder.Configuration, faults);
        var lengths = SessionLengths.Read(builder.Configuration, faults);
        builder.Services.AddSingleton(StockSettings.Read(builder.Configuration, faults));
        builder.Services.AddSingleton(EscalationSettings.Read(builder.Configuration, faults));
        builder.Services.AddSingleton(InspectorSettings.Read(builder.Configuration, faults));
        var tls = TlsSettings.Read(builder.Configuration, TimeProvider.System.GetUtcNow(), faults);
        var file = DataFile.Open(settings.DataFile, new DataFileOptions(KeyFile: settings.RecordKey));
        var passkeys = PasskeySettings.Read(builder.Configuration, faults);
        ServerServices.Add(builder, settings, tls, lengths, passkeys, service, file);
        if (time is not null)
        {
            builder.Services.AddSingleton(time);
            builder.Services.AddKeyedSingleton(Sessions.RealTime, time);
        }

        builder.Services.AddSingleton<Func<ISearchBudget>>(() => new IterationBudget(20));
        builder.Logging.ClearProviders();
        var app = builder.Build();
        await app.Services.GetRequiredService<Opening>().OpenAsync(CancellationToken.None);
        var house = new House(file, app);
        house.AddPeople();
        return house;
    }

    /// <summary>What a browser of one of the demo's people sends.</summary>
    public string CookieOf(string person) =>
        "incubation=" + Part<Sessions>().Begin(new PersonId(person), SignInWay.Password, null, "test");

    /// <summary>What an enrolled device sends.</summary>
    public string CookieOf(DeviceKind kind, string? bench) => "incubation-device=" + Part<DeviceService>().Enrol(
        "A device", kind, bench is null ? null : new BenchId(bench), new PersonId("ines"), new DeviceId("test")).Shown;

    /// <summary>A program's key.</summary>
    public string KeyFor(string? bench, params KeyScope[] scopes) => Part<DeviceService>().MakeKey(
        "A program", scopes, bench is null ? null : new BenchId(bench), new PersonId("mara"), new DeviceId("test"))
        .Shown!;

    /// <summary>Every address that the server would serve.</summary>
    public IReadOnlyList<Microsoft.AspNetCore.Http.Endpoint> Endpoints()
    {
        ServerPipeline.Use(app);
        return [.. ((IEndpointRouteBuilder)app).DataSources.SelectMany(source => source.Endpoints)];
    }

    /// <summary>One of the parts.</summary>
    public T Part<T>()
        where T : notnull => app.Services.GetRequiredService<T>();

    private static readonly PersonId Inspector = new("ada");

    /// <summary>The demo's people, in a clinic that has nobody; and somebody who inspects it.</summary>
    private void AddPeople()
    {
        var clinic = Part<ClinicHost>();
        var begin = clinic.Log.Entries().Last().Provenance;
        if (clinic.Log.People.Person(Inspector) is null)
            clinic.Log.Record(new ClinicEvent.InspectorAdmitted(Inspector, "Ada", begin.Arrived
                .InZone(clinic.Facts.Zone).Date.PlusDays(ClinicPerson.MostInspectorDays)),
                begin with { Id = new ReportId("inspector") });
        if (clinic.Log.People.Persons.Values.Any(person => person.Role != Role.Inspector))
            return;
        clinic.Log.Record(
            [
                new ClinicEvent.PersonAdded(new PersonId("lena"), "Lena", Role.Aide),
                new ClinicEvent.PersonAdded(new PersonId("ines"), "Ines", Role.Supervisor),
                new ClinicEvent.PersonAdded(new PersonId("mara"), "Mara", Role.Administrator),
            ], begin with { Id = new ReportId("people") });
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        await app.DisposeAsync();
        file.Dispose();
    }
}

/// <summary>Time that stands where it is put.</summary>
internal sealed class PutTime(DateTimeOffset begin) : TimeProvider
{
    private DateTimeOffset now = begin;

    /// <summary>Puts it somewhere.</summary>
    public void Put(NodaTime.Instant instant) => now = instant.ToDateTimeOffset();

    /// <inheritdoc/>
    public override DateTimeOffset GetUtcNow() => now;

    /// <inheritdoc/>
    public override long GetTimestamp() => now.Ticks;

    /// <inheritdoc/>
    public override long TimestampFrequency => TimeSpan.TicksPerSecond;

    /// <inheritdoc/>
    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        new NoTimer();

    private sealed class NoTimer : ITimer
    {
        public bool Change(TimeSpan dueTime, TimeSpan period) => true;

        public void Dispose()
        {
        }

        public ValueTask DisposeAsync() => ValueTask.CompletedTask;
    }
}
