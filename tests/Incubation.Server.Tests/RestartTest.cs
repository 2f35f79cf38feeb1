using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Net.Sockets;
using System.Text.Json;
using Incubation.TestKit;

namespace Incubation.Server.Tests;

/// <summary>The real program on a real file: killed in the middle of a batch, started again.</summary>
public sealed class RestartTest : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-restart-").FullName;
    private readonly int port = ProgramProcess.FreePort();
    private readonly List<ProgramProcess> started = [];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose()
    {
        foreach (var process in started)
            process.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task Kill_MidBatch_SameStateToTheInstantAndSamePlan()
    {
        using var client =
            new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{port.ToString(CultureInfo.InvariantCulture)}") };
        var first = Start();
        await Answering(client, first);
        using (await SignIn.ByPasswordAsync(client, "ines", SignIn.Passwords["ines"], Cancel))
        {
            // Its cookie is what counts; it holds after the restart too.
        }

        var time = (await client.GetFromJsonAsync<JsonElement>("/api/v1/time", Cancel)).GetProperty("serverTime")
            .GetString()!;
        await Send(client, "start-batch", time, null);
        var offer = (await Until(client, snapshot => snapshot.GetProperty("offers").GetArrayLength() > 0))
            .GetProperty("offers")[0];
        var request = offer.GetProperty("request").GetString();
        await Send(client, "mixed", time, request);
        // A plan with a request less is another: it is adopted at once, however little the mix has changed.
        await Send(client, "withdraw", time, "R05");
        var eventsBefore = await PlannedAfter(client, "request-withdrawn");
        var before = await Snapshot(client);

        await first.KillAsync(Cancel);
        var second = Start();
        await Answering(client, second);
        var after = await Snapshot(client);
        var eventsAfter = await Events(client);

        // Everything acknowledged is there, and the adopted plan with it; that the server was down follows, and then
        // only plans.
        Assert.Equal(eventsBefore, eventsAfter.Take(eventsBefore.Count));
        var added = eventsAfter.Skip(eventsBefore.Count).ToList();
        var restarted = Assert.Single(added, one => one.Contains("\"type\":\"restarted\"", StringComparison.Ordinal));
        // The mix was told at once, which is asked too.
        Assert.Equal(["too-quick", "power-cut"], after.GetProperty("questions").EnumerateArray()
            .Select(question => question.GetProperty("kind").GetString()));
        Assert.All(added.Where(one => one != restarted),
            one => Assert.Contains("plan-adopted", one, StringComparison.Ordinal));
        foreach (var member in new[] { "slots", "readers", "undo" })
            Assert.Equal(before.GetProperty(member).ToString(), after.GetProperty(member).ToString());
        Assert.Equal(before.GetProperty("offers")[0].GetProperty("key").GetString(), after.GetProperty("offers")[0]
            .GetProperty("key").GetString());
        // As planned before; a plan that was adopted since may begin sooner, never later.
        var (then, now) = (MayBegin(before), MayBegin(after));
        Assert.True(added.Count == 1 ? now == then : now <= then, $"{then}, {now}");
        Assert.Contains("Continuing the demo day", Output(), StringComparison.Ordinal);

        static DateTimeOffset MayBegin(JsonElement snapshot) =>
            snapshot.GetProperty("offers")[0].GetProperty("mayBegin").GetDateTimeOffset();
    }

    [Fact]
    public async Task Start_OpenAddress_RefusedWithSentence()
    {
        var process = Start("--urls", "http://0.0.0.0:" + port.ToString(CultureInfo.InvariantCulture));

        await process.Process.WaitForExitAsync(Cancel).WaitAsync(Patience.Usual, Cancel);

        Assert.Equal(2, process.Process.ExitCode);
        Assert.Contains("sign-in", Output(), StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", Output(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Start_PortBusy_RefusedWithSentence()
    {
        using var other = new TcpListener(IPAddress.Loopback, port);
        other.Start();
        var process = Start();

        await process.Process.WaitForExitAsync(Cancel).WaitAsync(Patience.Usual, Cancel);

        Assert.Equal(2, process.Process.ExitCode);
        Assert.Contains("--urls", Output(), StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", Output(), StringComparison.Ordinal);
    }

    private ProgramProcess Start(params string[] more)
    {
        var urls = more.Contains("--urls")
            ? [] : new[] { "--urls", "http://127.0.0.1:" + port.ToString(CultureInfo.InvariantCulture) };
        var process = new ProgramProcess(
            ServiceProcess.Dll,
            ["--demo", ServerFactory.DemoFolder, "--data", Path.Combine(folder, "demo.db"), .. urls, .. more],
            start => start.WorkingDirectory = folder);
        started.Add(process);
        return process;
    }

    /// <summary>What all that were started have printed.</summary>
    private string Output() => string.Concat(started.Select(process => process.Output));

    private static Task<HttpStatusCode> Answering(HttpClient client, ProgramProcess process) =>
        process.UntilAnsweredAsync<HttpStatusCode>(
        async cancel =>
        {
            using var answer = await client.GetAsync(new Uri("/sign-in", UriKind.Relative), cancel);
            return answer.IsSuccessStatusCode ? answer.StatusCode : null;
        }, Patience.Usual, Cancel);

    private static async Task<JsonElement> Until(HttpClient client, Func<JsonElement, bool> holds)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(Cancel);
        limit.CancelAfter(Patience.Usual);
        using var pause = new PeriodicTimer(TimeSpan.FromMilliseconds(50));
        while (await pause.WaitForNextTickAsync(limit.Token))
            if (await Snapshot(client) is var snapshot && holds(snapshot))
                return snapshot;
        throw new InvalidOperationException("Never reached.");
    }

    /// <summary>The events, once a plan was adopted after a report.</summary>
    private static async Task<List<string>> PlannedAfter(HttpClient client, string report)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(Cancel);
        limit.CancelAfter(Patience.Usual);
        using var pause = new PeriodicTimer(TimeSpan.FromMilliseconds(50));
        while (await pause.WaitForNextTickAsync(limit.Token))
        {
            var events = await Events(client);
            var reported = events.FindIndex(one => one.Contains($"\"type\":\"{report}\"", StringComparison.Ordinal));
            if (reported >= 0
                && events.FindIndex(reported,
                    one => one.Contains("\"type\":\"plan-adopted\"", StringComparison.Ordinal)) > reported)
                return events;
        }

        throw new InvalidOperationException("Never reached.");
    }

    private static Task<JsonElement> Snapshot(HttpClient client) =>
        client.GetFromJsonAsync<JsonElement>("/api/v1/benches/bench-1", Cancel);

    private static async Task<List<string>> Events(HttpClient client)
    {
        var events = await client.GetFromJsonAsync<JsonElement>("/api/v1/benches/bench-1/events?limit=500", Cancel);
        return [.. events.GetProperty("events").EnumerateArray().Select(one => one.ToString())];
    }

    private static async Task Send(HttpClient client, string kind, string at, string? request)
    {
        var command = new { id = Guid.NewGuid().ToString("N"), kind, at, stated = false, device = "tablet-1", request };
        using var answer = await client.PostAsJsonAsync("/api/v1/benches/bench-1/commands", command, Cancel);
        var said = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
        Assert.True(said.GetProperty("recorded").GetBoolean(), said.ToString());
    }
}
