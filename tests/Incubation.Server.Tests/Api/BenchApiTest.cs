using System.Net;
using System.Net.Http.Json;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace Incubation.Server.Tests.Api;

/// <summary>The HTTP API, through the whole server.</summary>
public sealed class BenchApiTest(ServerFactory server) : IClassFixture<ServerFactory>
{
    private readonly HttpClient client = server.ClientAs("ines");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Benches_Demo_OneBenchWithItsRequests()
    {
        var benches = await client.GetFromJsonAsync<JsonArray>("/api/v1/benches", Cancel);

        var bench = Assert.Single(benches!)!;
        Assert.Equal("bench-1", (string?)bench["id"]);
        Assert.EndsWith("done", (string?)bench["headline"], StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("wide")]
    [InlineData("portrait")]
    [InlineData("narrow")]
    [InlineData("wall")]
    public async Task Bench_EveryLayout_SnapshotWithLanes(string layout)
    {
        var snapshot = await Json("/api/v1/benches/bench-1?layout=" + layout);

        Assert.Equal(8, snapshot.GetProperty("slots").GetArrayLength());
        Assert.StartsWith("<svg", snapshot.GetProperty("lanes").GetString(), StringComparison.Ordinal);
        Assert.Equal(1, snapshot.GetProperty("rate").GetDouble());
        Assert.Equal("Europe/Berlin", snapshot.GetProperty("zone").GetString());
    }

    [Theory]
    [InlineData("/api/v1/benches/none", HttpStatusCode.NotFound)]
    [InlineData("/api/v1/benches/bench-1?layout=round", HttpStatusCode.BadRequest)]
    [InlineData("/api/v1/benches/none/events", HttpStatusCode.NotFound)]
    [InlineData("/api/v1/benches/bench-1/events?after=-1", HttpStatusCode.BadRequest)]
    [InlineData("/api/v1/benches/bench-1/events?limit=501", HttpStatusCode.BadRequest)]
    [InlineData("/api/v1/benches/bench-1/events?after=x", HttpStatusCode.BadRequest)]
    [InlineData("/api/v1/nothing", HttpStatusCode.NotFound)]
    public async Task Get_WhatIsNotThere_ProblemWithSentence(string address, HttpStatusCode status)
    {
        using var answer = await client.GetAsync(new Uri(address, UriKind.Relative), Cancel);

        await AssertProblem(answer, status);
    }

    [Fact]
    public async Task Requests_Good_TakenAndOnBench()
    {
        using var answer = await Post(
            "requests", """{"requests":[{"specimen":"SP-900","assay":"DB","lot":"DB-L2","priority":"urgent"}]}""");

        Assert.Equal(HttpStatusCode.Created, answer.StatusCode);
        var taken = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
        var id = taken.GetProperty("ids")[0].GetString();
        Assert.Contains($"\"id\":\"{id}\"",
            await client.GetStringAsync(new Uri("/api/v1/benches/bench-1/events?limit=500", UriKind.Relative), Cancel),
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task Requests_SameReportTwice_TakenOnce()
    {
        const string Body =
            """{"report":"lis-1","requests":[{"id":"X77","specimen":"SP-901","assay":"DB","lot":"DB-L2"}]}""";

        using var first = await Post("requests", Body);
        var total = (await Json("/api/v1/benches/bench-1")).GetProperty("batch").GetProperty("total").GetInt32();
        using var second = await Post("requests", Body);

        Assert.Equal((HttpStatusCode.Created, HttpStatusCode.Created), (first.StatusCode, second.StatusCode));
        Assert.Equal(total, (await Json("/api/v1/benches/bench-1")).GetProperty("batch").GetProperty("total")
            .GetInt32());
    }

    [Theory]
    [InlineData("""{"specimen":"","assay":"DB","lot":"DB-L2"}""", "requests[0].specimen")]
    [InlineData("""{"specimen":"S","assay":"ZZ","lot":"DB-L2"}""", "requests[0].assay")]
    [InlineData("""{"specimen":"S","assay":"DB","lot":"DA-L1"}""", "requests[0].lot")]
    [InlineData("""{"specimen":"S","assay":"DB","lot":"DB-L2","priority":"now"}""", "requests[0].priority")]
    [InlineData("""{"specimen":"S","assay":"DB","lot":"DB-L2","kind":"cat"}""", "requests[0].kind")]
    [InlineData("""{"specimen":"S","assay":"DB","lot":"DB-L2","id":"R01"}""", "requests[0].id")]
    [InlineData("""{"specimen":"S","assay":"DB","lot":"DB-L2","due":"2000-01-01T00:00:00Z"}""", "requests[0].due")]
    [InlineData("""{"specimen":"S","assay":"DB","lot":"DB-L2","loadBy":"2000-01-01T00:00:00Z"}""",
        "requests[0].loadBy")]
    [InlineData("""{"specimen":"S","assay":"DB","lot":"DB-L2","after":["R99"]}""", "requests[0].after")]
    public async Task Requests_OneFault_NamedByMember(string request, string member)
    {
        using var answer = await Post("requests", $$"""{"requests":[{{request}}]}""");

        var problem = await AssertProblem(answer, HttpStatusCode.BadRequest);
        Assert.True(problem.GetProperty("errors").TryGetProperty(member, out _), problem.ToString());
    }

    [Theory]
    [InlineData("requests", """{"requests":[""")]
    [InlineData("requests", """{"requests":[{"specimin":"S"}]}""")]
    [InlineData("requests", """{"requests":[]}""")]
    [InlineData("requests", """{"requests":[null]}""")]
    [InlineData("requests", """{"requests":[{"specimen":"S","assay":"DB","lot":"DB-L2","ready":"soon"}]}""")]
    [InlineData("commands", "[]")]
    [InlineData("commands", "")]
    [InlineData("commands", """{"id":1}""")]
    public async Task Post_Unreadable_ProblemWithSentence(string place, string body)
    {
        using var answer = await Post(place, body);

        await AssertProblem(answer, HttpStatusCode.BadRequest);
    }

    [Fact]
    public async Task Requests_IntakePaused_NoneTakenUntilResumed()
    {
        const string Body = """{"requests":[{"specimen":"SP-902","assay":"DB","lot":"DB-L2"}]}""";
        async Task Say(string id, string kind)
        {
            using var answer = await Post(
                "commands",
                $$"""{"id":"{{id}}","kind":"{{kind}}","at":"{{DateTime.UtcNow:O}}","stated":false,"device":"d"}""");
            Assert.True((await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("recorded")
                .GetBoolean());
        }

        await Say("pause", "pause-intake");
        using var paused = await Post("requests", Body);
        await Say("resume", "resume-intake");
        using var resumed = await Post("requests", Body);

        Assert.Contains("paused", (await AssertProblem(paused, HttpStatusCode.BadRequest)).ToString(),
            StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Created, resumed.StatusCode);
    }

    [Fact]
    public async Task Commands_UnknownKind_AnsweredWithSentence()
    {
        using var answer = await Post(
            "commands",
            """{"id":"c-1","kind":"dance","at":"2026-03-02T08:00:00Z","stated":false,"device":"d"}""");

        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var said = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
        Assert.False(said.GetProperty("recorded").GetBoolean());
        Assert.False(string.IsNullOrWhiteSpace(said.GetProperty("sentence").GetString()));
    }

    [Fact]
    public async Task Events_AskedAfterTheLast_NoneAndSameLast()
    {
        var all = await Json("/api/v1/benches/bench-1/events?limit=500");
        var last = all.GetProperty("last").GetInt64();

        var none = await Json($"/api/v1/benches/bench-1/events?after={last + 1000}");

        Assert.True(last >= 2);
        Assert.Equal(0, none.GetProperty("events").GetArrayLength());
    }

    [Fact]
    public async Task Day_OfTheDemo_CountsAndNamesNobody()
    {
        var day = await Json("/api/v1/day");

        Assert.Equal(0, day.GetProperty("reads").GetInt32());
        Assert.True(day.GetProperty("urgentWaiting").GetInt32() >= 1);
        Assert.DoesNotContain("SP-", day.GetRawText(), StringComparison.Ordinal);
        Assert.DoesNotContain("SP-", (await Json("/api/v1/benches/bench-1?layout=wall")).GetRawText(),
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task Moments_OfTheFirstBatch_EachCanBeShown()
    {
        const string Address = "/api/v1/benches/bench-1/batches/1/moments";
        var batch = await Json(Address);

        var moments = batch.GetProperty("moments").EnumerateArray().ToList();
        Assert.All(moments, moment => Assert.NotEmpty(moment.GetProperty("text").GetString()!));
        Assert.Contains(moments, moment => moment.GetProperty("kind").GetString() == "plan");
        var last = await Json($"{Address}/{moments.Count - 1}");
        Assert.Equal(moments.Count, last.GetProperty("revision").GetInt32());
        await AssertProblem(await client.GetAsync(new Uri($"{Address}/{moments.Count}", UriKind.Relative), Cancel),
            HttpStatusCode.NotFound);
        await AssertProblem(
            await client.GetAsync(new Uri("/api/v1/benches/bench-1/batches/7/moments", UriKind.Relative), Cancel),
            HttpStatusCode.NotFound);
    }

    [Fact]
    public async Task OpenApi_Document_NamesEveryAddressWithSummary()
    {
        var document = await Json("/openapi/v1.json");

        string[] expected = ["/api/v1/who", "/api/v1/tablet/people", "/api/v1/tablet/pin", "/api/v1/tablet/lock",
            "/api/v1/clock", "/api/v1/clock/confirm", "/api/v1/time", "/api/v1/benches", "/api/v1/benches/{bench}",
            "/api/v1/benches/{bench}/commands", "/api/v1/benches/{bench}/requests", "/api/v1/benches/{bench}/events",
            "/api/v1/benches/{bench}/rack", "/api/v1/benches/{bench}/rack/check", "/api/v1/benches/{bench}/rack/read",
            "/api/v1/record/cartridges.csv", "/api/v1/record/amendments.csv", "/api/v1/record/happenings.csv",
            "/api/v1/record/events.jsonl",
            "/api/v1/day", "/api/v1/waiting", "/api/v1/connections",
            "/api/v1/worklist", "/api/v1/worklist/read", "/api/v1/worklist/{order}",
            "/api/v1/benches/{bench}/batches/{batch}/moments",
            "/api/v1/benches/{bench}/batches/{batch}/moments/{index}"];
        var paths = document.GetProperty("paths").EnumerateObject().ToList();
        Assert.Equal(expected.Order(StringComparer.Ordinal), paths.Select(path => path.Name)
            .Order(StringComparer.Ordinal));
        Assert.All(paths.SelectMany(path => path.Value.EnumerateObject()), operation =>
            Assert.False(string.IsNullOrWhiteSpace(operation.Value.GetProperty("summary").GetString())));
    }

    [Theory]
    [InlineData("/")]
    [InlineData("/batch/bench-1")]
    [InlineData("/nowhere")]
    [InlineData("/api/v1/benches")]
    public async Task Get_Anything_CarriesPolicyHeaders(string address)
    {
        using var answer = await client.GetAsync(new Uri(address, UriKind.Relative), Cancel);

        var policy = string.Join(' ', answer.Headers.GetValues("Content-Security-Policy"));
        Assert.Contains("default-src 'self'", policy, StringComparison.Ordinal);
        Assert.DoesNotContain("unsafe", policy, StringComparison.Ordinal);
        Assert.Equal("nosniff", Assert.Single(answer.Headers.GetValues("X-Content-Type-Options")));
    }

    [Fact]
    public async Task Get_PageThatIsNotThere_PageInWords()
    {
        using var answer = await client.GetAsync(new Uri("/nowhere", UriKind.Relative), Cancel);

        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        Assert.Contains("Page not found", await answer.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("https://elsewhere.example")]
    [InlineData("null")]
    [InlineData("http://localhost:1")]
    public async Task Post_FromAnotherSite_Refused(string origin)
    {
        using var request = new HttpRequestMessage(HttpMethod.Post, "/api/v1/benches/bench-1/commands")
        {
            Content = new StringContent("{}", Encoding.UTF8, "application/json"),
        };
        request.Headers.Add("Origin", origin);

        using var answer = await client.SendAsync(request, Cancel);

        await AssertProblem(answer, HttpStatusCode.Forbidden);
    }

    private async Task<JsonElement> Json(string address) => await client.GetFromJsonAsync<JsonElement>(address, Cancel);

    private async Task<HttpResponseMessage> Post(string place, string body)
    {
        using var content = new StringContent(body, Encoding.UTF8, "application/json");
        return await client.PostAsync(new Uri("/api/v1/benches/bench-1/" + place, UriKind.Relative), content, Cancel);
    }

    private static async Task<JsonElement> AssertProblem(HttpResponseMessage answer, HttpStatusCode status)
    {
        var text = await answer.Content.ReadAsStringAsync(Cancel);
        Assert.True(answer.StatusCode == status, $"{answer.StatusCode}: {text}");
        Assert.Equal("application/problem+json", answer.Content.Headers.ContentType?.MediaType);
        var problem = JsonSerializer.Deserialize<JsonElement>(text);
        Assert.EndsWith(".", problem.GetProperty("detail").GetString(), StringComparison.Ordinal);
        Assert.DoesNotContain("Exception", text, StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", text, StringComparison.Ordinal);
        return problem;
    }
}
