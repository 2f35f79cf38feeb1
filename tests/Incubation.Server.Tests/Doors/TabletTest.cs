using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Records;
using Incubation.Server.Hubs;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.People;
using Incubation.Service.Snapshots;
using Incubation.Service.Tests.Support;
using Incubation.TestKit;
using Microsoft.AspNetCore.SignalR;
using Microsoft.AspNetCore.SignalR.Client;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;
using NodaTime.Text;

namespace Incubation.Server.Tests.Doors;

/// <summary>Enrolled tablets and wall screens, at the hub and at the pages.</summary>
public sealed class TabletTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();
    private readonly List<HubConnection> lines = [];

    public TabletTest()
    {
        server.UseKestrel(0);
        server.StartServer();
        server.Services.GetRequiredService<ClinicHost>().Log.Record(
            new ClinicEvent.BenchRegistered(new BenchId("bench-2"), "Bench 2"), Provenance());
    }

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public async ValueTask DisposeAsync()
    {
        foreach (var line in lines)
            await line.DisposeAsync();
        await server.DisposeAsync();
    }

    [Fact]
    public async Task Nobody_OpensNoLine()
    {
        var fault = await Assert.ThrowsAnyAsync<Exception>(() => Line("incubation=invented"));
        Assert.Contains("401", fault.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("Watch")]
    [InlineData("Send")]
    [InlineData("Leave")]
    public async Task TabletOfAnotherBench_CallsForThisOne_Refused(string method)
    {
        var hub = await Line(server.Enrol(DeviceKind.Tablet, "bench-2").Cookie);
        var before = State.Revision;

        if (method == "Send")
            Assert.False(
                (await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", Command("start-batch"), Cancel)).Recorded);
        else
            await Assert.ThrowsAsync<HubException>(() => hub.InvokeAsync(method, "bench-1", "wide", Cancel));
        Assert.Equal(before, State.Revision);
    }

    [Fact]
    public async Task Wall_Reports_Refused()
    {
        var hub = await Line(server.Enrol(DeviceKind.Wall, null).Cookie);

        await hub.InvokeAsync<BenchSnapshot>("Watch", "bench-1", "wall", Cancel);
        var answer = await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", Command("mixed") with { Request = "R01" },
            Cancel);

        Assert.False(answer.Recorded);
        Assert.False(answer.SignIn);
    }

    [Fact]
    public async Task Locked_StartsAndReports_OnlyTheReportIsTakenAndMarked()
    {
        var (cookie, device) = server.Enrol(DeviceKind.Tablet, "bench-1");
        using var client = server.ClientWith(cookie);
        var hub = await Line(cookie);
        await Pin(client, "lena", "274913");
        Assert.True((await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", Command("start-batch"), Cancel)).Recorded);
        using (await client.PostAsync(new Uri("/api/v1/tablet/lock", UriKind.Relative), null, Cancel))
        {
            // Nobody is signed in from here on.
        }

        var close = await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", Command("close-batch"), Cancel);
        var report = Command("mixed") with { Request = "R02", Person = "lena" };
        var mixed = await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", report, Cancel);

        Assert.Contains("locked", close.Sentence, StringComparison.Ordinal);
        Assert.True(mixed.Recorded, mixed.Sentence);
        var open = Assert.Single(State.Unchecked);
        Assert.Equal(("lena", device, report.Id), (open.Person.Value, open.Device, open.Report.Value));

        // The next who signs in settles it; a supervisor elsewhere sees who said so.
        await Pin(client, "tomas", "830562");
        Assert.True((await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", Command("settle"), Cancel)).Recorded);
        Assert.Empty(State.Unchecked);
    }

    [Fact]
    public async Task ReportOfWhoWasThereBefore_ArrivingAfterTheSwitch_IsMarkedAsTheirs()
    {
        var (cookie, _) = server.Enrol(DeviceKind.Tablet, "bench-1");
        using var client = server.ClientWith(cookie);
        var hub = await Line(cookie);
        await Pin(client, "tomas", "830562");
        await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", Command("start-batch"), Cancel);

        await hub.InvokeAsync<CommandAnswer>("Send", "bench-1",
            Command("mixed") with { Request = "R02", Person = "lena" }, Cancel);

        Assert.Equal("lena", Assert.Single(State.Unchecked).Person.Value);
        Assert.Equal("tomas", Assert.Single(Recorded().OfType<BenchEvent.SentByAnother>()).Sender.Value);
    }

    [Theory]
    [InlineData("1970-01-01")]
    [InlineData("")]
    [InlineData(null)]
    [InlineData("2026-13-45T25:61:00Z")]
    [InlineData("2026-01-01T12:00:00+02:00")]
    [InlineData("\u202Enoon")]
    public async Task Report_WithATimeThatNobodyCanRead_RecordedAsOfItsArrivalWithTheText(string? at)
    {
        var (cookie, _) = server.Enrol(DeviceKind.Tablet, "bench-1");
        using var client = server.ClientWith(cookie);
        var hub = await Line(cookie);
        await Pin(client, "tomas", "830562");
        await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", Command("start-batch"), Cancel);

        var answer = await hub.InvokeAsync<CommandAnswer>("Send", "bench-1",
            Command("mixed") with { Request = "R02", At = at! }, Cancel);
        var refused = await hub.InvokeAsync<CommandAnswer>("Send", "bench-1",
            Command("close-batch") with { At = at! }, Cancel);

        Assert.True(answer.Recorded, answer.Sentence);
        Assert.False(refused.Recorded);
        Assert.Equal((at ?? "").Replace('\u202E', '\uFFFD'),
            Assert.Single(Recorded().OfType<BenchEvent.TimeNotTaken>()).Claimed);
    }

    [Fact]
    public async Task ReportFromALockedTablet_ArrivingAfterSomebodySignedIn_IsNotTheirs()
    {
        var (cookie, _) = server.Enrol(DeviceKind.Tablet, "bench-1");
        using var client = server.ClientWith(cookie);
        var hub = await Line(cookie);
        await Pin(client, "tomas", "830562");
        await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", Command("start-batch"), Cancel);

        await hub.InvokeAsync<CommandAnswer>("Send", "bench-1",
            Command("mixed") with { Request = "R02", Person = "lena", Locked = true }, Cancel);
        await hub.InvokeAsync<CommandAnswer>("Send", "bench-1",
            Command("mixed") with { Request = "R03", Person = "tomas", Locked = true }, Cancel);

        Assert.Equal(["lena", "tomas"], State.Unchecked.Select(open => open.Person.Value));
    }

    [Fact]
    public async Task Result_SentByAnAideInASupervisorsName_IsHeldAndTheExportSaysWhoSentIt()
    {
        var hub = await Line(server.CookieOf("lena"));
        await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", Command("start-batch"), Cancel);

        await hub.InvokeAsync<CommandAnswer>("Send", "bench-1",
            Command("result") with { Request = "R02", Person = "ines", Value = "5", Shown = SpecimenOf("R02") },
            Cancel);
        await hub.InvokeAsync<CommandAnswer>("Send", "bench-1",
            Command("result") with { Request = "R03", Person = "lena", Value = "5", Shown = SpecimenOf("R03") },
            Cancel);

        bool Unchecked(string request) => State.Find(new RequestId(request))!.Status!.NotChecked;
        Assert.True(State.Find(new RequestId("R02"))!.IsHeld);
        Assert.True(Unchecked("R02"));
        Assert.False(Unchecked("R03"));
        using var client = server.ClientAs("ines");
        var lines = (await client.GetStringAsync(new Uri("/api/v1/record/cartridges.csv", UriKind.Relative), Cancel))
            .Split("\r\n");
        var columns = lines[0].Split(',');
        string[] Values(string request) => lines.Single(line => line.Contains($",\"{request}\",",
            StringComparison.Ordinal)).Split(',');
        string Value(string request, string column) => Values(request)[Array.IndexOf(columns, $"\"{column}\"")];
        Assert.Equal(("\"no\"", "\"lena\"", "\"ines\""),
            (Value("R02", "resultChecked"), Value("R02", "resultSentBy"), Value("R02", "resultBy")));
        Assert.Equal(("\"yes\"", ""), (Value("R03", "resultChecked"), Value("R03", "resultSentBy")));
    }

    [Theory]
    [InlineData("start-batch")]
    [InlineData("close-batch")]
    [InlineData("withdraw")]
    public async Task Instruction_InAColleaguesName_Refused(string kind)
    {
        var hub = await Line(server.CookieOf("lena"));

        var answer = await hub.InvokeAsync<CommandAnswer>("Send", "bench-1",
            Command(kind) with { Request = "R02", Person = "ines" }, Cancel);

        Assert.False(answer.Recorded);
        Assert.Contains("Someone else", answer.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Device_InACommand_IsTheOneThatTheServerKnows()
    {
        var hub = await Line(server.CookieOf("lena"));

        await hub.InvokeAsync<CommandAnswer>("Send", "bench-1",
            Command("start-batch") with { Device = "somebody-elses", Person = "lena" }, Cancel);

        using var client = server.ClientAs("ines");
        var events = await client.GetFromJsonAsync<JsonElement>("/api/v1/benches/bench-1/events?limit=500", Cancel);
        var started = events.GetProperty("events").EnumerateArray()
            .Single(one => one.GetProperty("type").GetString() == "batch-started");
        Assert.Equal("lena", started.GetProperty("person").GetString());
        Assert.StartsWith("browser-", started.GetProperty("device").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Revoked_WhileItsLineIsOpen_LineIsCutAndKeyOpensNothing()
    {
        var (cookie, device) = server.Enrol(DeviceKind.Tablet, "bench-1");
        using var client = server.ClientWith(cookie);
        var hub = await Line(cookie);
        var closed = new TaskCompletionSource();
        hub.Closed += _ =>
        {
            closed.TrySetResult();
            return Task.CompletedTask;
        };
        await hub.InvokeAsync<BenchSnapshot>("Watch", "bench-1", "wide", Cancel);
        var supervisor = AnAide.Lena with
        { Who = AnAide.Lena.Who with { Id = new PersonId("ines"), Role = Role.Supervisor } };

        Assert.True(server.Services.GetRequiredService<DeviceService>().Revoke(supervisor, device).IsDone);

        await closed.Task.WaitAsync(Patience.Usual, Cancel);
        using var answer = await client.GetAsync(new Uri("/api/v1/time", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.Unauthorized, answer.StatusCode);
    }

    [Fact]
    public async Task SignInEnds_WhileItsLineIsOpen_LineIsCut()
    {
        var cookie = server.CookieOf("lena");
        var hub = await Line(cookie);
        var closed = new TaskCompletionSource();
        hub.Closed += _ =>
        {
            closed.TrySetResult();
            return Task.CompletedTask;
        };
        await hub.InvokeAsync<WhoSnapshot>("Here", Cancel);

        server.Services.GetRequiredService<Sessions>().EndAllOf(new PersonId("lena"));

        await closed.Task.WaitAsync(Patience.Usual, Cancel);
    }

    [Fact]
    public async Task Code_OnTheTabletItself_GivesItsKeyOnce()
    {
        var supervisor = AnAide.Lena with
        { Who = AnAide.Lena.Who with { Id = new PersonId("ines"), Role = Role.Supervisor } };
        var code = server.Services.GetRequiredService<DeviceService>()
            .NewCode(supervisor, "Tablet 7", DeviceKind.Tablet, "bench-1").Shown!;
        using var handler = new HttpClientHandler { AllowAutoRedirect = false };
        using var tablet = new HttpClient(handler) { BaseAddress = server.ClientOptions.BaseAddress };

        using var first = await SignIn.FillInAsync(tablet, "/enrol", [new("Form.Code", code)], Cancel);
        using var again = await SignIn.FillInAsync(tablet, "/enrol", [new("Form.Code", code)], Cancel);

        Assert.Contains(first.Headers.GetValues("Set-Cookie"),
            one => one.StartsWith("incubation-device=tablet-", StringComparison.Ordinal));
        Assert.Contains("Wrong code", await again.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        var who = await tablet.GetFromJsonAsync<JsonElement>("/api/v1/who", Cancel);
        Assert.Equal("tablet", who.GetProperty("kind").GetString());
    }

    private string SpecimenOf(string request) =>
        State.Find(new RequestId(request))!.Wanted.Request.Specimen.Value;

    private List<BenchEvent> Recorded() =>
        [.. new BenchStreams(server.Services.GetRequiredService<DataFile>()).Load(new BenchId("bench-1"))
            .Select(entry => entry.Event)];

    private BenchState State => server.Services.GetRequiredService<BenchRegistry>().Find("bench-1")!.Present.State;

    private async Task<HubConnection> Line(string cookie)
    {
        var hub = new HubConnectionBuilder()
            .WithUrl(new Uri(server.ClientOptions.BaseAddress, BenchHub.Path), options =>
                options.Headers["Cookie"] = cookie)
            .AddJsonProtocol(options =>
                options.PayloadSerializerOptions.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb))
            .Build();
        lines.Add(hub);
        await hub.StartAsync(Cancel);
        return hub;
    }

    private static async Task Pin(HttpClient client, string person, string pin)
    {
        using var answer = await client.PostAsJsonAsync("/api/v1/tablet/pin", new { person, pin }, Cancel);
        Assert.True((await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("done").GetBoolean());
    }

    private ScreenCommand Command(string kind) => new(
        Guid.NewGuid().ToString("N"), kind,
            InstantPattern.ExtendedIso.Format(server.Services.GetRequiredService<BenchClock>().Now), false, "tablet",
        null, null, null, null, null, null, null, null, null, null, null, null);

    private static Provenance Provenance() => new(
        new ReportId(Guid.NewGuid().ToString("N")), Instant.FromUtc(2026, 3, 2, 8, 0),
            Instant.FromUtc(2026, 3, 2, 8, 0), new PersonId("test"), new DeviceId("test"));
}
