using System.Net;
using System.Reflection;
using System.Text;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Doors;
using Incubation.Server.Hubs;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Commands;
using Incubation.Service.People;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Components.Endpoints;
using Microsoft.AspNetCore.Http.Connections;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.SignalR;
using Microsoft.AspNetCore.SignalR.Client;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Server.Tests.Doors;

/// <summary>
/// Every address of the server, as everybody. The list of addresses comes from the running server: a new one that says
/// nothing for itself, or that this table does not know, fails here.
/// </summary>
public sealed class EveryDoorTest(EveryDoorTest.House house) : IClassFixture<EveryDoorTest.House>
{
    /// <summary>One server with somebody of every kind.</summary>
    public sealed class House : IDisposable
    {
        public House()
        {
            var clinic = Server.Services.GetRequiredService<ClinicHost>();
            clinic.Log.Record(new ClinicEvent.BenchRegistered(new BenchId("bench-2"), "Bench 2"), Provenance());
            Server.Admit("ada");
            var (tablet, _) = Server.Enrol(DeviceKind.Tablet, "bench-1");
            var (pinTablet, pinDevice) = Server.Enrol(DeviceKind.Tablet, "bench-1");
            Server.Services.GetRequiredService<Sessions>()
                .Begin(new PersonId("mara"), SignInWay.Pin, pinDevice, "test");
            var (revoked, revokedDevice) = Server.Enrol(DeviceKind.Tablet, "bench-1");
            clinic.Log.Record(new ClinicEvent.DeviceRevoked(revokedDevice), Provenance());
            Clients = new Dictionary<string, HttpClient>
            {
                ["nobody"] = Server.ClientAs(null),
                ["aide"] = Server.ClientAs("lena"),
                ["supervisor"] = Server.ClientAs("ines"),
                ["administrator"] = Server.ClientAs("mara"),
                ["inspector"] = Server.ClientAs("ada"),
                ["administrator by PIN"] = Server.ClientWith(pinTablet),
                ["locked tablet"] = Server.ClientWith(tablet),
                ["tablet of another bench"] = Server.ClientWith(Server.Enrol(DeviceKind.Tablet, "bench-2").Cookie),
                ["revoked tablet"] = Server.ClientWith(revoked),
                ["wall"] = Server.ClientWith(Server.Enrol(DeviceKind.Wall, null).Cookie),
                ["key to look"] = Program(null, KeyScope.Look),
                ["key for requests"] = Program(null, KeyScope.Requests),
                ["key for events"] = Program(null, KeyScope.Events),
                ["key for the bench"] = Program(null, KeyScope.Bench),
                ["every key of another bench"] = Program("bench-2", Enum.GetValues<KeyScope>()),
                ["invented key"] = With("Bearer key-1.invented"),
            };
        }

        public ServerFactory Server { get; } = new();

        public IReadOnlyDictionary<string, HttpClient> Clients { get; }

        public void Dispose()
        {
            foreach (var client in Clients.Values)
                client.Dispose();
            Server.Dispose();
        }

        private static Provenance Provenance() => new(
            new ReportId(Guid.NewGuid().ToString("N")), NodaTime.Instant.FromUtc(2026, 3, 2, 8, 0),
                NodaTime.Instant.FromUtc(2026, 3, 2, 8, 0), new PersonId("test"), new DeviceId("test"));

        private HttpClient Program(string? bench, params KeyScope[] scopes) =>
            With("Bearer " + Server.Key(bench, scopes));

        private HttpClient With(string authorization)
        {
            var client = Server.ClientAs(null);
            client.DefaultRequestHeaders.Add("Authorization", authorization);
            return client;
        }
    }

    private const string People = "aide, supervisor, administrator, administrator by PIN, ";
    private const string Readers = "inspector, ";
    private const string Lookers = People + Readers
        + "locked tablet, tablet of another bench, wall, key to look, key for the bench, every key of another bench";
    private const string LookersAtOne = People + Readers + "locked tablet, wall, key to look, key for the bench";
    private const string AtTheBench = People + "locked tablet, key for the bench";
    private const string SeesNamed = People + "key for the bench";
    private const string Everybody = "*";

    /// <summary>Who may come in where, apart from the program's own table.</summary>
    private static readonly Dictionary<string, string> Open = new(StringComparer.OrdinalIgnoreCase)
    {
        ["GET /"] = Lookers,
        ["GET /bench/{Bench}"] = AtTheBench,
        ["GET /batch/{Bench}"] = SeesNamed,
        ["GET /results/{Bench}"] = SeesNamed,
        ["GET /benches/{Bench}/run-sheet"] = SeesNamed,
        ["GET /benches/{Bench}/labels"] = SeesNamed,
        ["GET /lots"] = Readers + "aide, supervisor, administrator, administrator by PIN",
        ["GET /wall"] = Lookers,
        ["GET /controls"] = People + Readers + "key for the bench, every key of another bench",
        ["GET /controls/summary"] = People + Readers + "key for the bench, every key of another bench",
        ["GET /scanner"] = Lookers,
        ["GET /temperatures"] = People + Readers + "key for the bench, every key of another bench",
        ["GET /panels"] = "supervisor, administrator",
        ["GET /controls.csv"] = Readers + "supervisor, administrator",
        ["GET /controls/targets.csv"] = Readers + "supervisor, administrator",
        ["GET /controls/moving-mean.csv"] = Readers + "supervisor, administrator",
        ["GET /comparisons"] = Readers + "supervisor, administrator",
        ["GET /comparisons/{Number:int}"] = Readers + "supervisor, administrator",
        ["GET /comparisons.csv"] = Readers + "supervisor, administrator",
        ["GET /comparisons/{number:int}.csv"] = Readers + "supervisor, administrator",
        ["GET /stock.csv"] = Readers + "supervisor, administrator",
        ["GET /stock/reorder.csv"] = Readers + "supervisor, administrator",
        ["GET /proficiency"] = Readers + "supervisor, administrator",
        ["GET /proficiency/{Number:int}"] = Readers + "supervisor, administrator",
        ["GET /proficiency.csv"] = Readers + "supervisor, administrator",
        ["GET /record/unchecked"] = "supervisor, administrator",
        ["GET /record"] = People + Readers + "key for the bench, every key of another bench",
        ["GET /record/{Bench}/{Batch:int}"] = People + Readers + "key for the bench",
        ["GET /record/{Bench}/{Batch:int}/amend"] = "supervisor, administrator",
        ["GET /record/{Bench}/{Batch:int}/second"] = "supervisor, administrator",
        ["GET /record/{bench}/{batch:int}/bundle.zip"] = Readers + "supervisor, administrator",
        ["GET /second-look"] = "administrator",
        ["GET /record/{Bench}/{Batch:int}/release"] = "supervisor, administrator",
        ["GET /record/{Bench}/{Batch:int}/tell"] = People + "key for the bench",
        ["GET /record/{Bench}/{Batch:int}/late"] = "supervisor, administrator",
        ["GET /record/{Bench}/{Batch:int}/play"] = People + Readers + "key for the bench",
        ["GET /api/v1/benches/{bench}/batches/{batch:int}/moments/"] = People + Readers + "key for the bench",
        ["GET /api/v1/benches/{bench}/batches/{batch:int}/moments/{index:int}"] = People + Readers
            + "key for the bench",
        ["GET /api/v1/day"] = Lookers,
        ["GET /decisions"] = People + Readers + "key for the bench, every key of another bench",
        ["GET /waiting"] = People + "key for the bench, every key of another bench",
        ["GET /worklist"] = People + "key for the bench, every key of another bench",
        ["GET /api/v1/worklist/"] = People + "key for requests, every key of another bench",
        ["POST /api/v1/worklist/"] = People + "key for requests, every key of another bench",
        ["POST /api/v1/worklist/read"] = People + "key for requests, every key of another bench",
        ["DELETE /api/v1/worklist/{order:long}"] = People + "key for requests, every key of another bench",
        ["GET /api/v1/waiting"] = People + "key for the bench, every key of another bench",
        ["GET /reports"] = Readers + "supervisor, administrator",
        ["GET /what-if"] = "supervisor, administrator",
        ["GET /step-times"] = Readers + "supervisor, administrator",
        ["GET /step-times.csv"] = Readers + "supervisor, administrator",
        ["GET /reports/{table}.csv"] = Readers + "supervisor, administrator",
        ["GET /retention"] = "administrator",
        ["GET /record-check"] = "administrator",
        ["GET /api/v1/record/cartridges.csv"] = Readers + "supervisor, administrator, key for events",
        ["GET /api/v1/record/amendments.csv"] = Readers + "supervisor, administrator, key for events",
        ["GET /api/v1/record/happenings.csv"] = Readers + "supervisor, administrator, key for events",
        ["GET /api/v1/record/events.jsonl"] = Readers + "supervisor, administrator, key for events",
        ["GET /people"] = "administrator",
        ["GET /connections"] = "supervisor, administrator",
        ["GET /instruments"] = "supervisor, administrator",
        ["GET /results-by-wire"] = People + "key for the bench, every key of another bench",
        ["GET /devices"] = "supervisor, administrator",
        ["GET /keys"] = "administrator",
        ["GET /assays"] = Readers + "supervisor, administrator",
        ["GET /assays/new"] = "supervisor, administrator",
        ["GET /assays/{Code}"] = Readers + "supervisor, administrator",
        ["GET /assays/{Code}/draft"] = "supervisor, administrator",
        ["GET /assays.json"] = Readers + "supervisor, administrator",
        ["GET /benches/new"] = "supervisor, administrator",
        ["GET /clinic-log"] = Readers + "supervisor, administrator",
        ["GET /me"] = "aide, supervisor, administrator",
        ["GET /me/passkeys"] = "aide, supervisor, administrator",
        ["GET /me/sign-ins"] = "aide, supervisor, administrator",
        ["GET /people/{Person}"] = "administrator",
        ["POST /api/v1/passkeys/new/ask"] = "aide, supervisor, administrator",
        ["POST /api/v1/passkeys/new"] = "aide, supervisor, administrator",
        ["POST /api/v1/passkeys/sign-in/ask"] = Everybody,
        ["POST /api/v1/passkeys/sign-in"] = Everybody,
        ["GET /sign-in"] = Everybody,
        ["GET /set-up"] = Everybody,
        ["GET /welcome"] = Everybody,
        ["GET /enrol"] = Everybody,
        ["GET /not-found"] = Everybody,
        ["GET /failed"] = Everybody,
        ["POST /sign-out"] = Lookers,
        ["GET /hub/bench"] = Lookers,
        ["POST /hub/bench/negotiate"] = Lookers,
        ["GET /_blazor"] = Lookers,
        ["POST /_blazor/negotiate"] = Lookers,
        ["POST /_blazor/disconnect/"] = Lookers,
        ["GET /_blazor/initializers/"] = Lookers,
        ["GET /_framework/opaque-redirect"] = Lookers,
        ["GET /openapi/{documentName}.json"] = Lookers,
        ["GET /api/{**rest}"] = Lookers,
        ["GET /api/v1/time"] = Lookers,
        ["POST /api/v1/time"] = Lookers,
        ["GET /clock"] = Lookers,
        ["GET /health/live"] = Everybody,
        ["GET /health/ready"] = Everybody,
        ["GET /api/v1/clock/"] = Lookers,
        ["POST /api/v1/clock/confirm"] = "aide, supervisor, administrator, administrator by PIN",
        ["GET /api/v1/who"] = Lookers,
        ["GET /api/v1/benches"] = Lookers,
        ["GET /api/v1/benches/{bench}"] = LookersAtOne,
        ["POST /api/v1/benches/{bench}/commands"] = People + "locked tablet, key for the bench",
        ["POST /api/v1/benches/{bench}/requests"] = People + "key for requests",
        ["GET /api/v1/benches/{bench}/rack"] = People + "key for requests",
        ["POST /api/v1/benches/{bench}/rack"] = People,
        ["POST /api/v1/benches/{bench}/rack/check"] = People,
        ["POST /api/v1/benches/{bench}/rack/read"] = People + "key for requests",
        ["GET /api/v1/connections"] = Readers + "supervisor, administrator, key for events, every key of another bench",
        ["GET /api/v1/benches/{bench}/events"] = Readers + "supervisor, administrator, key for events",
        ["GET /api/v1/tablet/people"] = "administrator by PIN, locked tablet, tablet of another bench",
        ["POST /api/v1/tablet/pin"] = "administrator by PIN, locked tablet, tablet of another bench",
        ["POST /api/v1/tablet/lock"] = "locked tablet, tablet of another bench, administrator by PIN",
    };

    private static readonly HashSet<string> OpenPages = ["SignInPage", "SetUpPage", "WelcomePage", "EnrolPage",
        "NotFound", "Failed"];

    /// <summary>What somebody asks who is not in yet, by the module of a page that is open.</summary>
    private static readonly HashSet<string> OpenAddresses =
        ["/api/v1/passkeys/sign-in/ask", "/api/v1/passkeys/sign-in"];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private IEnumerable<RouteEndpoint> Endpoints =>
        house.Server.Services.GetRequiredService<EndpointDataSource>().Endpoints
        .OfType<RouteEndpoint>()
        // Files of the pages: for everybody, and nothing but files.
        .Where(endpoint => endpoint.Metadata.All(item => item.GetType().Name != "StaticAssetDescriptor")
            && endpoint.RoutePattern.RawText != "{**path:file}");

    [Fact]
    public void Endpoints_EachOfThem_SaysForItselfWhomItIsFor()
    {
        Assert.True(Endpoints.Count() > 25);
        Assert.All(Endpoints, endpoint =>
        {
            if (endpoint.RoutePattern.RawText!.StartsWith("/health/", StringComparison.Ordinal))
                return; // For whatever watches the service: says nothing about anybody.
            if (OpenAddresses.Contains(endpoint.RoutePattern.RawText))
                return;
            if (endpoint.Metadata.GetMetadata<ComponentTypeMetadata>()?.Type is { } page)
                Assert.True(page.GetCustomAttribute<NeedsAttribute>() is not null || OpenPages.Contains(page.Name),
                    page.Name);
            else
                Assert.True(endpoint.Metadata.GetMetadata<NeedsAttribute>() is not null, endpoint.DisplayName);
            Assert.True(endpoint.Metadata.GetMetadata<IAllowAnonymous>() is null
                || OpenPages.Contains(endpoint.Metadata.GetMetadata<ComponentTypeMetadata>()?.Type.Name ?? ""),
                endpoint.DisplayName);
        });
    }

    [Fact]
    public async Task Endpoints_AsEverybody_OpenToThoseInTheTableAlone()
    {
        var faults = new List<string>();
        // The lock comes last: it ends the sign-in that others in the table rest on.
        foreach (var (method, pattern) in Addresses()
            .OrderBy(one => one.Pattern.EndsWith("lock", StringComparison.Ordinal)))
        {
            if (!Open.TryGetValue($"{method} {pattern}", out var table))
            {
                faults.Add($"{method} {pattern} is in no table: say in this test whom it is for.");
                continue;
            }

            var allowed = table.Split(", ").ToHashSet();
            foreach (var (who, client) in house.Clients)
            {
                var expected = table == Everybody || allowed.Contains(who);
                var status = await StatusAsync(client, method, pattern);
                if (IsOpen(status) != expected)
                    faults.Add($"{method} {pattern} as {who}: {status}");
            }
        }

        Assert.Empty(faults);
    }

    /// <summary>Who may call which method of the hub for bench-1.</summary>
    private static readonly Dictionary<string, string> OpenCalls = new()
    {
        [nameof(BenchHub.Watch)] = AtTheBench,
        [nameof(BenchHub.Leave)] = LookersAtOne,
        [nameof(BenchHub.Send)] = People + "locked tablet, key for the bench",
        [nameof(BenchHub.Attend)] = People + "locked tablet, key for the bench",
        [nameof(BenchHub.JudgeBox)] = AtTheBench,
        [nameof(BenchHub.Here)] = Lookers,
        [nameof(BenchHub.WhoIsHere)] = Lookers,
    };

    private static IReadOnlyList<MethodInfo> HubMethods { get; } =
    [
        .. typeof(BenchHub).GetMethods(BindingFlags.Public | BindingFlags.Instance | BindingFlags.DeclaredOnly)
            .Where(method => method.GetBaseDefinition() == method),
    ];

    [Fact]
    public void HubMethods_EachOfThem_SaysWhatItNeeds()
    {
        Assert.Equal(OpenCalls.Keys.Order(), HubMethods.Select(method => method.Name).Order());
        Assert.All(HubMethods, method => Assert.NotNull(method.GetCustomAttribute<HubNeedsAttribute>()));
    }

    [Fact]
    public async Task HubMethods_AsEverybody_OpenToThoseInTheTableAlone()
    {
        var faults = new List<string>();
        foreach (var (who, client) in house.Clients)
        {
            await using var line = LineOf(client);
            var isIn = await OpensAsync(line);
            if (isIn != Lookers.Split(", ").Contains(who))
                faults.Add($"The line as {who}: {isIn}");
            foreach (var method in HubMethods.Where(_ => isIn))
            {
                var allowed = OpenCalls[method.Name].Split(", ").Contains(who);
                if (await CallsAsync(line, method) != allowed)
                    faults.Add($"{method.Name} as {who}: {!allowed}");
            }
        }

        Assert.Empty(faults);
    }

    [Fact]
    public async Task Snapshots_ForWhoMayNotSeeTheBench_NameNoSpecimenInAnyLayout()
    {
        var named = house.Server.Services.GetRequiredService<BenchRegistry>().Find("bench-1")!.Present.State
            .Cartridges.Select(cartridge => cartridge.Wanted.Request.Specimen.Value).Distinct().ToList();
        Assert.NotEmpty(named);
        foreach (var layout in (string[])["wide", "portrait", "narrow", "wall"])
            foreach (var who in LookersAtOne.Split(", "))
            {
                var told = await house.Clients[who]
                    .GetStringAsync(new Uri($"/api/v1/benches/bench-1?layout={layout}", UriKind.Relative), Cancel);
                Assert.Equal(layout != "wall" && AtTheBench.Split(", ").Contains(who),
                    named.Any(name => told.Contains(name, StringComparison.Ordinal)));
            }

        await using var line = LineOf(house.Clients["wall"]);
        await line.StartAsync(Cancel);
        var seen = await line.InvokeAsync<JsonElement>(nameof(BenchHub.Watch), "bench-1", "wall", Cancel);
        Assert.DoesNotContain(named, name => seen.GetRawText().Contains(name, StringComparison.Ordinal));
    }

    private HubConnection LineOf(HttpClient client) => new HubConnectionBuilder()
        .WithUrl(new Uri(house.Server.ClientOptions.BaseAddress, BenchHub.Path), options =>
        {
            options.HttpMessageHandlerFactory = _ => house.Server.Server.CreateHandler();
            options.Transports = HttpTransportType.LongPolling;
            foreach (var (name, values) in client.DefaultRequestHeaders)
                options.Headers[name] = string.Join("; ", values);
        })
        .AddJsonProtocol(options => options.PayloadSerializerOptions.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb))
        .Build();

    private static async Task<bool> OpensAsync(HubConnection line)
    {
        try
        {
            await line.StartAsync(Cancel);
            return true;
        }
        catch (HttpRequestException)
        {
            return false;
        }
    }

    private static async Task<bool> CallsAsync(HubConnection line, MethodInfo method)
    {
        var said = new ScreenCommand(Guid.NewGuid().ToString("N"), "mixed", "2026-03-02T08:00:00Z", false, "test",
            "R02", null, null, null, null, null, null, null, null, null, null, null);
        object?[] arguments = [.. method.GetParameters().Select(parameter => parameter.Name switch
        {
            "bench" => "bench-1",
            "layout" => "wide",
            "command" => said,
            "due" => "R02",
            "scanned" => "(01)09521234543213(10)DA-L1",
            _ => (object)true,
        })];
        try
        {
            var answer = await line.InvokeCoreAsync<JsonElement?>(method.Name, arguments, Cancel);
            return answer is not { ValueKind: JsonValueKind.Object } told
                || !told.TryGetProperty("sentence", out var sentence)
                || sentence.GetString() != ServiceWords.NotAllowed;
        }
        catch (HubException)
        {
            return false;
        }
    }

    private List<(string Method, string Pattern)> Addresses() =>
    [
        .. Endpoints.SelectMany(endpoint =>
        {
            var methods = endpoint.Metadata.GetMetadata<HttpMethodMetadata>()?.HttpMethods ?? ["GET"];
            var method = methods.Contains("GET") || methods.Count == 0 ? "GET" : methods[0];
            // A line's first step is a post.
            method = endpoint.RoutePattern.RawText!.EndsWith("negotiate", StringComparison.Ordinal)
                || endpoint.RoutePattern.RawText.Contains("disconnect", StringComparison.Ordinal) ? "POST" : method;
            return new[] { (method, "/" + endpoint.RoutePattern.RawText!.TrimStart('/')) };
        }).Distinct(),
    ];

    private static int asked;

    private static async Task<HttpStatusCode> StatusAsync(HttpClient client, string method, string pattern)
    {
        var address = pattern.Replace("{bench}", "bench-1", StringComparison.OrdinalIgnoreCase)
            .Replace("{Code}", "DA", StringComparison.Ordinal)
            .Replace("{batch:int}", "1", StringComparison.OrdinalIgnoreCase)
            .Replace("{index:int}", "0", StringComparison.Ordinal)
            .Replace("{number:int}", "1", StringComparison.OrdinalIgnoreCase)
            .Replace("{order:long}", "1", StringComparison.Ordinal)
            .Replace("{Request}", "R01", StringComparison.Ordinal)
            .Replace("{Person}", "lena", StringComparison.Ordinal)
            .Replace("{documentName}", "v1", StringComparison.Ordinal)
            .Replace("{**rest}", "nothing", StringComparison.Ordinal);
        using var request = new HttpRequestMessage(new HttpMethod(method), new Uri(address, UriKind.Relative));
        if (method == "POST")
            request.Content = new StringContent("{}", Encoding.UTF8, "application/json");
        // Each from a place of its own: how often one place may ask is no right.
        var number = Interlocked.Increment(ref asked);
        request.Headers.Add(TestAddresses.Header, $"127.1.{number / 250}.{number % 250}");
        using var answer = await client.SendAsync(request, HttpCompletionOption.ResponseHeadersRead, Cancel);
        return answer.StatusCode == HttpStatusCode.Redirect && answer.Headers.Location!.ToString()
            .StartsWith("/sign-in?to=", StringComparison.Ordinal)
            ? HttpStatusCode.Unauthorized
            : answer.StatusCode;
    }

    private static bool IsOpen(HttpStatusCode status) =>
        status is not (HttpStatusCode.Unauthorized or HttpStatusCode.Forbidden);
}
