using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Records;
using Incubation.Service.Benches;
using Incubation.Service.Commands;
using Microsoft.AspNetCore.SignalR.Client;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Server.Tests.Api;

/// <summary>The three kinds of answer to a command, over HTTP and over the hub.</summary>
public sealed class AnswersTest : IAsyncDisposable
{
    private readonly ServerFactory server = new()
    {
        Settings = new Dictionary<string, string> { ["Incubation:CommandRate"] = "0.5" },
    };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public ValueTask DisposeAsync() => server.DisposeAsync();

    [Fact]
    public async Task Send_LogUnwritable_IsNotNowAndLaterRecordedUnderTheSameId()
    {
        using var client = server.ClientAs("lena");
        var report = Mixed("R01");
        Write("ON");
        using (var failed = await Post(client, report))
        {
            Assert.Equal(HttpStatusCode.ServiceUnavailable, failed.StatusCode);
            Assert.Equal(TimeSpan.FromSeconds(5), failed.Headers.RetryAfter!.Delta);
            var answer = await failed.Content.ReadFromJsonAsync<JsonElement>(Cancel);
            Assert.Equal(("not-now", false), Kind(answer));
        }

        Write("OFF");
        using var again = await Post(client, report);

        Assert.Equal(HttpStatusCode.OK, again.StatusCode);
        Assert.Equal(("recorded", true), Kind(await again.Content.ReadFromJsonAsync<JsonElement>(Cancel)));
    }

    [Fact]
    public async Task Send_OfARequestThatNeverWas_IsRefusedForGood()
    {
        using var client = server.ClientAs("lena");

        using var answer = await Post(client, Mixed("R999"));

        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var body = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
        Assert.Equal(("refused", false), Kind(body));
        Assert.Contains("R999", body.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.Null(answer.Headers.RetryAfter);
    }

    [Fact]
    public async Task Send_MoreThanTheBudget_IsNotNowWithTheTimeToWait()
    {
        using var client = server.ClientAs("lena");
        var taken = 0;
        HttpResponseMessage beyond;
        // Some come back while it goes on: fewer than are sent.
        while ((beyond = await Post(client, Flat("card-seen") with { Reader = 1, Lot = "DA-L1" })).IsSuccessStatusCode)
        {
            beyond.Dispose();
            taken++;
        }

        using var _ = beyond;
        Assert.InRange(taken, 30, 300);
        Assert.Equal(HttpStatusCode.TooManyRequests, beyond.StatusCode);
        Assert.InRange(beyond.Headers.RetryAfter!.Delta!.Value.TotalSeconds, 1, 60);
        Assert.Equal(("not-now", false), Kind(await beyond.Content.ReadFromJsonAsync<JsonElement>(Cancel)));
    }

    [Fact]
    public async Task Requests_LogUnwritable_AreNotNowAndLaterTakenOnce()
    {
        using var client = server.ClientAs("ines");
        var wanted = new
        {
            requests = new[] { new { specimen = "SP-901", assay = "DB", lot = "DB-L2", id = "X1" } },
            report = "intake-1"
        };
        Write("ON");
        using (var failed = await client.PostAsJsonAsync("/api/v1/benches/bench-1/requests", wanted, Cancel))
        {
            Assert.Equal(HttpStatusCode.ServiceUnavailable, failed.StatusCode);
            Assert.NotNull(failed.Headers.RetryAfter);
        }

        Write("OFF");
        using var again = await client.PostAsJsonAsync("/api/v1/benches/bench-1/requests", wanted, Cancel);

        Assert.Equal(HttpStatusCode.Created, again.StatusCode);
        Assert.Single(server.Services.GetRequiredService<BenchRegistry>().Find("bench-1")!.Present.State.Cartridges,
            cartridge => cartridge.Id.Value == "X1");
    }

    [Fact]
    public async Task Hub_MoreCallsThanOneLineMayMake_TheReportIsNotNow()
    {
        await using var hub = new HubConnectionBuilder()
            .WithUrl(new Uri(server.Server.BaseAddress, "/hub/bench"), options =>
            {
                options.HttpMessageHandlerFactory = _ => server.Server.CreateHandler();
                options.Headers["Cookie"] = server.CookieOf("lena");
            })
            .Build();
        await hub.StartAsync(Cancel);
        var calls = Enumerable.Range(0, 1000).Select(_ => hub.InvokeAsync<CommandAnswer>("Send", "bench-1",
            Flat("explode"), Cancel));

        var answers = await Task.WhenAll(calls);

        Assert.Contains(answers, answer => answer is { Kind: AnswerKinds.NotNow, RetryAfter: > 0, Recorded: false });
        Assert.All(answers, answer => Assert.False(string.IsNullOrEmpty(answer.Sentence)));
    }

    private static (string?, bool) Kind(JsonElement answer) =>
        (answer.GetProperty("kind").GetString(), answer.GetProperty("recorded").GetBoolean());

    private static ScreenCommand Mixed(string request) => Flat("mixed") with { Request = request };

    private static ScreenCommand Flat(string kind) => new(
        Guid.NewGuid().ToString("N", CultureInfo.InvariantCulture), kind,
        InstantPattern.ExtendedIso.Format(SystemClock.Instance.GetCurrentInstant()), false, "test", null, null, null,
        null, null, null, null, null, null, null, null, null);

    private static Task<HttpResponseMessage> Post(HttpClient client, ScreenCommand command) =>
        client.PostAsJsonAsync("/api/v1/benches/bench-1/commands", command, Cancel);

    /// <summary>As on a disk that takes nothing: every write fails while this is on.</summary>
    private void Write(string isRefused)
    {
        using var command = server.Services.GetRequiredService<DataFile>().Writer.CreateCommand();
        command.CommandText = "PRAGMA query_only = " + isRefused;
        command.ExecuteScalar();
    }
}
