using System.Net;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Service.People;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Mvc.Testing;
using Microsoft.AspNetCore.TestHost;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests;

/// <summary>The whole server in this process, on the demo's clinic and a data file of its own.</summary>
public sealed class ServerFactory : WebApplicationFactory<Program>
{
    private const int SearchIterations = 200;
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-server-").FullName;

    public static string DemoFolder { get; } = Path.Combine(Checkout(), "demo");

    public static string Checkout()
    {
        var at = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(at.FullName, "Incubation.sln")))
            at = at.Parent ?? throw new InvalidOperationException("These tests run from inside a checkout.");
        return at.FullName;
    }

    /// <summary>
    /// What the server is made of, by the type under which it is asked for; known once it has been made.
    /// </summary>
    public IReadOnlyList<Type> Registered { get; private set; } = [];

    /// <summary>Further settings, by their path.</summary>
    public IReadOnlyDictionary<string, string> Settings { get; init; } = new Dictionary<string, string>();

    /// <summary>Further parts, in the place of the program's own.</summary>
    public Action<IServiceCollection> Parts { get; init; } = _ => { };

    /// <summary>A client that is signed in as one of the demo's people; null for nobody.</summary>
    public HttpClient ClientAs(string? person)
    {
        var client =
            CreateClient(new WebApplicationFactoryClientOptions
            {
                HandleCookies = false,
                AllowAutoRedirect = false,
                BaseAddress = ClientOptions.BaseAddress
            });
        if (person is not null)
            client.DefaultRequestHeaders.Add("Cookie", CookieOf(person));
        return client;
    }

    /// <summary>Lets somebody read until a day, today where none is named; shows the code for a password.</summary>
    public string Admit(string person, NodaTime.LocalDate? lastDay = null)
    {
        var desk = Services.GetRequiredService<PeopleService>();
        return desk.Admit(Administrator, person, "Ada", $"{lastDay ?? desk.Today:uuuu-MM-dd}").Shown!;
    }

    /// <summary>The demo's administrator.</summary>
    public static Actor.Person Administrator { get; } = new(
        new ClinicPerson(new PersonId("mara"), "Mara", Role.Administrator, true, true, true),
        new Session("s", new PersonId("mara"), SignInWay.Password, null, new DeviceId("browser-1"), default, default),
        null);

    /// <summary>A sign-in of one of the demo's people, as its browser sends it.</summary>
    public string CookieOf(string person) =>
        "incubation=" + Services.GetRequiredService<Sessions>()
            .Begin(new PersonId(person), SignInWay.Password, null, "test");

    /// <summary>An enrolled device, as its browser sends its key.</summary>
    public (string Cookie, DeviceId Device) Enrol(DeviceKind kind, string? bench)
    {
        var key = Services.GetRequiredService<DeviceService>().Enrol("A device", kind, bench is null
            ? null : new BenchId(bench), new PersonId("ines"), new DeviceId("test")).Shown!;
        return ("incubation-device=" + key, new DeviceId(key.Split('.')[0]));
    }

    /// <summary>A client that sends this cookie.</summary>
    public HttpClient ClientWith(string cookie)
    {
        var client = ClientAs(null);
        client.DefaultRequestHeaders.Add("Cookie", cookie);
        return client;
    }

    /// <summary>A program's key.</summary>
    public string Key(string? bench, params KeyScope[] scopes) => Services.GetRequiredService<DeviceService>()
        .MakeKey("A program", scopes, bench is null ? null : new BenchId(bench), new PersonId("mara"),
            new DeviceId("test")).Shown!;

    protected override void ConfigureWebHost(IWebHostBuilder builder)
    {
        builder.UseSetting("Incubation:Data", Path.Combine(folder, "incubation.db"));
        builder.UseSetting("Incubation:Demo", DemoFolder);
        // Counted in iterations, not in time: the same plans however busy the machine is.
        builder.ConfigureTestServices(services =>
        {
            Registered = [.. services.Where(service => !service.IsKeyedService).Select(service => service.ServiceType)];
            services.AddTransient<IStartupFilter, TestAddresses>();
            services.AddSingleton<Func<ISearchBudget>>(() => new IterationBudget(SearchIterations));
            Parts(services);
        });
        foreach (var (name, value) in Settings)
            builder.UseSetting(name, value);
    }

    protected override void Dispose(bool disposing)
    {
        base.Dispose(disposing);
        if (disposing && Directory.Exists(folder))
            Directory.Delete(folder, recursive: true);
    }
}

/// <summary>Lets a request in a test come from the address that it names.</summary>
internal sealed class TestAddresses : IStartupFilter
{
    public const string Header = "Test-Address";

    public Action<IApplicationBuilder> Configure(Action<IApplicationBuilder> next) => app =>
    {
        app.Use((context, rest) =>
        {
            if (context.Request.Headers.TryGetValue(Header, out var address))
                context.Connection.RemoteIpAddress = IPAddress.Parse(address.ToString());
            return rest(context);
        });
        next(app);
    };
}
