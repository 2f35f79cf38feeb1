using System.Diagnostics;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Records.Integrity;

namespace Incubation.ServiceBenchmarks;

/// <summary>What it costs to hold the tables against the log, as the server does once a day.</summary>
/// <param name="Rows">Rows compared.</param>
/// <param name="CatchUp">Filling the tables at first.</param>
/// <param name="Pieces">In how many pieces.</param>
/// <param name="Worked">All pieces together.</param>
/// <param name="LongestPiece">The longest of them.</param>
/// <param name="Bytes">How much more memory the process held at most meanwhile.</param>
/// <param name="During">Acknowledgements meanwhile, the quickest first.</param>
/// <param name="Beside">As many before and after, with no comparison.</param>
/// <param name="Export">The command that writes the whole record as CSV.</param>
/// <param name="Verify">The command that verifies the record and compares.</param>
/// <param name="Backup">The command that backs it up, verified and compared.</param>
internal sealed record IntegrityRun(long Rows, TimeSpan CatchUp, int Pieces, TimeSpan Worked, TimeSpan LongestPiece,
    long Bytes, IReadOnlyList<TimeSpan> During, IReadOnlyList<TimeSpan> Beside, TimeSpan Export, TimeSpan Verify,
    TimeSpan Backup)
{
    /// <summary>The server pauses so many times as long as it works.</summary>
    private const int PauseFor = 4;

    private const int ReportsBeside = 300;

    /// <summary>Measures a file, and the commands on it.</summary>
    public static async Task<IntegrityRun> MeasureAsync(string cli, string data, string work)
    {
        var verdict = ProjectionVerdict.Empty;
        var (worked, longest, pieces, most) = (TimeSpan.Zero, TimeSpan.Zero, 0, 0L);
        var (beside, during) = (new List<TimeSpan>(), new List<TimeSpan>());
        TimeSpan catchUp;
        using (var file = DataFile.Open(data))
        {
            var clinic = ClinicLog.Open(file);
            var book = new CartridgeProjection(file, clinic.Amended);
            catchUp = Timed(book.CatchUp);
            await using var bench = await BusyBench.OpenAsync(file);
            for (var report = 0; report < ReportsBeside; report++)
                beside.Add(await bench.ReportAsync());
            var held = Environment.WorkingSet;
            var comparison = Task.Run(() =>
            {
                var clock = Stopwatch.StartNew();
                foreach (var _ in ProjectionCheck.InPieces(file, book, found => verdict = found))
                {
                    var took = clock.Elapsed;
                    (worked, longest, pieces) = (worked + took, took > longest ? took : longest, pieces + 1);
                    most = Math.Max(most, Environment.WorkingSet - held);
                    Thread.Sleep(took * PauseFor);
                    clock.Restart();
                }
            });
            while (!comparison.IsCompleted)
                during.Add(await bench.ReportAsync());
            await comparison;
            for (var report = 0; report < ReportsBeside; report++)
                beside.Add(await bench.ReportAsync());
        }

        during.Sort();
        beside.Sort();
        return new IntegrityRun(verdict.Rows, catchUp, pieces, worked, longest, most, during, beside,
            Command("export", data, "--to", Path.Combine(work, "whole.csv")), Command("verify-log", data),
            Command("backup", data, "--to", Path.Combine(work, "compared.db")));

        TimeSpan Command(params string[] arguments) => Timed(() =>
        {
            using var command = Process.Start(
                new ProcessStartInfo("dotnet", [cli, .. arguments]) { RedirectStandardOutput = true })!;
            command.StandardOutput.ReadToEnd();
            command.WaitForExit();
            if (command.ExitCode != 0)
                throw new InvalidOperationException($"{arguments[0]} failed.");
        });
    }

    /// <summary>The acknowledgement that 99 of a hundred do not exceed.</summary>
    public static TimeSpan P99(IReadOnlyList<TimeSpan> sorted) => sorted[(int)((sorted.Count - 1) * 0.99)];

    private static TimeSpan Timed(Action act)
    {
        var clock = Stopwatch.StartNew();
        act();
        return clock.Elapsed;
    }
}
