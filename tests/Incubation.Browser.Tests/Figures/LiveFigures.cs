using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Net.Http.Headers;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Server.Demo;
using Incubation.Service.Clock;
using Microsoft.Playwright;
using NodaTime;
using Xunit;

namespace Incubation.Browser.Tests.Figures;

/// <summary>
/// The live bench's figures on this machine: acknowledgements, lateness of prompts, fifty benches, a week. Run by
/// tests/Benchmarks/live.sh only; what was measured stands in tests/Benchmarks/README.md.
/// </summary>
public sealed class LiveFigures(Browser browser)
{
    private static readonly double Pace = Setting("INCUBATION_PACE", 30);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private static int Setting(string name, int usual) =>
        int.TryParse(Environment.GetEnvironmentVariable(name), NumberStyles.None, CultureInfo.InvariantCulture,
            out var number) ? number : usual;

    [Fact(Explicit = true)]
    public async Task Screen_OverManyDues_LatenessAndAcknowledgements()
    {
        var wanted = Setting("INCUBATION_DUES", 1000);
        using var clinic = await PreparedClinic.MakeAsync(1, Cancel);
        var (calm, afterKill) = (new Lateness(), new Lateness());
        var acknowledgements = new ConcurrentBag<double>();
        using var fsync = new FsyncWatch();
        for (var batch = 1; calm.Count + afterKill.Count < wanted; batch++)
        {
            await using var server = await clinic.StartAsync(Pace, Cancel);
            var kill = batch % 2 == 0;
            var killed = await PlayBatchAsync(server, clinic.Key, acknowledgements, kill, calm, afterKill);
            Say($"batch {batch}{(killed is null ? "" : ", killed once")}: {calm.Count + afterKill.Count} dues so far");
        }

        calm.Note("live");
        FigureFile.Add("live, acknowledgement p50 ms", Percentile(acknowledgements, 0.5));
        FigureFile.Add("live, acknowledgement p90 ms", Percentile(acknowledgements, 0.9));
        Say("| from due to screen and sound | " + calm + " |");
        Say("| the same in the minute after a kill | " + afterKill + " |");
        Say(Acknowledged(acknowledgements, fsync));
    }

    [Fact(Explicit = true)]
    public async Task FiftyBenches_AtRealPace_LatenessProcessorAndMemory()
    {
        var benches = Setting("INCUBATION_BENCHES", 50);
        var minutes = Setting("INCUBATION_MINUTES", 10);
        using var clinic = await PreparedClinic.MakeAsync(benches, Cancel);
        await using var server = await clinic.StartAsync(1, Cancel);
        var (clock, real) = await ClockOfAsync(server, clinic.Key);
        using var end = CancellationTokenSource.CreateLinkedTokenSource(Cancel);
        var acknowledgements = new ConcurrentBag<double>();
        // All fifty batches are started in one second, which is the worst that can happen.
        var aides = Enumerable.Range(1, benches)
            .Select(number => PlayAsync(server, clinic.Key, Bench(number), clock, number, acknowledgements, end.Token))
            .ToList();
        var watchers = await Task.WhenAll(Enumerable.Range(1, (2 * benches) - 1).Select(async number =>
        {
            var watcher = new DueWatch(server.Address, clinic.Key, real);
            await watcher.WatchAsync(Bench((number % benches) + 1), Cancel);
            return watcher;
        }));
        await using var due = new DueWatch(server.Address, clinic.Key, real);
        await due.WatchAsync(Bench(1), Cancel);
        var page = await OpenAsync(server);
        using var fsync = new FsyncWatch();
        server.Process.Refresh();
        var (before, clockBefore) = (server.Process.TotalProcessorTime, Stopwatch.StartNew());
        long most = 0;
        while (clockBefore.Elapsed < TimeSpan.FromMinutes(minutes))
        {
            await Task.Delay(TimeSpan.FromSeconds(5), Cancel);
            server.Process.Refresh();
            most = Math.Max(most, server.Process.WorkingSet64);
        }

        var cores = (server.Process.TotalProcessorTime - before) / clockBefore.Elapsed;
        var lateness = new Lateness();
        lateness.Add(due.Fallen, await SeenAsync(page));
        await end.CancelAsync();
        await Task.WhenAll(aides);
        foreach (var watcher in watchers)
            await watcher.DisposeAsync();
        lateness.Note("many benches");
        FigureFile.Add("many benches, processor cores", cores);
        FigureFile.Add("many benches, memory MB", most / 1e6);
        FigureFile.Add("many benches, acknowledgement p50 ms", Percentile(acknowledgements, 0.5));
        Say($"| {benches} benches, {3 * benches} screens, {minutes} min: processor | {cores:0.00} cores (target 1) |");
        Say($"| memory, most | {most / 1e6:0} MB (target 500) |");
        Say("| from due to screen and sound | " + lateness + " |");
        Say(Acknowledged(acknowledgements, fsync));
    }

    /// <summary>
    /// A week of three batches a day, and for the browser that shows the wall meanwhile more than a day of clinic time:
    /// what the server and the page hold after each batch.
    /// </summary>
    [Fact(Explicit = true)]
    public async Task Week_OfBatchesOnOneServer_MemoryFlat()
    {
        var batches = Setting("INCUBATION_BATCHES", 32);
        using var clinic = await PreparedClinic.MakeAsync(1, Cancel);
        await using var server = await clinic.StartAsync(4 * Pace, Cancel);
        var (clock, _) = await ClockOfAsync(server, clinic.Key);
        using var client = Client(server, clinic.Key);
        var wall = await server.OpenAsync(browser, 1920, 1080, "wall", ".wall[data-line='connected']");
        var began = clock.Now;
        for (var batch = 1; batch <= batches; batch++)
        {
            await PlayAsync(server, clinic.Key, Bench(1), clock, batch, [], Cancel);
            await SendAsync(client, clock, "close-batch");
            await AddRequestsAsync(client, batch);
            server.Process.Refresh();
            if (batch == batches)
                FigureFile.Add("batches on one server, memory MB", server.Process.WorkingSet64 / 1e6);
            var held = await HeldAsync(wall);
            var hours = (clock.Now - began).TotalHours;
            var memory = server.Process.WorkingSet64 / 1e6;
            Say($"| after batch {batch}, {hours:0.0} h | server {memory:0} MB | wall {held} |");
        }
    }

    /// <summary>What a page holds once its garbage is gone: its scripts' heap, its nodes and its listeners.</summary>
    private static async Task<string> HeldAsync(IPage page)
    {
        var chromium = await page.Context.NewCDPSessionAsync(page);
        await chromium.SendAsync("HeapProfiler.collectGarbage");
        await chromium.SendAsync("Performance.enable");
        var metrics = (await chromium.SendAsync("Performance.getMetrics"))!.Value.GetProperty("metrics")
            .EnumerateArray()
            .ToDictionary(metric => metric.GetProperty("name").GetString()!, metric => metric.GetProperty("value")
                .GetDouble());
        await chromium.DetachAsync();
        return string.Create(CultureInfo.InvariantCulture,
            $"heap {metrics["JSHeapUsedSize"] / 1e6:0.0} MB, {metrics["Nodes"]:0} nodes, "
            + $"{metrics["JSEventListeners"]:0} listeners");
    }

    private async Task<object?> PlayBatchAsync(
        FigureServer server, string key, ConcurrentBag<double> acknowledgements, bool kill, Lateness calm,
            Lateness afterKill)
    {
        var (clock, real) = await ClockOfAsync(server, key);
        await using var due = new DueWatch(server.Address, key, real);
        await due.WatchAsync(Bench(1), Cancel);
        var page = await OpenAsync(server);
        var play = PlayAsync(server, key, Bench(1), clock, Random.Shared.Next(), acknowledgements, Cancel);
        double killedAt = double.PositiveInfinity;
        if (kill)
        {
            await Task.Delay(TimeSpan.FromSeconds(20), Cancel);
            killedAt = (DateTimeOffset.UtcNow - DateTimeOffset.UnixEpoch).TotalMilliseconds;
            await server.KillAndStartAsync(TimeSpan.FromSeconds(3), Cancel);
        }

        await play;
        var seen = await SeenAsync(page);
        var fallen = due.Fallen;
        bool Shaken(Due one) => one.At >= killedAt && one.At < killedAt + 60_000;
        calm.Add(fallen.Where(one => !Shaken(one)), seen);
        afterKill.Add(fallen.Where(Shaken), seen);
        await page.Context.CloseAsync();
        return kill ? killedAt : null;
    }

    internal static async Task PlayAsync(
        FigureServer server, string key, string bench, BenchClock clock, int seed,
            ConcurrentBag<double> acknowledgements, CancellationToken end)
    {
        while (true)
        {
            try
            {
                await using var aide = new Autopilot(server.Address, key, bench, clock, (ulong)seed);
                aide.Acknowledged += length => acknowledgements.Add(length.TotalMilliseconds);
                await aide.PlayAsync(end);
                return;
            }
            catch (OperationCanceledException) when (end.IsCancellationRequested && !Cancel.IsCancellationRequested)
            {
                return;
            }
            catch (Exception fault)
                when (fault is HttpRequestException or System.Net.WebSockets.WebSocketException
                    or Microsoft.AspNetCore.SignalR.HubException or InvalidOperationException or IOException
                    or OperationCanceledException)
            {
                // The server was killed: the aide takes up where the bench stands.
                await Task.Delay(TimeSpan.FromMilliseconds(200), Cancel);
            }
        }
    }

    private Task<IPage> OpenAsync(FigureServer server) =>
        server.OpenAsync(browser, 1280, 800, "bench/bench-1", ".bench-line[data-line='connected']", PageWatch.Script);

    private static async Task<PageSeen> SeenAsync(IPage page) =>
        JsonSerializer.Deserialize<PageSeen>(await page.EvaluateAsync<string>("() => JSON.stringify(window.seen)"),
            JsonSerializerOptions.Web)!;

    /// <summary>
    /// The server's clock as this process counts it, and from its instants to real milliseconds since 1970.
    /// </summary>
    internal static async Task<(BenchClock Clock, Func<Instant, double> Real)> ClockOfAsync(FigureServer server,
        string key)
    {
        using var client = Client(server, key);
        for (var warm = 0; warm < 3; warm++)
            await client.GetFromJsonAsync<JsonElement>("api/v1/time", Cancel);
        var sent = DateTimeOffset.UtcNow;
        var time = (await client.GetFromJsonAsync<JsonElement>("api/v1/time", Cancel)).GetProperty("serverTime")
            .GetDateTimeOffset();
        var at = sent + ((DateTimeOffset.UtcNow - sent) / 2);
        var clock = new BenchClock(new PacedTimeProvider(TimeProvider.System, new ClockLine(at, time, server.Pace)),
            server.Pace);
        return (clock, instant => (at - DateTimeOffset.UnixEpoch).TotalMilliseconds
            + ((instant.ToDateTimeOffset() - time).TotalMilliseconds / server.Pace));
    }

    private static HttpClient Client(FigureServer server, string key)
    {
        var client = new HttpClient { BaseAddress = server.Address };
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", key);
        return client;
    }

    private static async Task SendAsync(HttpClient client, BenchClock clock, string kind)
    {
        var command = new
        {
            id = Guid.NewGuid().ToString("N"),
            kind,
            at = clock.Now.ToString(),
            stated = false,
            device = "figures"
        };
        using var answer = await client.PostAsJsonAsync("api/v1/benches/bench-1/commands", command, Cancel);
        answer.EnsureSuccessStatusCode();
    }

    private static async Task AddRequestsAsync(HttpClient client, int batch)
    {
        var requests = Enumerable.Range(1, 12).Select(number => new
        {
            specimen = string.Create(CultureInfo.InvariantCulture, $"W{batch}-{number}"),
            assay = number % 2 == 0 ? "DA" : "DC",
            lot = number % 2 == 0 ? "DA-L1" : "DC-L1",
        });
        using var answer = await client.PostAsJsonAsync("api/v1/benches/bench-1/requests", new { requests }, Cancel);
        if (!answer.IsSuccessStatusCode)
            throw new InvalidOperationException(await answer.Content.ReadAsStringAsync(Cancel));
    }

    private static string Bench(int number) => string.Create(CultureInfo.InvariantCulture, $"bench-{number}");

    private static string Acknowledged(IReadOnlyCollection<double> all, FsyncWatch fsync)
    {
        var p99 = Percentile(all, 0.99);
        return string.Create(CultureInfo.InvariantCulture,
            $"| {all.Count} reports acknowledged, stored with a full sync: p50 {Percentile(all, 0.5):0.0} ms, p90 "
            + $"{Percentile(all, 0.9):0.0} ms, worst {all.Max():0.0} ms; p99 | {p99:0.0} ms; one fsync meanwhile p99 "
            + $"{fsync.P99:0.0} ms; above it {p99 - fsync.P99:0.0} ms (target 50) |");
    }

    private static double Percentile(IEnumerable<double> all, double part)
    {
        var ordered = all.Order().ToList();
        return ordered[Math.Max(0, (int)Math.Ceiling(part * ordered.Count) - 1)];
    }

    private static void Say(string line) => TestContext.Current.SendDiagnosticMessage("{0}", line);
}

/// <summary>What one fsync costs on this disk, measured beside whatever runs.</summary>
internal sealed class FsyncWatch : IDisposable
{
    private const int Block = 4096;
    private readonly FileStream file =
        new(Path.Combine(Path.GetTempPath(), "incubation-fsync-" + Guid.NewGuid().ToString("N")), FileMode.CreateNew,
            FileAccess.Write, FileShare.None, 1, FileOptions.DeleteOnClose);
    private readonly ConcurrentBag<double> lengths = [];
    private readonly Timer timer;

    public FsyncWatch() => timer = new Timer(_ => Measure(), null, TimeSpan.Zero, TimeSpan.FromMilliseconds(250));

    public double P99
    {
        get
        {
            var all = lengths.Order().ToList();
            return all[(int)Math.Ceiling(0.99 * all.Count) - 1];
        }
    }

    public void Dispose()
    {
        using var done = new ManualResetEvent(false);
        if (timer.Dispose(done))
            done.WaitOne();
        file.Dispose();
    }

    private void Measure()
    {
        lock (file)
        {
            var clock = Stopwatch.StartNew();
            file.Write(new byte[Block]);
            file.Flush(flushToDisk: true);
            lengths.Add(clock.Elapsed.TotalMilliseconds);
        }
    }
}
