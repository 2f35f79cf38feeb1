using System.Net;
using System.Net.Http.Json;
using System.Runtime.CompilerServices;
using System.Text.Json;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using Incubation.TestKit;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Time.Testing;

namespace Incubation.Server.Tests.Doors;

/// <summary>Signing in and out, through the pages.</summary>
public sealed class SignInTest : IAsyncDisposable
{
    // Waits are real time's, which stands still: how many tries come before one must not hang on the machine.
    private readonly ServerFactory server = new()
    {
        Parts = parts => parts.AddKeyedSingleton<TimeProvider>(Sessions.RealTime,
            new FakeTimeProvider(TimeProvider.System.GetUtcNow())),
    };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private ClinicLog Log => server.Services.GetRequiredService<ClinicHost>().Log;

    public ValueTask DisposeAsync() => server.DisposeAsync();

    [Fact]
    public async Task Password_Right_SignedInWithCookieThatScriptsCannotRead()
    {
        using var client = Browser();

        using var answer = await SignIn.ByPasswordAsync(client, "Lena ", SignIn.Passwords["lena"], Cancel);

        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        var cookie = Assert.Single(answer.Headers.GetValues("Set-Cookie"),
            one => one.StartsWith("incubation=", StringComparison.Ordinal));
        Assert.Contains("httponly", cookie, StringComparison.OrdinalIgnoreCase);
        Assert.Contains("samesite=lax", cookie, StringComparison.OrdinalIgnoreCase);
        Assert.Contains("path=/", cookie, StringComparison.OrdinalIgnoreCase);
        Assert.Equal("lena", await WhoAsync(client));
        Assert.Contains(Log.Entries(), entry =>
            entry.Event is ClinicEvent.SignedIn { Person.Value: "lena", Way: SignInWay.Password }
            && entry.Provenance.Device.Value.StartsWith("browser-", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Password_OverTls_CookieBoundToThisHost()
    {
        using var client = Browser("https://localhost");

        using var answer = await SignIn.ByPasswordAsync(client, "lena", SignIn.Passwords["lena"], Cancel);

        var cookie = Assert.Single(answer.Headers.GetValues("Set-Cookie"),
            one => one.StartsWith("__Host-incubation=", StringComparison.Ordinal));
        Assert.Contains("secure", cookie, StringComparison.OrdinalIgnoreCase);
    }

    [Theory]
    [InlineData("lena", "wrong", "lena")]
    [InlineData("nobody-knows", "demo lamp orchard", null)]
    [InlineData("", "", null)]
    public async Task Password_Wrong_RefusedWithTheSameSentenceAndLogged(string name, string password, string? inLog)
    {
        using var client = Browser();

        using var answer = await SignIn.ByPasswordAsync(client, name, password, Cancel);

        Assert.Contains("Wrong user name or ", await answer.Content.ReadAsStringAsync(Cancel),
            StringComparison.Ordinal);
        Assert.Null(await WhoAsync(client));
        var refused = Assert.Single(Log.Entries().Select(entry => entry.Event).OfType<ClinicEvent.SignInRefused>());
        Assert.Equal((inLog, SignInFault.Wrong), (refused.Person?.Value, refused.Why));
    }

    [Fact]
    public async Task Password_WrongAgainAndAgain_MustWaitThereButNotElsewhere()
    {
        using var client = Browser();
        for (var tries = 0; tries <= BackOff.Free; tries++)
            (await SignIn.ByPasswordAsync(client, "lena", "wrong", Cancel)).Dispose();

        using var waiting = await SignIn.ByPasswordAsync(client, "lena", SignIn.Passwords["lena"], Cancel);
        Assert.Contains("Too many wrong attempts", await waiting.Content.ReadAsStringAsync(Cancel),
            StringComparison.Ordinal);

        (await SignIn.ByPasswordAsync(client, "lena", "wrong", Cancel)).Dispose();
        Assert.Single(Log.Entries(), entry => entry.Event is ClinicEvent.SignInRefused { Why: SignInFault.MustWait });

        // Her colleague at the same address, and she herself on an enrolled tablet, come in.
        using var colleague = await SignIn.ByPasswordAsync(client, "tomas", SignIn.Passwords["tomas"], Cancel);
        Assert.Equal("tomas", await WhoAsync(client));
        using var tablet = Browser();
        tablet.DefaultRequestHeaders.Add("Cookie", server.Enrol(DeviceKind.Tablet, "bench-1").Cookie);
        using var pin = await tablet.PostAsJsonAsync("/api/v1/tablet/pin", new { person = "lena", pin = "274913" },
            Cancel);
        Assert.True((await pin.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("done").GetBoolean());
    }

    [Fact]
    public async Task Password_ManyAtTheSameMoment_CountLikeManyInARow()
    {
        var desk = server.Services.GetRequiredService<SignInService>();
        var place = new SignInPlace(null, "192.0.2.9");

        await Task.WhenAll(Enumerable.Range(0, 20)
            .Select(_ => Task.Run(() => desk.PasswordAsync("lena", "wrong", place), Cancel)));

        Assert.True(Log.Entries()
            .Count(entry => entry.Event is ClinicEvent.SignInRefused { Why: SignInFault.Wrong }) <= BackOff.Free + 1);
    }

    [Fact]
    public async Task Password_StrangersUsedUpAllTries_KnownBrowserStillComesIn()
    {
        using var own = Browser();
        (await SignIn.ByPasswordAsync(own, "lena", SignIn.Passwords["lena"], Cancel)).Dispose();
        var stranger = new ClinicEvent.SignInRefused(new PersonId("lena"), SignInWay.Password, SignInFault.Wrong,
            "192.0.2.9");
        var clock = server.Services.GetRequiredService<BenchClock>();
        for (var tries = 0; tries < BackOff.MaxInARow; tries++)
            Log.Record(stranger, Provenances.Of(Actor.Nobody, new DeviceId("browser"), clock));

        using var elsewhere = Browser();
        using var refused = await SignIn.ByPasswordAsync(elsewhere, "lena", SignIn.Passwords["lena"], Cancel);
        Assert.Contains("Too many wrong attempts", await refused.Content.ReadAsStringAsync(Cancel),
            StringComparison.Ordinal);
        using var again = await SignIn.ByPasswordAsync(own, "lena", SignIn.Passwords["lena"], Cancel);
        Assert.Equal(HttpStatusCode.Redirect, again.StatusCode);
    }

    [Fact]
    public async Task Password_InsiderWithFreshBrowsers_IsSlowedDownAndTheOwnerIsNot()
    {
        using var own = Browser();
        (await SignIn.ByPasswordAsync(own, "mara", SignIn.Passwords["mara"], Cancel)).Dispose();

        // Each of these browsers is known to the server, by the insider's own sign-in.
        for (var tries = 0; tries < 12; tries++)
        {
            using var fresh = Browser();
            (await SignIn.ByPasswordAsync(fresh, "tomas", SignIn.Passwords["tomas"], Cancel)).Dispose();
            (await SignIn.ByPasswordAsync(fresh, "mara", "wrong", Cancel)).Dispose();
        }

        Assert.True(Log.Entries().Count(entry =>
            entry.Event is ClinicEvent.SignInRefused { Person.Value: "mara", Why: SignInFault.Wrong })
            <= BackOff.Free + 1);
        using var again = await SignIn.ByPasswordAsync(own, "mara", SignIn.Passwords["mara"], Cancel);
        Assert.Equal(HttpStatusCode.Redirect, again.StatusCode);
    }

    [Fact]
    public async Task SignIn_InTheSameBrowser_EndsTheOneBefore()
    {
        using var client = Browser();
        (await SignIn.ByPasswordAsync(client, "lena", SignIn.Passwords["lena"], Cancel)).Dispose();

        (await SignIn.ByPasswordAsync(client, "tomas", SignIn.Passwords["tomas"], Cancel)).Dispose();

        Assert.Contains(Log.Entries(), entry =>
            entry.Event is ClinicEvent.SignedOut { Person.Value: "lena", Why: SignOutCause.Switched });
    }

    [Fact]
    public async Task Pin_OfAColleagueGuessedAt_PasswordStillOpensTheSameTablet()
    {
        using var tablet = Browser();
        tablet.DefaultRequestHeaders.Add("Cookie", server.Enrol(DeviceKind.Tablet, "bench-1").Cookie);
        for (var tries = 0; tries <= BackOff.Free; tries++)
            (await tablet.PostAsJsonAsync("/api/v1/tablet/pin", new { person = "lena", pin = "000000" }, Cancel))
                .Dispose();
        using var pin = await tablet.PostAsJsonAsync("/api/v1/tablet/pin", new { person = "lena", pin = "274913" },
            Cancel);
        Assert.False((await pin.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("done").GetBoolean());

        using var password = await SignIn.ByPasswordAsync(tablet, "lena", SignIn.Passwords["lena"], Cancel);

        Assert.Equal("lena", await WhoAsync(tablet));
    }

    [Fact]
    public async Task ClinicLog_SupervisorLooks_SaysWhoWhenAndFromWhere()
    {
        using var stranger = Browser();
        using var client = server.ClientAs("ines");
        var people = server.Services.GetRequiredService<PeopleService>();
        while (Log.Revision <= 100)
            people.ChangeRole(Mara, new PersonId("tomas"), Log.People.Person(new PersonId("tomas"))!.Role == Role.Aide
                ? Role.Supervisor : Role.Aide);
        (await SignIn.ByPasswordAsync(stranger, "lena", "wrong", Cancel)).Dispose();

        var html = await client.GetStringAsync(new Uri("/clinic-log", UriKind.Relative), Cancel);
        var oldest = await client.GetStringAsync(new Uri("/clinic-log?before=3", UriKind.Relative), Cancel);

        Assert.Contains("Sign-in refused: Lena", html, StringComparison.Ordinal);
        Assert.Contains("clinic-log?before=", html, StringComparison.Ordinal);
        Assert.Contains("was set up", oldest, StringComparison.Ordinal);
        Assert.DoesNotContain("clinic-log?before=", oldest, StringComparison.Ordinal);
    }

    [Fact]
    public void EventWords_EveryEvent_HasSome()
    {
        var kinds = typeof(ClinicEvent).GetNestedTypes().Where(type => type.IsSubclassOf(typeof(ClinicEvent))).ToList();
        Assert.True(kinds.Count > 15);
        // Without its members an event may lack a name to say; what must not be is an event that nothing is said of.
        Assert.All(kinds, kind => Assert.IsNotType<ArgumentOutOfRangeException>(
            Record.Exception(() =>
                ClinicEventText.Of((ClinicEvent)RuntimeHelpers.GetUninitializedObject(kind), PeopleState.Empty))));
    }

    [Fact]
    public async Task SignOut_OldCookie_OpensNothingAnyMore()
    {
        var cookie = server.CookieOf("lena");
        using var client = server.ClientWith(cookie);
        Assert.Equal("lena", await WhoAsync(client));
        var sessions = server.Services.GetRequiredService<Sessions>();

        sessions.End(Tokens.Hash(cookie.Split('=')[1]), SignOutCause.ByPerson);

        Assert.Null(await WhoAsync(client));
        Assert.Contains(Log.Entries(), entry =>
            entry.Event is ClinicEvent.SignedOut { Person.Value: "lena", Why: SignOutCause.ByPerson });
    }

    [Fact]
    public async Task SignOut_Button_EndsIt()
    {
        using var client = Browser();
        (await SignIn.ByPasswordAsync(client, "lena", SignIn.Passwords["lena"], Cancel)).Dispose();

        var html = await client.GetStringAsync(new Uri("/wall", UriKind.Relative), Cancel);
        Assert.NotEmpty(html);
        var home = await client.GetStringAsync(new Uri("/", UriKind.Relative), Cancel);
        var token = home.Split("name=\"__RequestVerificationToken\" value=\"")[1].Split('"')[0];
        using var form = new FormUrlEncodedContent([new("__RequestVerificationToken", token)]);
        using var answer = await client.PostAsync(new Uri("/sign-out", UriKind.Relative), form, Cancel);

        Assert.Equal("/sign-in", answer.Headers.Location?.ToString());
        Assert.Null(await WhoAsync(client));
    }

    [Fact]
    public async Task Forms_WithoutTheirToken_NotTaken()
    {
        using var client = Browser();
        using var form =
            new FormUrlEncodedContent([new("_handler", "sign-in"), new("Form.Name", "lena"),
                new("Form.Password", SignIn.Passwords["lena"])]);
        using var signIn = await client.PostAsync(new Uri("/sign-in", UriKind.Relative), form, Cancel);
        Assert.Equal(HttpStatusCode.BadRequest, signIn.StatusCode);
        Assert.Null(await WhoAsync(client));

        using var inside = server.ClientAs("lena");
        using var empty = new FormUrlEncodedContent([]);
        using var signOut = await inside.PostAsync(new Uri("/sign-out", UriKind.Relative), empty, Cancel);
        Assert.Equal(HttpStatusCode.BadRequest, signOut.StatusCode);
        Assert.Equal("lena", await WhoAsync(inside));
    }

    [Theory]
    [InlineData("/batch/bench-1", "/batch/bench-1")]
    [InlineData("//elsewhere.example", "/")]
    [InlineData("/\\elsewhere.example", "/")]
    [InlineData("https://elsewhere.example", "/")]
    [InlineData("", "/")]
    [InlineData(null, "/")]
    public void To_OwnPagesOnly(string? wanted, string expected) => Assert.Equal(expected, OwnPages.Of(wanted));

    [Fact]
    public async Task AccessEnded_WhileSignedIn_OutAtOnceAndNotInAgain()
    {
        using var client = server.ClientAs("lena");
        var people = server.Services.GetRequiredService<PeopleService>();
        Assert.True(people.End(Mara, new PersonId("lena")).IsDone);

        Assert.Null(await WhoAsync(client));
        using var again = Browser();
        using var answer = await SignIn.ByPasswordAsync(again, "lena", SignIn.Passwords["lena"], Cancel);
        // The password has gone with the access; what is said is the same as for any wrong one.
        Assert.Contains("Wrong user name or ", await answer.Content.ReadAsStringAsync(Cancel),
            StringComparison.Ordinal);
    }

    [Fact]
    public void Change_ByWhoMayNot_Refused()
    {
        var people = server.Services.GetRequiredService<PeopleService>();
        var devices = server.Services.GetRequiredService<DeviceService>();
        var aide = AnAide.Lena;

        Assert.False(people.Add(aide, "new", "New", Role.Administrator).IsDone);
        Assert.False(people.ChangeRole(aide, aide.Who.Id, Role.Administrator).IsDone);
        Assert.False(people.NewCode(aide, new PersonId("mara")).IsDone);
        Assert.False(devices.NewCode(aide, "T", DeviceKind.Tablet, null).IsDone);
        Assert.False(devices.MakeKey(aide, "K", [KeyScope.Look], null, "2027-01-01").IsDone);
        Assert.Null(Log.People.Person(new PersonId("new")));
    }

    [Fact]
    public async Task NewPerson_CodeThenPassword_SignsInOnceSetAndCodeIsUsedUp()
    {
        var code = server.Services.GetRequiredService<PeopleService>().Add(Mara, "Nora", "Nora", Role.Aide).Shown!;
        using var client = Browser();

        async Task<string> Welcome(string name, string typed, string password, string pin)
        {
            using var answer = await SignIn.FillInAsync(client, "/welcome",
                [new("Form.Name", name), new("Form.Code", typed), new("Form.Password", password),
                    new("Form.Pin", pin)], Cancel);
            return await answer.Content.ReadAsStringAsync(Cancel);
        }

        Assert.Contains("Wrong user name or ", await Welcome("nora", "AAAA-BBBB-CCCC", "violet ladder seventeen", ""),
            StringComparison.Ordinal);
        Assert.Contains("at least 10", await Welcome("nora", code, "short", ""), StringComparison.Ordinal);
        Assert.Contains("easy to guess", await Welcome("nora", code, "password123", ""), StringComparison.Ordinal);
        Assert.Contains("easy to guess", await Welcome("nora", code, "violet ladder seventeen", "123456"),
            StringComparison.Ordinal);
        Assert.Contains("Your password is set",
            await Welcome("nora", code.ToLowerInvariant().Replace("-", " ", StringComparison.Ordinal),
                "violet ladder seventeen", "402718"), StringComparison.Ordinal);
        Assert.Contains("Wrong user name or ", await Welcome("nora", code, "violet ladder seventeen", ""),
            StringComparison.Ordinal);

        (await SignIn.ByPasswordAsync(client, "nora", "violet ladder seventeen", Cancel)).Dispose();
        Assert.Equal("nora", await WhoAsync(client));
    }

    [Fact]
    public async Task OwnPassword_Changed_OtherSignInsEnd()
    {
        using var client = Browser();
        (await SignIn.ByPasswordAsync(client, "lena", SignIn.Passwords["lena"], Cancel)).Dispose();
        using var other = server.ClientAs("lena");

        using var wrong = await SignIn.FillInAsync(client, "/me",
            [new("Form.Present", "wrong"), new("Form.Password", "violet ladder seventeen")], Cancel);
        Assert.Equal("lena", await WhoAsync(other));
        using var right = await FillInOwn(client);

        Assert.Contains("Changed", await right.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        Assert.Equal("lena", await WhoAsync(client));
        Assert.Null(await WhoAsync(other));

        // What was done is not said above what is wrong now.
        using var again = await FillInOwn(client);
        var page = await again.Content.ReadAsStringAsync(Cancel);
        Assert.Contains("role=\"alert\" class=\"field-fault\"", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Changed", page, StringComparison.Ordinal);
    }

    private static Task<HttpResponseMessage> FillInOwn(HttpClient client) => SignIn.FillInAsync(
        client, "/me",
            [new("Form.Present", SignIn.Passwords["lena"]), new("Form.Password", "violet ladder seventeen")], Cancel);

    private static Actor.Person Mara => AnAide.Lena with
    {
        Who = new ClinicPerson(new PersonId("mara"), "Mara", Role.Administrator, true, true, true),
    };

    private HttpClient Browser(string address = "http://localhost") =>
        server.CreateClient(new() { AllowAutoRedirect = false, BaseAddress = new Uri(address) });

    private static async Task<string?> WhoAsync(HttpClient client)
    {
        using var answer = await client.GetAsync(new Uri("/api/v1/who", UriKind.Relative), Cancel);
        return answer.StatusCode == HttpStatusCode.OK
            ? (await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("person").GetString() : null;
    }
}
