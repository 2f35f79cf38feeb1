using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// What a bench still knows of times when its host's clock has gone back: at some time before, it was ahead of the
/// truth, and nobody knows since when.
/// </summary>
internal static class ClockReturn
{
    /// <summary>
    /// The bench before an entry that arrives earlier than the one before it, by more than clocks may differ: when a
    /// request came says no more when its steps can have been, and the batch began as much earlier as the clock went
    /// back. What was told before, and given up before, was so by now, whatever the clock before has said of it. Else
    /// the bench itself.
    /// </summary>
    public static BenchState Heard(BenchState state, Instant arrived)
    {
        var back = state.Run.LastHeard - arrived;
        return back > ClockDoubt.Tolerance ? state.InRun(run => Returned(run, back, arrived)) : state;
    }

    /// <summary>No hands have reported later than what was heard last; what says so is of the clock before.</summary>
    public static ImmutableArray<HandsStatus> Reported(ImmutableArray<HandsStatus> hands, Instant heard) =>
        hands.Any(one => one.LastReport > heard)
            ? [.. hands.Select(one => one with { LastReport = Instant.Min(one.LastReport, heard) })] : hands;

    private static BatchRun Returned(BatchRun run, Duration back, Instant arrived) => run with
    {
        ClockReturned = true,
        Since = run.Since.Later(-back),
        Cartridges = [.. run.Cartridges.Select(cartridge => cartridge with { Came = Instant.MinValue })],
        Story = run.Story.ConvertAll(told => told.InOrder > arrived ? told with { HeardBy = arrived } : told),
        GivenUp = [.. run.GivenUp.Select(given => given with { Since = Instant.Min(given.Since, arrived) })],
        Trouble = run.Trouble is { } trouble
            ? trouble with
            {
                Since = Instant.Min(trouble.Since, arrived),
                SetAside = [.. trouble.SetAside.Select(aside =>
                    aside with { Since = Instant.Min(aside.Since, arrived) })],
            }
            : null,
        Undo = run.Undo is { } undo ? undo with { Run = Returned(undo.Run, back, arrived) } : null,
    };
}
