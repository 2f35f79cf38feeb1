using System.Net;
using System.Text.Json;
using System.Net.Http.Json;
using System.Text.RegularExpressions;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.People;
using Incubation.Server.Doors;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Tests.Support;
using Incubation.TestKit;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace Incubation.Server.Tests.Doors;

/// <summary>One's sign-ins, what is left behind at a sign-out, and the end of keys.</summary>
public sealed partial class SignInsTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private ClinicLog Log => server.Services.GetRequiredService<ClinicHost>().Log;

    private SignIns Desk => server.Services.GetRequiredService<SignIns>();

    public ValueTask DisposeAsync() => server.DisposeAsync();

    [Fact]
    public async Task Mine_TwoBrowsers_NamedAndTheOtherEnded()
    {
        using var phone = Browser("Mozilla/5.0 (Linux; Android 15) Chrome/140.0 Mobile Safari/537.36");
        using var desk = Browser("Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:140.0) Gecko Firefox/140.0");
        (await SignIn.ByPasswordAsync(phone, "lena", SignIn.Passwords["lena"], Cancel)).Dispose();
        (await SignIn.ByPasswordAsync(desk, "lena", SignIn.Passwords["lena"], Cancel)).Dispose();

        var page = await desk.GetStringAsync(new Uri("/me/sign-ins", UriKind.Relative), Cancel);
        Assert.Contains("Chrome on Android", page, StringComparison.Ordinal);
        Assert.Contains("Firefox on Windows", page, StringComparison.Ordinal);
        Assert.Contains("End all others", page, StringComparison.Ordinal);

        var own = new Actor.Person(Log.People.Person(new PersonId("lena"))!,
            server.Services.GetRequiredService<Sessions>().Of(new PersonId("lena"))
                .Single(session => session.Browser!.StartsWith("Firefox", StringComparison.Ordinal)), null);
        Assert.True(Desk.EndOthers(own, own.Who.Id).IsDone);

        Assert.Null(await WhoAsync(phone));
        Assert.Equal("lena", await WhoAsync(desk));
        Assert.Contains(Log.Entries(), entry =>
            entry.Event is ClinicEvent.SignedOut { Person.Value: "lena", Why: SignOutCause.FromElsewhere }
            && entry.Provenance.Device == own.Session.Name);
    }

    [Fact]
    public async Task AnothersSignIn_EndedByAnAdministratorAlone()
    {
        using var lena = server.ClientAs("lena");
        var person = new PersonId("lena");
        var mara = As("mara", Role.Administrator);
        var one = Assert.Single(Desk.Of(mara, person));

        Assert.Empty(Desk.Of(As("ines", Role.Supervisor), person));
        Assert.False(Desk.End(As("ines", Role.Supervisor), person, one.Handle).IsDone);
        Assert.Equal("lena", await WhoAsync(lena));

        Assert.True(Desk.End(mara, person, one.Handle).IsDone);
        Assert.Null(await WhoAsync(lena));
        Assert.Contains(Log.Entries(), entry =>
            entry.Event is ClinicEvent.SignedOut { Person.Value: "lena", Why: SignOutCause.FromElsewhere }
            && entry.Provenance.Person.Value == "mara");
    }

    [Fact]
    public void Kept_AfterARestart_TheBrowserIsStillNamed()
    {
        var sessions = server.Services.GetRequiredService<Sessions>();
        Assert.Null(sessions.TryBegin(new PersonId("lena"), SignInWay.Password, null, "test", null, "Edge on Windows",
            null, out _));

        Assert.Contains(server.Services.GetRequiredService<PeopleStore>().Sessions(),
            session => session.Browser == "Edge on Windows");
    }

    [Theory]
    [InlineData("storage", "\"cache\", \"storage\"")]
    [InlineData("", "\"cache\"")]
    public async Task SignOut_FromABrowser_StorageGoesOnlyWhereThePageSaysThatNothingWaits(string wipe, string cleared)
    {
        using var client = Browser("test");
        (await SignIn.ByPasswordAsync(client, "lena", SignIn.Passwords["lena"], Cancel)).Dispose();

        using var answer = await SignOutAsync(client, wipe);

        Assert.Equal(cleared, Assert.Single(answer.Headers.GetValues("Clear-Site-Data")));
        Assert.Null(await WhoAsync(client));
    }

    [Fact]
    public async Task SignOut_OnATablet_NeitherItsKeyNorItsReportsGo()
    {
        using var tablet = Browser("test");
        tablet.DefaultRequestHeaders.Add("Cookie", server.Enrol(DeviceKind.Tablet, "bench-1").Cookie);
        (await SignIn.ByPasswordAsync(tablet, "lena", SignIn.Passwords["lena"], Cancel)).Dispose();

        using var answer = await SignOutAsync(tablet, "storage");

        Assert.Equal("\"cache\"", Assert.Single(answer.Headers.GetValues("Clear-Site-Data")));
        Assert.DoesNotContain(answer.Headers.GetValues("Set-Cookie"),
            cookie => cookie.StartsWith("incubation-device", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Key_ItsLastDayOver_RefusedWithThatAnswerAndItsLinesCut()
    {
        var clock = server.Services.GetRequiredService<BenchClock>();
        var devices = server.Services.GetRequiredService<DeviceService>();
        var longAgo = clock.Now - Duration.FromDays(400);
        var id = new DeviceId("key-old");
        var lastDay = devices.Today.PlusDays(-1);
        server.Services.GetRequiredService<PeopleStore>().Record(
            [new ClinicEvent.KeyMade(id, "Old worklist", [KeyScope.Look], null, lastDay)],
            Provenances.Of(new PersonId("mara"), new DeviceId("test"), clock) with { At = longAgo, Arrived = longAgo },
            [new Secret(id.Value, SecretKind.Key, Tokens.Hash("token"))]);
        using var client = server.ClientAs(null);
        client.DefaultRequestHeaders.Add("Authorization", "Bearer key-old.token");

        using var answer = await client.GetAsync(new Uri("/api/v1/benches", UriKind.Relative), Cancel);

        Assert.Equal(HttpStatusCode.Unauthorized, answer.StatusCode);
        Assert.Contains($"last day of this key was {lastDay:uuuu-MM-dd}",
            await answer.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        Assert.Null(server.Services.GetRequiredService<Actors>().Present(Actors.OfKey(Log.People.Keys[id])));
        // Whose secret is wrong learns nothing of the key's end.
        using var stranger = server.ClientAs(null);
        stranger.DefaultRequestHeaders.Add("Authorization", "Bearer key-old.another");
        using var wrong = await stranger.GetAsync(new Uri("/api/v1/benches", UriKind.Relative), Cancel);
        Assert.DoesNotContain("last day", await wrong.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Keys_OnTheirPages_SayWhenTheyEnd()
    {
        var devices = server.Services.GetRequiredService<DeviceService>();
        var mara = As("mara", Role.Administrator);
        string Day(int days) => $"{devices.Today.PlusDays(days):uuuu-MM-dd}";
        Assert.True(devices.MakeKey(mara, "Ends soon", [KeyScope.Look], null, Day(30)).IsDone);
        Assert.True(devices.MakeKey(mara, "Ends later", [KeyScope.Look], null, Day(31)).IsDone);
        Assert.Contains("two years", devices.MakeKey(mara, "K", [KeyScope.Look], null, Day(800)).Fault,
            StringComparison.Ordinal);
        Assert.Contains("two years", devices.MakeKey(mara, "K", [KeyScope.Look], null, "soon").Fault,
            StringComparison.Ordinal);
        using var client = server.ClientAs("mara");

        var keys = await client.GetStringAsync(new Uri("/keys", UriKind.Relative), Cancel);
        var people = await client.GetStringAsync(new Uri("/people", UriKind.Relative), Cancel);

        Assert.Contains(Day(30) + ", ends soon", keys, StringComparison.Ordinal);
        Assert.DoesNotContain(Day(31) + ", ends soon", keys, StringComparison.Ordinal);
        Assert.Contains("Ends soon (last day " + Day(30), people, StringComparison.Ordinal);
        Assert.DoesNotContain("Ends later", people, StringComparison.Ordinal);
    }

    private static async Task<HttpResponseMessage> SignOutAsync(HttpClient client, string wipe)
    {
        var page = await client.GetStringAsync(new Uri("/lots", UriKind.Relative), Cancel);
        var form = SignOutForm().Match(page).Value;
        Assert.Contains("name=\"wipe\"", form, StringComparison.Ordinal);
        using var content = new FormUrlEncodedContent(
        [
            new("__RequestVerificationToken", Antiforgery().Match(form).Groups[1].Value),
            new("wipe", wipe),
        ]);
        return await client.PostAsync(new Uri("/sign-out", UriKind.Relative), content, Cancel);
    }

    private static Actor.Person As(string id, Role role) => AnAide.Lena with
    {
        Who = new ClinicPerson(new PersonId(id), id, role, true, true, true),
    };

    private HttpClient Browser(string agent)
    {
        var client = server.CreateClient(new() { AllowAutoRedirect = false });
        client.DefaultRequestHeaders.TryAddWithoutValidation("User-Agent", agent);
        return client;
    }

    private static async Task<string?> WhoAsync(HttpClient client)
    {
        using var answer = await client.GetAsync(new Uri("/api/v1/who", UriKind.Relative), Cancel);
        return answer.StatusCode == HttpStatusCode.OK
            ? (await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("person").GetString() : null;
    }

    [GeneratedRegex("""<form method="post" action="sign-out".*?</form>""", RegexOptions.Singleline)]
    private static partial Regex SignOutForm();

    [GeneratedRegex("""name="__RequestVerificationToken" value="([^"]*)""")]
    private static partial Regex Antiforgery();
}
