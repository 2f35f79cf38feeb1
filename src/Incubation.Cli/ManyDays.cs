using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Simulation;

namespace Incubation.Cli;

/// <summary>
/// Plays many days on several threads. Each day has a seed of its own, so the threads play no part in what comes out.
/// </summary>
internal static class ManyDays
{
    /// <summary>For each search of a played day; more gives little.</summary>
    private const long SearchIterations = 2_000;

    /// <summary>The dispatches that are compared, this program first.</summary>
    public static IReadOnlyList<Dispatch> Dispatches { get; } = [Dispatch.Planned, Dispatch.OneAtATime,
        Dispatch.LoadAtOnce];

    /// <summary>The figures of each dispatch, in their order; null where it was stopped.</summary>
    public static IReadOnlyList<DispatchFigures>? Play(
        BenchDay day, int days, ulong seed, int threads, RandomStepLengths times, DayProgress progress,
            CancellationToken stopped)
    {
        var played = Dispatches.Select(_ => new DayOutcome[days]).ToArray();
        try
        {
            Parallel.For(0, days,
                new ParallelOptions { MaxDegreeOfParallelism = threads, CancellationToken = stopped }, index =>
            {
                for (var i = 0; i < Dispatches.Count; i++)
                {
                    var outcome = DispatchedDay.Play(day, Dispatches[i], Seeds.Mix(seed, (ulong)index), times,
                        SearchPolicy.Frugal, () => new IterationBudget(SearchIterations));
                    played[i][index] = outcome with { Steps = [] };
                }
                progress.Count();
            });
        }
        catch (OperationCanceledException)
        {
            return null;
        }
        finally
        {
            progress.End();
        }
        return [.. played.Select(DispatchFigures.Of)];
    }
}

/// <summary>Tells on a terminal how many days have been played.</summary>
/// <param name="days">How many are to be played.</param>
/// <param name="terminal">Where it is told, or null.</param>
internal sealed class DayProgress(int days, TextWriter? terminal)
{
    private readonly Lock writing = new();
    private int finished;

    /// <summary>Days played so far.</summary>
    public int Done => Volatile.Read(ref finished);

    /// <summary>One more day has been played.</summary>
    public void Count()
    {
        var done = Interlocked.Increment(ref finished);
        if (terminal is null || done * 100L / days == (done - 1) * 100L / days)
            return;
        lock (writing)
            terminal.Write('\r' + Say.Text(Words.SimulateProgress, done, days));
    }

    /// <summary>Takes the line away.</summary>
    public void End() =>
        terminal?.Write('\r' + new string(' ', Say.Text(Words.SimulateProgress, days, days).Length) + '\r');
}
