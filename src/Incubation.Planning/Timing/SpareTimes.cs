using NodaTime;

namespace Incubation.Planning.Timing;

/// <summary>The longest delays of a plan's steps that hold, to the millisecond. What has been found is kept.</summary>
/// <param name="network">The plan in its own order.</param>
internal sealed class SpareTimes(OrderNetwork network)
{
    /// <summary>
    /// A delay of some weeks that nothing but an unlimited step survives, in milliseconds: <see cref="First"/>, made
    /// four times as long eleven times.
    /// </summary>
    private const long Beyond = First << 22;

    private const long First = 1000;

    private readonly Dictionary<int, Duration> known = [];

    /// <summary>Of the step before: what follows it in the order often breaks by the same delay.</summary>
    private long? near;

    public Duration Of(int node)
    {
        if (known.TryGetValue(node, out var spare))
            return spare;
        var longest = Longest(node);
        near = longest;
        return known[node] = longest is { } found ? Duration.FromMilliseconds(found) : StepSpare.Unlimited;
    }

    /// <summary>The longest delay that holds; null where every one does.</summary>
    private long? Longest(int node)
    {
        if (near is { } before)
        {
            if (network.Holds(node, before + 1))
                return Lengthened(node, before + 1, Math.Max(First, 4 * (before + 1)));
            return before == 0 || network.Holds(node, before) ? before : Halved(node, 0, before);
        }

        return known.Count > 0 && network.Holds(node, Beyond) ? null : Lengthened(node, 0, First);
    }

    /// <summary>Made longer until it breaks, then halved: no longer delay holds where a shorter one breaks.</summary>
    private long? Lengthened(int node, long holds, long breaks)
    {
        while (network.Holds(node, breaks))
        {
            if (breaks >= Beyond)
                return null;
            (holds, breaks) = (breaks, Math.Min(Beyond, breaks * 4));
        }

        return Halved(node, holds, breaks);
    }

    private long Halved(int node, long holds, long breaks)
    {
        while (breaks - holds > 1)
        {
            var middle = holds + ((breaks - holds) / 2);
            if (network.Holds(node, middle))
                holds = middle;
            else
                breaks = middle;
        }

        return holds;
    }
}
