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

/// <summary>How a backup went, and the acknowledgements beside it.</summary>
/// <param name="Backup">From the start of the command to its end: copied, flushed, opened, replayed.</param>
/// <param name="Acknowledgements">How many reports were acknowledged meanwhile.</param>
/// <param name="Median">The median acknowledgement.</param>
/// <param name="Slowest">The slowest.</param>
/// <param name="SlowestBefore">The slowest of as many before, with no backup.</param>
internal sealed record BackupRun(TimeSpan Backup, int Acknowledgements, TimeSpan Median, TimeSpan Slowest,
    TimeSpan SlowestBefore)
{
    private static readonly TimeSpan BetweenReports = TimeSpan.FromMilliseconds(40);

    /// <summary>Backs a file up with the command while a bench's runner takes reports into it.</summary>
    public static async Task<BackupRun> MeasureAsync(string cli, string data, string copy)
    {
        using var file = DataFile.Open(data);
        var log = new RecordsBenchLog(file);
        var time = new BenchClock(TimeProvider.System, 1);
        var guard = new ClockGuard(time, () => DateTimeZone.Utc, isRealTime: true);
        await using var benches = new BenchRegistry(log, time, () => new IterationBudget(50),
            NullLogger<BenchRunner>.Instance, guard);
        var runner = benches.Continue((await log.LoadAsync(LongLog.Bench, CancellationToken.None))!);
        var before = new List<TimeSpan>();
        for (var report = 0; report < 100; report++)
            before.Add(await ReportAsync(runner));

        var during = new List<TimeSpan>();
        var clock = Stopwatch.StartNew();
        using var backup =
            Process.Start(
                new ProcessStartInfo("dotnet", [cli, "backup", data, "--to", copy]) { RedirectStandardOutput = true })!;
        var ended = backup.WaitForExitAsync();
        while (!ended.IsCompleted)
            during.Add(await ReportAsync(runner));
        var length = clock.Elapsed;
        if (backup.ExitCode != 0)
            throw new InvalidOperationException("The backup failed.");
        during.Sort();
        return new BackupRun(length, during.Count, during[during.Count / 2], during[^1], before.Max());
    }

    private static async Task<TimeSpan> ReportAsync(BenchRunner runner)
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
}
