using System.Net;
using System.Net.Http.Json;
using System.Text;
using System.Text.Json.Nodes;

namespace Incubation.Server.Tests.Api;

/// <summary>What requests may say, and how much of it, through the whole server.</summary>
public sealed class IntakeBoundsTest(ServerFactory server) : IClassFixture<ServerFactory>
{
    private readonly HttpClient client = server.ClientAs("ines");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("\"ready\":\"9999-12-31T23:59:59Z\"", "requests[0].ready")]
    [InlineData("\"ready\":\"-9998-01-01T00:00:00Z\"", "requests[0].ready")]
    [InlineData("\"due\":\"9999-12-31T23:59:59Z\"", "requests[0].due")]
    [InlineData("\"loadBy\":\"9999-12-31T23:59:59Z\"", "requests[0].loadBy")]
    [InlineData("\"takenOut\":\"9999-12-31T23:59:59Z\"", "requests[0].takenOut")]
    [InlineData("\"collected\":\"-9998-01-01T00:00:00Z\"", "requests[0].collected")]
    [InlineData("\"collected\":\"1989-12-31T00:00:00Z\"", "requests[0].collected")]
    [InlineData("\"id\":\"R\u202E1\"", "requests[0].id")]
    [InlineData("\"identifier\":\"a\u2066b\"", "requests[0].identifier")]
    [InlineData("\"after\":[\"\u202E\"]", "requests[0].after")]
    public async Task Requests_OutOfTheirBounds_SaidByMember(string member, string named)
    {
        using var answer = await PostAsync(
            $$"""{"requests":[{"specimen":"SP-910","assay":"DB","lot":"DB-L2",{{member}}}]}""");

        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        var problem = await answer.Content.ReadFromJsonAsync<JsonObject>(Cancel);
        Assert.Contains(named, problem!["errors"]!.AsObject().Select(fault => fault.Key));
    }

    [Fact]
    public async Task Requests_HalfAMegabyteOfAfter_AnswerIsShort()
    {
        var after = string.Join(',', Enumerable.Range(0, 100_000).Select(_ => "\"X\""));
        using var answer = await PostAsync(
            $$"""{"requests":[{"specimen":"SP-911","assay":"DB","lot":"DB-L2","after":[{{after}}]}]}""");
        using var many = await PostAsync("{\"requests\":["
            + string.Join(',', Enumerable.Repeat("{\"specimen\":\"\"}", 500)) + "]}");

        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.InRange((await answer.Content.ReadAsStringAsync(Cancel)).Length, 1, 2_000);
        Assert.Equal(HttpStatusCode.BadRequest, many.StatusCode);
        Assert.InRange((await many.Content.ReadAsStringAsync(Cancel)).Length, 1, 50_000);
    }

    [Fact]
    public async Task Requests_TheSameIdInOtherLetters_IsTheSame()
    {
        // "é" as one character and as two (Unicode Standard Annex 15).
        using var first = await PostAsync(
            """{"requests":[{"id":"Cafe\u0301-1","specimen":"SP-912","assay":"DB","lot":"DB-L2"}]}""");
        using var again = await PostAsync(
            """{"requests":[{"id":"Caf\u00E9-1","specimen":"SP-912","assay":"DB","lot":"DB-L2"}]}""");
        using var after = await PostAsync(
            """{"requests":[{"specimen":"SP-912","assay":"DB","lot":"DB-L2","after":["Cafe\u0301-1"]}]}""");

        Assert.Equal(HttpStatusCode.Created, first.StatusCode);
        var taken = await first.Content.ReadFromJsonAsync<JsonObject>(Cancel);
        Assert.Equal("Caf\u00E9-1", (string?)taken!["ids"]![0]);
        Assert.Equal(HttpStatusCode.BadRequest, again.StatusCode);
        Assert.Equal(HttpStatusCode.Created, after.StatusCode);
    }

    private async Task<HttpResponseMessage> PostAsync(string body)
    {
        using var content = new StringContent(body, Encoding.UTF8, "application/json");
        return await client.PostAsync(new Uri("/api/v1/benches/bench-1/requests", UriKind.Relative), content, Cancel);
    }
}
