using System.Net;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Server.Doors;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Decisions;
using Incubation.Service.People;
using Incubation.Service.Programme;
using Incubation.Service.Stock;
using Incubation.TestKit;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Time.Testing;
using Microsoft.JSInterop;
using NodaTime;

namespace Incubation.Server.Tests.Doors;

/// <summary>Somebody who inspects: from the code to the end, and that nothing which they send is taken.</summary>
public sealed class InspectorTest : IAsyncDisposable
{
    private const string Password = "violet ladder seventeen";
    private readonly FakeTimeProvider time = new(TimeProvider.System.GetUtcNow());
    private readonly ServerFactory server;

    public InspectorTest() => server = new ServerFactory
    {
        Parts = parts =>
        {
            parts.AddKeyedSingleton<TimeProvider>(Sessions.RealTime, time);
            parts.AddSingleton(new BenchClock(time, 1));
        },
    };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private ClinicLog Log => server.Services.GetRequiredService<ClinicHost>().Log;

    private PeopleService Desk => server.Services.GetRequiredService<PeopleService>();

    public ValueTask DisposeAsync() => server.DisposeAsync();

    [Fact]
    public async Task CodeToLastDay_ReadsUntilThenAndIsInTheLog()
    {
        var code = server.Admit("ada", Desk.Today.PlusDays(1));
        using var client = server.CreateClient(new() { AllowAutoRedirect = false });
        Assert.Contains("has no PIN", await WelcomeAsync(client, code, "482917"), StringComparison.Ordinal);
        Assert.Contains("Your password is set", await WelcomeAsync(client, code, ""), StringComparison.Ordinal);
        // The code has opened what it opens.
        Assert.Contains("Wrong user name or code", await WelcomeAsync(client, code, ""), StringComparison.Ordinal);
        using (var signedIn = await SignIn.ByPasswordAsync(client, "ada", Password, Cancel))
            Assert.Equal(HttpStatusCode.Redirect, signedIn.StatusCode);

        foreach (var page in (string[])["/", "/record", "/reports", "/controls", "/lots", "/assays", "/decisions"])
            Assert.Contains($"Read only until {Desk.Today.PlusDays(1):uuuu-MM-dd}",
                await client.GetStringAsync(new Uri(page, UriKind.Relative), Cancel), StringComparison.Ordinal);
        (await client.GetAsync(new Uri("/api/v1/record/cartridges.csv", UriKind.Relative), Cancel)).Dispose();
        var said = Log.Entries().Where(entry => entry.Provenance.Person.Value == "ada").Select(entry => entry.Event);
        Assert.Single(said, one => one is ClinicEvent.RecordSeen { Bench: null, Batch: null });
        Assert.Single(said, one => one is ClinicEvent.RecordExported);
        Assert.Single(said, one => one is ClinicEvent.SignedIn);
        Assert.Single(Log.Entries(), entry => entry.Event is ClinicEvent.InspectorAdmitted { Person.Value: "ada" }
            && entry.Provenance.Person.Value == "mara");

        time.Advance(TimeSpan.FromDays(2));
        using (var late = await client.GetAsync(new Uri("/record", UriKind.Relative), Cancel))
            Assert.StartsWith("/sign-in", late.Headers.Location?.ToString(), StringComparison.Ordinal);
        using var again = await SignIn.ByPasswordAsync(client, "ada", Password, Cancel);
        Assert.Contains("Your access has ended", await again.Content.ReadAsStringAsync(Cancel),
            StringComparison.Ordinal);
    }

    /// <summary>The day ends, or an administrator ends it: what stands open is loaded again, which leads out.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Page_StandsOpenAtTheEnd_IsLoadedAgain(bool early)
    {
        // Late enough that no length of a sign-in is over first.
        var zone = server.Services.GetRequiredService<ClinicHost>().Facts.Zone;
        var midnight = Desk.Today.PlusDays(1).AtStartOfDayInZone(zone).ToInstant();
        time.SetUtcNow((midnight - Duration.FromMinutes(5)).ToDateTimeOffset());
        server.Admit("ada");
        var sessions = server.Services.GetRequiredService<Sessions>();
        var token = sessions.Begin(new PersonId("ada"), SignInWay.Password, null, "test")!;
        var session = sessions.Find(Tokens.Hash(token))!;
        var page = new Reloads();
        using var door = new CircuitDoor(new Now(server.Services.GetRequiredService<Actors>(), session), sessions,
            new PageReload(page, new NoLines()));
        await door.OnCircuitOpenedAsync(null!, Cancel);

        if (early)
            Assert.True(Desk.End(ServerFactory.Administrator, session.Person).IsDone);
        else
        {
            sessions.Sweep();
            Assert.NotNull(sessions.Find(session.Id));
            time.Advance(TimeSpan.FromMinutes(6));
            sessions.Sweep();
        }

        await page.Once.WaitAsync(Patience.Usual, Cancel);
        Assert.Null(sessions.Find(session.Id));
        Assert.Contains(Log.Entries(), entry => entry.Event is ClinicEvent.SignedOut { Person.Value: "ada" } ended
            && ended.Why == (early ? SignOutCause.Withdrawn : SignOutCause.Expired));
    }

    [Fact]
    public void Admit_AgainstItsBounds_RefusedWithWhatToDo()
    {
        var lena = new Actor.Person(Log.People.Person(new PersonId("lena"))!, ServerFactory.Administrator.Session,
            null);
        string Fault(Actor actor, string id, string? day) => Desk.Admit(actor, id, "Kim", day).Fault!;
        var today = $"{Desk.Today:uuuu-MM-dd}";
        Assert.Equal(ServiceWords.NotAllowed, Fault(lena, "kim", today));
        Assert.Contains("lower-case letters", Fault(ServerFactory.Administrator, "K!", today),
            StringComparison.Ordinal);
        foreach (var day in (string?[])[null, "", "tomorrow", "2026-13-01"])
            Assert.Contains("between today and 30 days", Fault(ServerFactory.Administrator, "kim", day),
                StringComparison.Ordinal);
        foreach (var days in (int[])[-1, 31])
            Assert.Contains("thirty days from today",
                Fault(ServerFactory.Administrator, "kim", $"{Desk.Today.PlusDays(days):uuuu-MM-dd}"),
                StringComparison.Ordinal);
        Assert.Null(Log.People.Person(new PersonId("kim")));
    }

    [Fact]
    public async Task Tablet_OfABench_TakesNoSignInToRead()
    {
        var code = server.Admit("ada");
        using var client = server.CreateClient(new() { AllowAutoRedirect = false });
        await WelcomeAsync(client, code, "");
        client.DefaultRequestHeaders.Add("Cookie", server.Enrol(DeviceKind.Tablet, "bench-1").Cookie);

        using var answer = await SignIn.ByPasswordAsync(client, "ada", Password, Cancel);

        Assert.Contains("not on a tablet", await answer.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        Assert.DoesNotContain(Log.Entries(), entry => entry.Event is ClinicEvent.SignedIn { Person.Value: "ada" });
    }

    [Fact]
    public void Commands_EachOfThem_IsNotTheirs()
    {
        server.Admit("ada");
        Assert.All(CommandJson.Kinds.Values, kind => Assert.False(CommandRights.May(Ada(),
            (BenchCommand)RuntimeHelpers.GetUninitializedObject(kind), "bench-1"), kind.Name));
    }

    /// <summary>Every command that a screen or a program sends, as the stored ones are.</summary>
    [Fact]
    public async Task Commands_OverHttp_AreRefusedAndNothingIsRecorded()
    {
        server.Admit("ada");
        using var client = server.ClientAs("ada");
        var stored = JsonSerializer.Deserialize<List<JsonElement>>(await File.ReadAllTextAsync(
            Path.Combine(AppContext.BaseDirectory, "Samples", "outbox-1.json"), Cancel))!;
        Assert.True(stored.Count > 30);
        foreach (var command in stored)
        {
            using var content = new StringContent(command.GetRawText(), Encoding.UTF8, "application/json");
            using var answer = await client.PostAsync(new Uri("/api/v1/benches/bench-1/commands", UriKind.Relative),
                content, Cancel);
            Assert.True(answer.StatusCode is HttpStatusCode.Forbidden or HttpStatusCode.TooManyRequests,
                $"{answer.StatusCode} {command}");
        }

        // The server's own go on: what it plans is no command of theirs.
        var said = await client.GetStringAsync(new Uri("/api/v1/benches/bench-1/events?limit=500", UriKind.Relative),
            Cancel);
        Assert.Contains("bench-opened", said, StringComparison.Ordinal);
        Assert.DoesNotContain("\"ada\"", said, StringComparison.Ordinal);
    }

    /// <summary>What the office's pages do: each service says no by itself, whatever a page shows.</summary>
    [Fact]
    public async Task Services_OfTheOffice_RefuseThemAll()
    {
        server.Admit("ada");
        var ada = Ada();
        var before = Log.Revision;
        var comparisons = server.Services.GetRequiredService<ComparisonService>();
        var controls = server.Services.GetRequiredService<Service.Controls.ControlService>();
        Assert.NotEmpty(server.Services.GetRequiredService<StockService>().Receive(ada, new ReceiveForm()).Faults);
        Assert.Equal(ServiceWords.NotAllowed, (await comparisons.RequireAsync(ada, true)).Fault);
        Assert.Equal(ServiceWords.NotAllowed, (await controls.ServicedAsync(ada, new BenchId("bench-1"),
            new ReaderNumber(1), "Cleaned")).Fault);
        Assert.Equal(ServiceWords.NotAllowed, server.Services.GetRequiredService<Service.Assays.AssayService>()
            .Drop(ada, new AssayCode("DA"), 1).Fault);
        Assert.Equal(ServiceWords.NotAllowed, (await Desk.ChangeOwnAsync(ada, Password, "amber ladder eighteen", null))
            .Fault);
        Assert.Equal(ServiceWords.NotAllowed, Desk.NewCode(ada, ada.Who.Id).Fault);
        Assert.Equal(ServiceWords.NotAllowed, Desk.End(ada, new PersonId("lena")).Fault);
        Assert.Equal(before, Log.Revision);
        // What waits for others is in their sight, and none of it is theirs to decide.
        var lines = server.Services.GetRequiredService<DecisionList>().For(ada);
        Assert.Equal(server.Services.GetRequiredService<DecisionList>().For(ServerFactory.Administrator).Count,
            lines.Count);
        Assert.DoesNotContain(lines, line => line.MayDecide(ada));
    }

    private Actor.Person Ada() => new(Log.People.Person(new PersonId("ada"))!, new Session("s", new PersonId("ada"),
        SignInWay.Password, null, new DeviceId("browser-1"), default, default), null);

    private static async Task<string> WelcomeAsync(HttpClient client, string code, string pin)
    {
        using var answer = await SignIn.FillInAsync(client, "/welcome", [new("Form.Name", "ada"),
            new("Form.Code", code), new("Form.Password", Password), new("Form.Pin", pin)], Cancel);
        return await answer.Content.ReadAsStringAsync(Cancel);
    }

    private sealed class Now(Actors actors, Session session) : ICurrentActor
    {
        public ValueTask<Actor?> GetAsync() => new(actors.Present(Actors.OfSession(session)));
    }

    private sealed class NoLines : Microsoft.Extensions.Logging.ILogger<PageReload>
    {
        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(Microsoft.Extensions.Logging.LogLevel logLevel) => false;

        public void Log<TState>(Microsoft.Extensions.Logging.LogLevel logLevel,
            Microsoft.Extensions.Logging.EventId eventId, TState state, Exception? exception,
            Func<TState, Exception?, string> formatter)
        {
        }
    }

    private sealed class Reloads : IJSRuntime
    {
        private readonly TaskCompletionSource once = new();

        public Task Once => once.Task;

        public ValueTask<TValue> InvokeAsync<TValue>(string identifier, object?[]? args)
        {
            once.TrySetResult();
            return default;
        }

        public ValueTask<TValue> InvokeAsync<TValue>(string identifier, CancellationToken cancellationToken,
            object?[]? args) => InvokeAsync<TValue>(identifier, args);
    }
}
