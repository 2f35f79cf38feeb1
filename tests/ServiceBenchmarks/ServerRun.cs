using System.Diagnostics;
using System.Globalization;
using Incubation.TestKit;

namespace Incubation.ServiceBenchmarks;

/// <summary>How a start and a stop went.</summary>
/// <param name="FirstPage">From the start of the process to the first page.</param>
/// <param name="Ready">To "ready": log writable, every bench running.</param>
/// <param name="Stop">From the request to stop to the end of the process.</param>
internal sealed record ServerRun(TimeSpan FirstPage, TimeSpan Ready, TimeSpan Stop)
{
    private static readonly TimeSpan Pause = TimeSpan.FromMilliseconds(10);

    /// <summary>
    /// Starts the published server on a data file, waits for its first page and its readiness, and stops it.
    /// </summary>
    public static async Task<ServerRun> MeasureAsync(string dll, string data, params string[] more)
    {
        var address = "http://127.0.0.1:" + ProgramProcess.FreePort().ToString(CultureInfo.InvariantCulture);
        using var client = new HttpClient { BaseAddress = new Uri(address) };
        var start = new ProcessStartInfo("dotnet",
            [dll, "--data", data, "--urls", address, .. more])
        { RedirectStandardOutput = true };
        var clock = Stopwatch.StartNew();
        using var server = Process.Start(start)!;
        var said = server.StandardOutput.ReadToEndAsync();
        await UntilAsync(client, "/", server);
        var page = clock.Elapsed;
        await UntilAsync(client, "/health/ready", server);
        var ready = clock.Elapsed;
        clock.Restart();
        using (Process.Start("kill", ["-TERM", server.Id.ToString(CultureInfo.InvariantCulture)]))
            await server.WaitForExitAsync();
        var stop = clock.Elapsed;
        await said;
        return new ServerRun(page, ready, stop);
    }

    /// <summary>Several runs, the median of each figure.</summary>
    public static async Task<ServerRun> MedianAsync(int runs, Func<Task<ServerRun>> measure)
    {
        var all = new List<ServerRun>();
        for (var run = 0; run < runs; run++)
            all.Add(await measure());
        return new ServerRun(Median(all.Select(one => one.FirstPage)), Median(all.Select(one => one.Ready)),
            Median(all.Select(one => one.Stop)));
    }

    private static TimeSpan Median(IEnumerable<TimeSpan> lengths) => lengths.Order().ElementAt(lengths.Count() / 2);

    private static async Task UntilAsync(HttpClient client, string path, Process server)
    {
        while (!server.HasExited)
        {
            try
            {
                using var answer = await client.GetAsync(path);
                if (answer.IsSuccessStatusCode)
                    return;
            }
            catch (HttpRequestException)
            {
                // Not listening yet.
            }
            await Task.Delay(Pause);
        }
        throw new InvalidOperationException("The server ended at its start.");
    }
}
