using System.Globalization;
using Incubation.ServiceBenchmarks;

namespace Incubation.Hostile;

/// <summary>Many cases over HTTP.</summary>
internal static class HttpCommand
{
    /// <summary>A server is taken anew after so many cases: what one has come through is then compared.</summary>
    private const int CasesOfAServer = 250;

    /// <summary>Of a batch of twelve cartridges, with its plans and reports.</summary>
    private const long EventsOfACartridge = 9;

    private const long Cartridges = 100_000;

    /// <summary>Plays the cases; 0 where nothing was found, else 1.</summary>
    public static async Task<int> RunAsync(int first, int count, ulong seed, bool big, TextWriter output)
    {
        var found = 0;
        for (var from = first; from < first + count; from += CasesOfAServer)
        {
            var these = Math.Min(CasesOfAServer, first + count - from);
            await using var server = await AttackedServer.StartAsync(big ? MakeBig : null);
            var run = new HttpRun(server);
            try
            {
                await run.BeginAsync();
                await run.PlayAsync(from, these, seed);
            }
            catch (Exception fault) when (fault is HttpRequestException or OperationCanceledException)
            {
                // What is said between the cases, as people do: the rest of these cases was not played.
                found++;
                await output.WriteLineAsync(string.Create(CultureInfo.InvariantCulture,
                    $"cases from {from} of seed {seed}: cut short: {fault.Message}"));
            }

            found += run.Findings.Count;
            foreach (var finding in run.Findings)
                await output.WriteLineAsync(finding);
            await output.WriteLineAsync(string.Create(CultureInfo.InvariantCulture,
                $"{these} cases from {from} of seed {seed}: {run.Findings.Count} findings; {run.Statuses}"));
        }

        return found == 0 ? 0 : 1;
    }

    private static void MakeBig(string data) =>
        LongLog.Make(data, Cartridges * EventsOfACartridge, done => Console.Error.WriteLine($"  {done} events"));
}
