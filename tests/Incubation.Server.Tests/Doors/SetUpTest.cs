using System.Net;
using Incubation.Clinic.People;
using Incubation.Service.Clinic;
using Incubation.Service.People;
using Incubation.TestKit;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Mvc.Testing;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests.Doors;

/// <summary>The first start, on an empty folder.</summary>
public sealed class SetUpTest : IAsyncDisposable
{
    private readonly Empty server = new();

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public ValueTask DisposeAsync() => server.DisposeAsync();

    [Theory]
    [InlineData("/")]
    [InlineData("/wall")]
    [InlineData("/people")]
    [InlineData("/sign-in")]
    public async Task Pages_BeforeSetUp_LeadToIt(string page)
    {
        using var client = Browser();
        using var answer = await client.GetAsync(new Uri(page, UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        Assert.EndsWith("set-up", answer.Headers.Location!.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Api_BeforeSetUp_SaysSo()
    {
        using var client = Browser();
        using var answer = await client.GetAsync(new Uri("/api/v1/time", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.ServiceUnavailable, answer.StatusCode);
    }

    [Fact]
    public async Task SetUp_WrongCode_NothingIsSetUp()
    {
        using var client = Browser();
        using var answer = await Fill(client, "AAAA-BBBB-CCCC");
        Assert.Contains("Wrong code", await answer.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        Assert.False(Clinic.Log.IsOpen);
    }

    [Theory]
    [InlineData("Form.Clinic", "", "Type the clinic")]
    [InlineData("Form.Zone", "Nowhere/City", "Nowhere/City")]
    [InlineData("Form.Months", "0", "whole months")]
    [InlineData("Form.Id", "A B", "lower-case letters")]
    [InlineData("Form.Name", "", "Type a name")]
    [InlineData("Form.Name", "Ada \u202Etset", "Type a name")]
    [InlineData("Form.Clinic", "A \u2066clinic", "Type the clinic")]
    [InlineData("Form.Password", "password123", "easy to guess")]
    public async Task SetUp_OneFault_SaidBesideItsFieldAndCodeStillGood(string field, string value, string sentence)
    {
        using var client = Browser();
        var code = Code();

        using var faulty = await Fill(client, code, (field, value));
        Assert.Contains(sentence, WebUtility.HtmlDecode(await faulty.Content.ReadAsStringAsync(Cancel)),
            StringComparison.Ordinal);
        Assert.False(Clinic.Log.IsOpen);
        using var good = await Fill(client, code);
        Assert.Equal(HttpStatusCode.Redirect, good.StatusCode);
    }

    [Fact]
    public async Task SetUp_Right_AdministratorIsInAndNobodyCanDoItAgain()
    {
        using var client = Browser();
        var code = Code();

        using var answer = await Fill(client, code);

        using var people = await client.GetAsync(new Uri("/people", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.OK, people.StatusCode);
        Assert.Equal("North Clinic", Clinic.Facts.Name);
        Assert.Equal(36, Clinic.Log.People.RetentionMonths);
        Assert.Equal(Role.Administrator, Assert.Single(Clinic.Log.People.Persons.Values).Role);
        var (faults, token) = server.Services.GetRequiredService<SetUpService>()
            .SetUp(new SetUpForm(code, "X", "UTC", 1, "other", "Other", "violet ladder seventeen"), "test");
        Assert.Contains("already", Assert.Single(faults).Sentence, StringComparison.Ordinal);
        Assert.Null(token);
    }

    private ClinicHost Clinic => server.Services.GetRequiredService<ClinicHost>();

    private HttpClient Browser() => server.CreateClient(new() { AllowAutoRedirect = false });

    private string Code() => server.Services.GetRequiredService<SetUpService>().Code;

    private static Task<HttpResponseMessage> Fill(HttpClient client, string code,
        (string Field, string Value)? but = null)
    {
        var fields = new Dictionary<string, string>
        {
            ["Form.Code"] = code,
            ["Form.Clinic"] = "North Clinic",
            ["Form.Zone"] = "Europe/Berlin",
            ["Form.Months"] = "36",
            ["Form.Id"] = "olga",
            ["Form.Name"] = "Olga",
            ["Form.Password"] = "violet ladder seventeen",
        };
        if (but is var (field, value))
            fields[field] = value;
        return SignIn.FillInAsync(client, "/set-up", fields, Cancel);
    }

    /// <summary>The server without a demo.</summary>
    private sealed class Empty : WebApplicationFactory<Program>
    {
        private readonly string folder = Directory.CreateTempSubdirectory("incubation-set-up-").FullName;

        protected override void ConfigureWebHost(IWebHostBuilder builder) =>
            builder.UseSetting("Incubation:Data", Path.Combine(folder, "incubation.db"));

        protected override void Dispose(bool disposing)
        {
            base.Dispose(disposing);
            if (disposing && Directory.Exists(folder))
                Directory.Delete(folder, recursive: true);
        }
    }
}
