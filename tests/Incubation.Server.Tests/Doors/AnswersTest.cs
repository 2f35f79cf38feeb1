using System.Net;
using System.Text.Json;
using Incubation.Server.Doors;
using Incubation.Server.Hosting;
using Incubation.Service.Tests.Support;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.Metadata;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Time.Testing;

namespace Incubation.Server.Tests.Doors;

/// <summary>What every answer carries, what is said of refusals and faults, and how much is listened to.</summary>
public sealed class AnswersTest(AnswersTest.House house) : IClassFixture<AnswersTest.House>
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public sealed class House : IDisposable
    {
        public ServerFactory Server { get; } = new();

        public void Dispose() => Server.Dispose();
    }

    [Theory]
    [InlineData("lena", "/")]
    [InlineData("lena", "/wall")]
    [InlineData("lena", "/batch/bench-1")]
    [InlineData("lena", "/benches/bench-1/labels")]
    [InlineData("lena", "/benches/bench-1/run-sheet")]
    [InlineData("lena", "/record")]
    [InlineData("lena", "/api/v1/benches/bench-1")]
    [InlineData("lena", "/api/v1/day")]
    [InlineData("lena", "/api/v1/nothing")]
    [InlineData("lena", "/nothing-here")]
    [InlineData("lena", "/people")]
    [InlineData("mara", "/api/v1/record/cartridges.csv")]
    [InlineData("mara", "/api/v1/record/amendments.csv")]
    [InlineData("mara", "/api/v1/record/events.jsonl")]
    [InlineData("mara", "/assays.json")]
    [InlineData("mara", "/step-times.csv")]
    [InlineData("mara", "/controls.csv")]
    [InlineData("mara", "/controls/targets.csv")]
    [InlineData("mara", "/controls/moving-mean.csv?assay=DA&bench=bench-1")]
    [InlineData("mara", "/comparisons.csv")]
    [InlineData("mara", "/proficiency.csv")]
    [InlineData("mara", "/stock.csv")]
    [InlineData("mara", "/stock/reorder.csv")]
    [InlineData(null, "/sign-in")]
    [InlineData(null, "/batch/bench-1")]
    [InlineData(null, "/api/v1/who")]
    [InlineData(null, "/health/live")]
    [InlineData(null, "/failed")]
    public async Task Answer_OfEveryKind_IsKeptNowhereAndGuarded(string? person, string path)
    {
        using var client = house.Server.ClientAs(person);

        using var answer = await client.GetAsync(new Uri(path, UriKind.Relative), Cancel);

        Assert.Equal("no-store", answer.Headers.CacheControl?.ToString());
        AssertGuarded(answer);
    }

    [Theory]
    [InlineData("/css/base.css")]
    [InlineData("/js/bench.js")]
    [InlineData("/sw.js")]
    public async Task StaticFile_TheSameForEverybody_MayBeKept(string path)
    {
        using var client = house.Server.ClientAs(null);

        using var answer = await client.GetAsync(new Uri(path, UriKind.Relative), Cancel);

        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.False(answer.Headers.CacheControl?.NoStore ?? false);
        AssertGuarded(answer);
    }

    [Theory]
    [InlineData("PUT", "/api/v1/benches")]
    [InlineData("POST", "/api/v1/benches/bench-1/commands")]
    [InlineData("POST", "/assays.json")]
    [InlineData("DELETE", "/nothing-here")]
    public async Task Answer_RefusedWithoutAWord_IsAProblem(string method, string path)
    {
        using var client = house.Server.ClientAs("ines");
        using var request = new HttpRequestMessage(new HttpMethod(method), path) { Content = new StringContent("x") };

        using var answer = await client.SendAsync(request, Cancel);

        Assert.InRange((int)answer.StatusCode, 400, 499);
        Assert.Equal("application/problem+json", answer.Content.Headers.ContentType?.MediaType);
    }

    [Fact]
    public void Bodies_OfEveryPost_AreBounded()
    {
        var posts = house.Server.Services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>()
            .Where(endpoint => endpoint.RoutePattern.RawText!.StartsWith('/'))
            .ToDictionary(endpoint => endpoint.RoutePattern.RawText! + " "
                + string.Concat(endpoint.Metadata.GetMetadata<HttpMethodMetadata>()?.HttpMethods ?? []),
                endpoint => endpoint.Metadata.GetMetadata<IRequestSizeLimitMetadata>()?.MaxRequestBodySize);

        foreach (var door in (string[])["/sign-in", "/welcome", "/enrol", "/set-up", "/me"])
            Assert.Equal(LargestBodyAttribute.Small, posts[posts.Keys.Single(key =>
                key.StartsWith(door + " ", StringComparison.Ordinal))]);
        Assert.Equal(LargestBodyAttribute.Small, posts["/api/v1/tablet/pin POST"]);
        Assert.Equal(LargestBodyAttribute.Small, posts["/api/v1/benches/{bench}/commands POST"]);
        Assert.Equal(LargestBodyAttribute.Large, posts["/api/v1/benches/{bench}/requests POST"]);
    }

    [Fact]
    public async Task Refusals_OfKeysAndOfWhatOneMayNot_StandInTheLogAndAreBounded()
    {
        var lines = new Lines();
        using var server = new ServerFactory { Parts = services => services.AddSingleton<ILoggerProvider>(lines) };
        using var client = server.ClientAs(null);
        using var wrong = new HttpRequestMessage(HttpMethod.Get, "/api/v1/who");
        wrong.Headers.Add("Authorization", "Bearer key-1.invented");

        using var refused = await client.SendAsync(wrong, Cancel);

        Assert.Equal(HttpStatusCode.Unauthorized, refused.StatusCode);
        Assert.Contains(lines.All, line => line.Contains("the key of a program", StringComparison.Ordinal));
        Assert.DoesNotContain(lines.All, line => line.Contains("invented", StringComparison.Ordinal));
    }

    [Fact]
    public void RefusalLog_Flooded_SaysSoManyAndHowManyMore()
    {
        var lines = new Lines();
        var time = new FakeTimeProvider();
        using var factory = LoggerFactory.Create(logging => logging.AddProvider(lines));
        var log = new RefusalLog(time, factory.CreateLogger<RefusalLog>());
        for (var at = 0; at < 1000; at++)
            log.NotAllowed(AnAide.Lena, "GET /people", "192.0.2.1");

        Assert.Equal(RefusalLog.MaxAMinute, lines.All.Count);
        Assert.Contains("lena through", lines.All[0], StringComparison.Ordinal);
        Assert.Contains("192.0.2.1: GET /people", lines.All[0], StringComparison.Ordinal);
        time.Advance(TimeSpan.FromMinutes(1));
        log.KeyUnknown("device", "192.0.2.1");
        Assert.Contains(lines.All, line => line.StartsWith("940 further", StringComparison.Ordinal));
    }

    [Fact]
    public async Task ApiFault_OfOurs_HasALineWithTheTraceThatTheAnswerShows()
    {
        var lines = new Lines();
        using var factory = LoggerFactory.Create(logging => logging.AddProvider(lines));
        using var body = new MemoryStream();
        var context = new DefaultHttpContext { RequestServices = house.Server.Services };
        context.Response.Body = body;
        context.Features.Set<IExceptionHandlerPathFeature>(new ExceptionHandlerFeature { Path = "/api/v1/day" });

        Assert.True(await new ApiFaults(factory.CreateLogger<ApiFaults>())
            .TryHandleAsync(context, new InvalidOperationException("A fault of ours."), Cancel));

        Assert.Equal(StatusCodes.Status500InternalServerError, context.Response.StatusCode);
        using var told = JsonDocument.Parse(body.ToArray());
        var trace = told.RootElement.GetProperty("traceId").GetString()!;
        Assert.Contains(trace, Assert.Single(lines.All), StringComparison.Ordinal);
    }

    private static void AssertGuarded(HttpResponseMessage answer)
    {
        string Header(string name) => string.Join(", ", answer.Headers.GetValues(name));
        Assert.Equal(PageGuards.ContentPolicy, Header("Content-Security-Policy"));
        Assert.Contains("frame-ancestors 'none'", PageGuards.ContentPolicy, StringComparison.Ordinal);
        Assert.Equal("nosniff", Header("X-Content-Type-Options"));
        Assert.Equal("same-origin", Header("Referrer-Policy"));
        Assert.StartsWith("camera=(self), microphone=()", Header("Permissions-Policy"), StringComparison.Ordinal);
        Assert.Equal("DENY", Header("X-Frame-Options"));
    }

    private sealed class Lines : ILoggerProvider, ILogger
    {
        private readonly List<string> all = [];

        public IReadOnlyList<string> All
        {
            get
            {
                lock (all)
                    return [.. all];
            }
        }

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state) where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Warning;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
            Func<TState, Exception?, string> formatter)
        {
            if (!IsEnabled(logLevel))
                return;
            lock (all)
                all.Add(formatter(state, exception));
        }

        public void Dispose()
        {
        }
    }
}
