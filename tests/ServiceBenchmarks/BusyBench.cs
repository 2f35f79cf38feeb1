using System.Diagnostics;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Microsoft.Extensions.Logging.Abstractions;
using NodaTime;

namespace Incubation.ServiceBenchmarks;

/// <summary>The bench of a long log, which takes a report every 40 ms.</summary>
internal sealed class BusyBench : IAsyncDisposable
{
    private static readonly TimeSpan BetweenReports = TimeSpan.FromMilliseconds(40);
    private readonly BenchRunner runner;

    private BusyBench(BenchRegistry benches, BenchRunner runner) => (Benches, this.runner) = (benches, runner);

    /// <summary>It alone.</summary>
    public BenchRegistry Benches { get; }

    /// <summary>Goes on with the bench of a file.</summary>
    public static async Task<BusyBench> OpenAsync(DataFile file)
    {
        var log = new RecordsBenchLog(file);
        var time = new BenchClock(TimeProvider.System, 1);
        var guard = new ClockGuard(time, () => DateTimeZone.Utc, isRealTime: true);
        var benches = new BenchRegistry(log, time, () => new IterationBudget(50), NullLogger<BenchRunner>.Instance,
            guard);
        return new BusyBench(benches, benches.Continue((await log.LoadAsync(LongLog.Bench, CancellationToken.None))!));
    }

    /// <summary>Says something that is recorded; how long until that was acknowledged.</summary>
    public async Task<TimeSpan> ReportAsync()
    {
        var now = SystemClock.Instance.GetCurrentInstant();
        var provenance = new Provenance(new ReportId(Guid.NewGuid().ToString("N")), now, now,
            new PersonId("benchmark"), new DeviceId("benchmark"));
        var clock = Stopwatch.StartNew();
        var answer =
            await runner.SendAsync(
                new BenchCommand.AcknowledgeAlarm(new AlarmKey(AlarmKind.WindowClosed, new RequestId("B9999-R02"))),
                provenance);
        var length = clock.Elapsed;
        if (!answer.Recorded)
            throw new InvalidOperationException(answer.Sentence);
        await Task.Delay(BetweenReports);
        return length;
    }

    /// <inheritdoc/>
    public ValueTask DisposeAsync() => Benches.DisposeAsync();
}
