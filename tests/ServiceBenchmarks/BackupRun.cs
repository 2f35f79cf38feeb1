using System.Diagnostics;
using Incubation.Records;

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
    /// <summary>Backs a file up with the command while a bench's runner takes reports into it.</summary>
    public static async Task<BackupRun> MeasureAsync(string cli, string data, string copy)
    {
        using var file = DataFile.Open(data);
        await using var bench = await BusyBench.OpenAsync(file);
        var before = new List<TimeSpan>();
        for (var report = 0; report < 100; report++)
            before.Add(await bench.ReportAsync());

        var during = new List<TimeSpan>();
        var clock = Stopwatch.StartNew();
        using var backup =
            Process.Start(
                new ProcessStartInfo("dotnet", [cli, "backup", data, "--to", copy]) { RedirectStandardOutput = true })!;
        var ended = backup.WaitForExitAsync();
        while (!ended.IsCompleted)
            during.Add(await bench.ReportAsync());
        var length = clock.Elapsed;
        if (backup.ExitCode != 0)
            throw new InvalidOperationException("The backup failed.");
        during.Sort();
        return new BackupRun(length, during.Count, during[during.Count / 2], during[^1], before.Max());
    }
}
