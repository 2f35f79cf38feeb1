using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Service.Clinic;
using Incubation.Service.People;
using Incubation.Service.Tests.Support;
using Incubation.TestKit;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Doors;

/// <summary>Passkeys, with an authenticator in memory that does whatever it is told to.</summary>
public sealed class PasskeyTest : IAsyncDisposable
{
    private const string Localhost = "http://localhost";

    private readonly ServerFactory server = new();
    private readonly SoftAuthenticator phone = new();
    private readonly List<HttpClient> clients = [];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private ClinicLog Log => server.Services.GetRequiredService<ClinicHost>().Log;

    public async ValueTask DisposeAsync()
    {
        foreach (var client in clients)
            client.Dispose();
        phone.Dispose();
        await server.DisposeAsync();
    }

    [Fact]
    public async Task Added_ThenSignedInWithIt_AllThreeStandInTheLog()
    {
        await AddAsync("ines");
        var client = Nobody();

        var answer = await SignInAsync(client, "/devices");

        Assert.Equal((true, "/devices"), (answer.Done, answer.To));
        Assert.Equal("ines", await WhoAsync(client));
        var added = Assert.Single(Log.Entries().Select(entry => entry.Event).OfType<ClinicEvent.PasskeyAdded>());
        Assert.Equal(("ines", "Phone", "localhost", phone.Credential, 1),
            (added.Person.Value, added.Name, added.Domain, added.Credential, added.Count));
        Assert.Equal(["internal"], added.Transports);
        Assert.DoesNotContain("ines", added.Handle, StringComparison.Ordinal);
        Assert.Contains(Log.Entries(), entry => entry.Event is ClinicEvent.PasskeyUsed { Count: 2 } used
            && used.Passkey == added.Passkey);
        Assert.Contains(Log.Entries(), entry => entry.Event is ClinicEvent.SignedIn
        {
            Person.Value: "ines",
            Way: SignInWay.Passkey,
        });
        // Their own account is theirs, and their whole role.
        Assert.Equal(HttpStatusCode.OK, (await client.GetAsync("/me/passkeys", Cancel)).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await client.GetAsync("/devices", Cancel)).StatusCode);
    }

    [Fact]
    public async Task SignIn_ByOneThatWasRemoved_Refused()
    {
        await AddAsync("ines");
        var passkey = Assert.Single(Log.People.Passkeys.Of(new PersonId("ines")));
        var desk = server.Services.GetRequiredService<PasskeyService>();

        Assert.False(desk.Remove(AnAide.Lena, passkey.Id).IsDone);
        Assert.True(desk.Remove(As("mara", Role.Administrator), passkey.Id).IsDone);

        await AssertRefusedAsync("not accepted", SignInFault.Wrong);
        Assert.Contains(Log.Entries(), entry => entry.Event is ClinicEvent.PasskeyRemoved
            && entry.Provenance.Person.Value == "mara");
    }

    [Fact]
    public async Task SignIn_ThePersonNotVerified_Refused()
    {
        await AddAsync("ines");
        phone.Verifies = false;

        await AssertRefusedAsync("not accepted", SignInFault.Wrong);
    }

    [Fact]
    public async Task SignIn_AnswerSentAgain_RefusedUnderItsOwnAndUnderAnotherChallenge()
    {
        await AddAsync("ines");
        var first = await AskAsync(Nobody());
        var answer = phone.Sign(first.Options!);
        Assert.True((await SignInAsync(Nobody(), first.Ticket, answer)).Done);

        Assert.False((await SignInAsync(Nobody(), first.Ticket, answer)).Done);
        var other = await AskAsync(Nobody());
        Assert.False((await SignInAsync(Nobody(), other.Ticket, answer)).Done);
        // One wrong answer has used that challenge up too.
        Assert.False((await SignInAsync(Nobody(), other.Ticket, phone.Sign(other.Options!))).Done);
        Assert.Single(Log.Entries(), entry => entry.Event is ClinicEvent.SignedIn { Way: SignInWay.Passkey });
    }

    [Fact]
    public async Task SignIn_CountNoHigherThanBefore_RefusedAndLoggedAsThat()
    {
        await AddAsync("ines");
        Assert.True((await SignInAsync(Nobody())).Done);
        phone.Count = 2;

        await AssertRefusedAsync("may have been copied", SignInFault.CountWentBack);

        Assert.Equal(2, Assert.Single(Log.People.Passkeys.Of(new PersonId("ines"))).Count);
    }

    [Fact]
    public async Task SignIn_AuthenticatorThatCountsNothing_EachTime()
    {
        phone.Count = null;
        await AddAsync("ines");

        Assert.True((await SignInAsync(Nobody())).Done);
        Assert.True((await SignInAsync(Nobody())).Done);
    }

    [Fact]
    public async Task SignIn_AnswerForAnotherPageOrDomain_Refused()
    {
        await AddAsync("ines");
        phone.Origin = "http://localhost.example";
        await AssertRefusedAsync("not accepted", SignInFault.Wrong);
        (phone.Origin, phone.Domain) = (Localhost, "example");

        Assert.False((await SignInAsync(Nobody())).Done);
    }

    [Theory]
    [InlineData("")]
    [InlineData("{")]
    [InlineData("[]")]
    [InlineData("{\"id\":7}")]
    [InlineData("{\"id\":\"bm9ib2R5\",\"type\":\"public-key\",\"response\":null}")]
    public async Task SignIn_WhatIsNoAnswer_Refused(string credential)
    {
        await AddAsync("ines");
        var asked = await AskAsync(Nobody());

        Assert.Contains("not accepted", (await SignInAsync(Nobody(), asked.Ticket, credential)).Sentence,
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task Add_WithoutThePassword_NotEvenAsked()
    {
        var client = Own("ines");

        var asked = await PostAsync(client, "new/ask", new { name = "Phone", password = "wrong" });

        Assert.Null(asked.Options);
        Assert.Contains("Wrong password", asked.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Add_ThePersonNotVerified_Refused()
    {
        phone.Verifies = false;

        var answer = await TryAddAsync(Own("ines"), "ines");

        Assert.False(answer.Done);
        Assert.Empty(Log.People.Passkeys.All);
    }

    [Fact]
    public async Task Add_UnderTheChallengeOfAnotherSignIn_Refused()
    {
        var asked = await AskForNewAsync(Own("ines"), "ines");

        var answer = await PostAsync(Own("mara"), "new", new { asked.Ticket, Credential = phone.Make(asked.Options!) });

        Assert.False(answer.Done);
        Assert.Empty(Log.People.Passkeys.All);
    }

    [Theory]
    [InlineData("http://127.0.0.1", "IP address")]
    [InlineData("http://[::1]", "IP address")]
    [InlineData("http://clinic.example", "encrypted connection")]
    [InlineData("https://clinic.example", "under the name clinic.example")]
    public async Task Passkeys_ReachedByWhatIsNotTheirDomain_PagesSayWhyNot(string address, string why)
    {
        await AddAsync("ines");
        var desk = server.Services.GetRequiredService<PasskeyService>();

        Assert.Contains(why, desk.FaultAt(new Uri(address).Scheme, new Uri(address).Host), StringComparison.Ordinal);

        if (!address.StartsWith("http://127", StringComparison.Ordinal))
            return;
        var page = await (await Own("ines", address).GetAsync("/me/passkeys", Cancel)).Content
            .ReadAsStringAsync(Cancel);
        Assert.Contains(why, page, StringComparison.Ordinal);
        Assert.DoesNotContain("data-passkey=", page, StringComparison.Ordinal);
        var door = await (await Nobody(address).GetAsync("/sign-in", Cancel)).Content.ReadAsStringAsync(Cancel);
        Assert.Contains(why, door, StringComparison.Ordinal);
        Assert.Contains(why, (await PostAsync(Nobody(address), "sign-in/ask", new { })).Sentence,
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task Domain_SetAnewAfterwards_OldOnesWorkAndNoneIsAddedUntilItIsMended()
    {
        await AddAsync("ines");
        var desk = ActivatorUtilities.CreateInstance<PasskeyService>(server.Services,
            new PasskeySettings("clinic.example"));

        Assert.Equal("localhost", desk.Domain);
        Assert.Null(desk.FaultAt("http", "localhost"));
        Assert.Contains("were made for localhost", desk.DomainFault, StringComparison.Ordinal);
        Assert.Equal(desk.DomainFault, (await desk.MayAddAsync(As("ines", Role.Supervisor), "Phone", "x")).Fault);

        Assert.True(desk.RemoveAllAtConsole("ines").IsDone);
        Assert.False(desk.RemoveAllAtConsole("ines").IsDone);
        Assert.Equal(("clinic.example", null), (desk.Domain, desk.DomainFault));
        Assert.Contains(Log.Entries(), entry => entry.Event is ClinicEvent.PasskeyRemoved
            && entry.Provenance.Device.Value == "console");
    }

    private async Task AddAsync(string person) => Assert.True((await TryAddAsync(Own(person), person)).Done);

    private async Task<Answer> TryAddAsync(HttpClient client, string person)
    {
        var asked = await AskForNewAsync(client, person);
        return await PostAsync(client, "new", new { asked.Ticket, Credential = phone.Make(asked.Options!) });
    }

    private static Task<Answer> AskForNewAsync(HttpClient client, string person) =>
        PostAsync(client, "new/ask", new { name = "Phone", password = SignIn.Passwords[person] });

    private async Task AssertRefusedAsync(string sentence, SignInFault why)
    {
        var client = Nobody();
        var answer = await SignInAsync(client);
        Assert.Contains(sentence, answer.Sentence, StringComparison.Ordinal);
        Assert.Null(await WhoAsync(client));
        Assert.Contains(Log.Entries(), entry => entry.Event is ClinicEvent.SignInRefused
        {
            Person.Value: "ines",
            Way: SignInWay.Passkey,
        } refused && refused.Why == why);
    }

    private static Task<Answer> AskAsync(HttpClient client) => PostAsync(client, "sign-in/ask", new { });

    private async Task<Answer> SignInAsync(HttpClient client, string? to = null)
    {
        var asked = await AskAsync(client);
        return await PostAsync(client, "sign-in", new { asked.Ticket, Credential = phone.Sign(asked.Options!), to });
    }

    private static Task<Answer> SignInAsync(HttpClient client, string? ticket, string credential) =>
        PostAsync(client, "sign-in", new { ticket, credential });

    private static async Task<Answer> PostAsync(HttpClient client, string address, object body)
    {
        using var answer = await client.PostAsJsonAsync("/api/v1/passkeys/" + address, body, Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        return (await answer.Content.ReadFromJsonAsync<Answer>(JsonSerializerOptions.Web, Cancel))!;
    }

    private HttpClient Own(string person, string address = Localhost)
    {
        var client = Nobody(address);
        client.DefaultRequestHeaders.Add("Cookie", server.CookieOf(person));
        return client;
    }

    private HttpClient Nobody(string address = Localhost)
    {
        var client = server.CreateClient(new() { AllowAutoRedirect = false, BaseAddress = new Uri(address) });
        client.DefaultRequestHeaders.Add("Origin", address);
        clients.Add(client);
        return client;
    }

    private static Actor.Person As(string id, Role role) => AnAide.Lena with
    {
        Who = new ClinicPerson(new PersonId(id), id, role, true, true, true),
    };

    private static async Task<string?> WhoAsync(HttpClient client)
    {
        using var answer = await client.GetAsync(new Uri("/api/v1/who", UriKind.Relative), Cancel);
        return answer.StatusCode == HttpStatusCode.OK
            ? (await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("person").GetString() : null;
    }

    private sealed record Answer(bool Done, string? Sentence, string? Ticket, string? Options, string? To);
}
