using Incubation.Model;
using NodaTime;

namespace Incubation.Simulation;

/// <summary>
/// How long the hands' steps of one day really take. A step's length depends on the day's seed, the step and the
/// cartridge alone, not on when it is done, so that the same day can be played under several habits and compared
/// (common random numbers). Only card changes are drawn one after another.
/// </summary>
/// <param name="times">How lengths are distributed.</param>
/// <param name="seed">Seed of the day.</param>
public sealed class HandsLengths(RandomStepLengths times, ulong seed)
{
    private int cardChanges;

    /// <summary>The length of a step that is allowed so long.</summary>
    public Duration Of(StepAction action, Duration allowed)
    {
        ArgumentNullException.ThrowIfNull(action);
        var (kind, what) = action switch
        {
            StepAction.Mix mix => (1UL, NumberOf(mix.Request)),
            StepAction.Load load => (2UL, NumberOf(load.Request)),
            StepAction.Move move => (3UL, NumberOf(move.Request)),
            StepAction.Clear clear => (4UL, NumberOf(clear.Request)),
            StepAction.Discard discard => (5UL, NumberOf(discard.Request)),
            StepAction.CardChange => (6UL, (ulong)++cardChanges),
            _ => throw new InvalidOperationException($"Nobody's hands do a {action.GetType().Name}."),
        };
        return times.Draw(allowed, new Random(unchecked((int)Seeds.Mix(Seeds.Mix(seed, kind), what))));
    }

    /// <summary>A number made of a request's id, the same on every machine (FNV-1a, 64 bits).</summary>
    private static ulong NumberOf(RequestId request)
    {
        var number = 14695981039346656037UL;
        foreach (var character in request.Value)
            number = unchecked((number ^ character) * 1099511628211UL);
        return number;
    }
}

/// <summary>Makes seeds from seeds.</summary>
public static class Seeds
{
    /// <summary>
    /// A seed of its own for each number (the mixing step of SplitMix64, Steele, Lea and Flood 2014; from memory).
    /// </summary>
    public static ulong Mix(ulong seed, ulong number)
    {
        unchecked
        {
            var z = seed + ((number + 1) * 0x9E3779B97F4A7C15UL);
            z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9UL;
            z = (z ^ (z >> 27)) * 0x94D049BB133111EBUL;
            return z ^ (z >> 31);
        }
    }
}
