using System.Collections.Concurrent;
using System.Globalization;
using System.Net;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Backup;
using Incubation.Records.Benches;
using Incubation.Records.Export;
using Incubation.Service.Benches;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using NodaTime;

namespace Incubation.Server.Tests;

/// <summary>
/// Logs that hold times which nothing takes over any more: every page, file and export of them, the plan, and the
/// program's own copies.
/// </summary>
public sealed class StrangeTimesTest : IDisposable
{
    private static readonly BenchId Bench = new("bench-1");
    private static readonly Instant Epoch = Instant.FromUtc(1970, 1, 1, 0, 0);

    /// <summary>Seven minutes before nanoseconds in 64 bits end.</summary>
    private static readonly Instant NearTheEnd = Instant.FromUtc(2262, 4, 11, 23, 40);
    private static readonly Instant FirstDay = Instant.FromUtc(-9998, 1, 2, 0, 0);
    private static readonly Instant LastDay = Instant.FromUtc(9999, 12, 31, 23, 59, 59);

    /// <summary>In characters; a picture whose marks nobody bounds has hundreds of times as many.</summary>
    private const int LongestAnswer = 2_000_000;

    private readonly string folder = Directory.CreateTempSubdirectory("incubation-times-").FullName;
    private int count;

    private string DataPath => Path.Combine(folder, "incubation.db");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    public static TheoryData<string, bool> Logs
    {
        get
        {
            var logs = new TheoryData<string, bool>();
            foreach (var name in Stories.Keys)
            {
                logs.Add(name, false);
                if (name.StartsWith("steps", StringComparison.Ordinal)
                    || name.StartsWith("corrected", StringComparison.Ordinal)
                    || name.StartsWith("ready in 2262", StringComparison.Ordinal))
                    logs.Add(name, true);
            }

            return logs;
        }
    }

    /// <summary>What happened on the bench, beside what its requests' ready times are.</summary>
    private static readonly Dictionary<string, Func<RequestId, RequestId, IEnumerable<(BenchEvent Event, Instant At)>>>
        Stories = new()
        {
            ["ready in 2262, then withdrawn"] = (one, _) => [
                (new BenchEvent.ReadyChanged(one, NearTheEnd + Duration.FromDays(1)), default),
                (new BenchEvent.RequestWithdrawn(one), default)],
            ["ready in 9999"] = (one, _) => [(new BenchEvent.ReadyChanged(one, LastDay), default)],
            ["ready in -9998"] = (one, _) => [(new BenchEvent.ReadyChanged(one, FirstDay), default)],
            ["steps in 1970"] = (one, _) => Steps(one, Epoch),
            ["steps in 2262"] = (one, _) => Steps(one, NearTheEnd),
            ["mixed in 1970, the other ready in 9999"] = (one, other) => [
                .. Steps(one, Epoch).Take(2), (new BenchEvent.ReadyChanged(other, LastDay), default)],
            ["reacting since 1970"] = (one, _) => Steps(one, Epoch).Take(2),
            ["reacting since 2262"] = (one, _) => Steps(one, NearTheEnd).Take(2),
            ["corrected to -9998"] = (one, _) => [.. Steps(one, Epoch).Take(2), Corrected(FirstDay)],
            ["corrected to 9999"] = (one, _) => [.. Steps(one, Epoch).Take(2), Corrected(LastDay)],
            ["started in 1970, out of use since then"] = (_, _) => [
                (new BenchEvent.BatchStarted(1), Epoch),
                (new BenchEvent.PutOutOfUse(new CalendarEntry(new BenchResource.Slot(new SlotNumber(1)), Epoch,
                    LastDay, "")), Epoch),
                (new BenchEvent.TemperatureMeasured(new Celsius(25), true, []), Epoch),
                (new BenchEvent.ReadinessConfirmed(ReadinessKey.ReaderCheck(new ReaderNumber(1)), Epoch), Epoch),
                (new BenchEvent.Restarted(new Outage(Epoch, NearTheEnd, true, [], [])), Epoch)],
        };

    private static IEnumerable<(BenchEvent, Instant)> Steps(RequestId one, Instant at)
    {
        var hands = new HandsNumber(1);
        var (loaded, read) = (at + Duration.FromMinutes(1), at + Duration.FromMinutes(15));
        yield return (new BenchEvent.Mixed(one, hands, at, new InstantRange(at, at), []), at);
        yield return (new BenchEvent.Loaded(one, hands, new CartridgePlace.InSlot(new SlotNumber(1)), at,
            new InstantRange(at, loaded), []), at);
        yield return (new BenchEvent.ReadStarted(one, hands, new ReaderNumber(1), read, read, []), at);
        yield return (new BenchEvent.Cleared(one, hands, new ReaderNumber(1), read, read + Duration.FromMinutes(1),
            null, []), at);
    }

    /// <summary>The report before, as somebody corrected it.</summary>
    private static (BenchEvent, Instant) Corrected(Instant at) => (new BenchEvent.ReportsRevised(
        [], [new Correction(new ReportId("last"), at, null, null)], [], "a slip"), default);

    [Theory]
    [MemberData(nameof(Logs))]
    public async Task Log_WithStrangeTimes_StopsNothing(string story, bool closed)
    {
        await MakeAsync();

        Tell(Stories[story], closed);
        await using (var server = Server(DataPath))
        {
            var (heard, batches) = (new Faults(), closed ? 2 : 1);
            server.Services.GetRequiredService<ILoggerFactory>().AddProvider(heard);
            using var client = server.ClientAs("mara");
            foreach (var address in Addresses(batches))
                await AnswerAsync(client, address, heard);
            Assert.Empty(heard.Said);
            var runner = server.Services.GetRequiredService<BenchRegistry>().Find("bench-1")!;
            await AnswerAsync(client, "/health/ready", heard);
            var state = runner.Present.State;
            var day = LiveBench.Problem(state, runner.Present.View.At);
            Assert.All(day.Requests, request => Assert.InRange(request.Ready, state.Run.Since - Bounds.PlannedWithin,
                runner.Present.View.At + Bounds.PlannedWithin));
            Assert.True(closed || state.Adopted is not null);
            Assert.Empty(heard.Said);
        }

        Assert.True(RecordCheck.Run(DataPath).IsWhole);
        DataBackup.Make(DataPath, Path.Combine(folder, "copy.db"));
        RecordExport.Run(DataPath, null, ExportForm.Csv, Path.Combine(folder, "record.csv"));
        RecordExport.Run(DataPath, null, ExportForm.Jsonl, Path.Combine(folder, "record.jsonl"));
    }

    private static ServerFactory Server(string data) => new()
    {
        Settings = new Dictionary<string, string> { ["Incubation:Data"] = data },
    };

    /// <summary>The invented clinic, with its requests on the bench.</summary>
    private async Task MakeAsync()
    {
        var made = Path.Combine(folder, "made", "incubation.db");
        Directory.CreateDirectory(Path.GetDirectoryName(made)!);
        await using (var server = Server(made))
        using (var client = server.ClientAs("mara"))
            await AnswerAsync(client, "/api/v1/benches/bench-1", new Faults());
        DataBackup.Make(made, DataPath);
        File.Copy(Path.Combine(Path.GetDirectoryName(made)!, "record.key"), Path.Combine(folder, "record.key"));
    }

    private void Tell(Func<RequestId, RequestId, IEnumerable<(BenchEvent Event, Instant At)>> story, bool closed)
    {
        using var file = DataFile.Open(DataPath);
        var streams = new BenchStreams(file);
        var state = streams.Load(Bench).Aggregate((BenchState?)null, LiveBench.Apply)!;
        var now = state.LastArrived + Duration.FromSeconds(1);
        var requests = state.Cartridges.Select(cartridge => cartridge.Id).ToList();
        List<BenchEntry> entries = [];
        void Say(BenchEvent happened, Instant at)
        {
            var provenance = new Provenance(new ReportId("strange-" + ++count), at == default ? now : at, now,
                new PersonId("lena"), new DeviceId("old"));
            if (happened is BenchEvent.ReportsRevised correcting)
                happened = correcting with
                {
                    Corrected = [correcting.Corrected[0] with { Report = entries[^1].Provenance.Id }],
                };
            entries.Add(new BenchEntry(happened, provenance));
            state = LiveBench.Apply(state, entries[^1]);
        }

        if (state.Phase != BatchPhase.Running)
            Say(new BenchEvent.BatchStarted(1), default);
        foreach (var (happened, at) in story(requests[0], requests[1]))
            Say(happened, at);
        if (closed)
            Say(new BenchEvent.BatchClosed(1), default);
        streams.Append(Bench, state.Revision - entries.Count, entries);
    }

    private static IEnumerable<string> Addresses(int batches)
    {
        string[] always = ["/", "/wall", "/bench/bench-1", "/batch/bench-1", "/benches/bench-1/run-sheet",
            "/benches/bench-1/labels", "/record", "/record?order=batch", "/reports",
            "/reports?from=1971-01-01&to=2026-12-31", "/step-times?bench=bench-1", "/step-times.csv?bench=bench-1",
            "/what-if", "/controls", "/controls/summary", "/lots", "/clinic-log", "/retention", "/second-look",
            "/clock",
            "/api/v1/day", "/api/v1/benches", "/api/v1/benches/bench-1", "/api/v1/benches/bench-1/events",
            "/api/v1/record/cartridges.csv", "/api/v1/record/amendments.csv", "/api/v1/record/happenings.csv",
            "/api/v1/record/events.jsonl",
            .. new[]
            {
                "requests", "use", "windows", "spare", "planned", "day-happened", "time-by-step", "time-by-hour",
            }.Select(table => $"/reports/{table}.csv")];
        return always.Concat(Enumerable.Range(1, batches).SelectMany(number => new[]
        {
            $"/record/bench-1/{number}", $"/record/bench-1/{number}/play",
            $"/api/v1/benches/bench-1/batches/{number}/moments", $"/api/v1/benches/bench-1/batches/{number}/moments/0",
            $"/api/v1/benches/bench-1/batches/{number}/moments/5",
            $"/api/v1/benches/bench-1/batches/{number}/moments/7",
        }));
    }

    private static async Task AnswerAsync(HttpClient client, string address, Faults heard)
    {
        var before = heard.Said.Count;
        using var answer = await client.GetAsync(new Uri(address, UriKind.Relative), Cancel);
        var body = await answer.Content.ReadAsStringAsync(Cancel);
        if ((int)answer.StatusCode >= 500 || answer.StatusCode == HttpStatusCode.Unauthorized
            || body.Length > LongestAnswer)
            heard.Said.Enqueue(string.Create(CultureInfo.InvariantCulture,
                $"{address}: {answer.StatusCode}, {body.Length} characters."));
        if (heard.Said.Count > before)
            heard.Said.Enqueue("(" + address + ")");
    }

    /// <summary>What the server says of its faults.</summary>
    private sealed class Faults : ILoggerProvider, ILogger
    {
        public ConcurrentQueue<string> Said { get; } = new();

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Error;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
            Func<TState, Exception?, string> formatter)
        {
            if (IsEnabled(logLevel))
                Said.Enqueue(formatter(state, exception) + " " + exception);
        }

        public void Dispose()
        {
            // Nothing is held.
        }
    }
}
