namespace Incubation.Planning.Engine;

/// <summary>
/// The last tie-break of the cost rule: among orders of equal cost the one that leaves more spare time. A load that
/// waits on purpose waits just as long as it must; where waiting longer costs nothing, every later step gains what it
/// waits.
/// </summary>
internal sealed class SpareTime(Decoder decoder)
{
    /// <summary>Files count in seconds, so reserves do.</summary>
    private const long Unit = 1000;

    private const long Most = 600 * Unit;

    /// <summary>
    /// The greatest reserve (milliseconds) with which the order is worth as much as without; zero where there is none.
    /// </summary>
    /// <param name="order">An order that can be decoded.</param>
    /// <param name="left">What the jobs left out weigh.</param>
    /// <param name="worth">What the order is worth without a reserve.</param>
    public long GreatestReserve(Sequence order, in Score left, in Score worth)
    {
        var (holds, breaks) = (0L, Unit);
        while (Holds(order, left, worth, breaks))
        {
            if (breaks >= Most)
                return breaks;
            (holds, breaks) = (breaks, breaks * 2);
        }

        while (breaks - holds > Unit)
        {
            var middle = holds + ((breaks - holds) / (2 * Unit) * Unit);
            if (Holds(order, left, worth, middle))
                holds = middle;
            else
                breaks = middle;
        }

        return holds;
    }

    /// <summary>Whether the order is worth as much with a reserve; leaves the decoder without one.</summary>
    public bool Holds(Sequence order, in Score left, in Score worth, long reserve)
    {
        decoder.Reserve = reserve;
        var holds = decoder.Decode(order, left, worth.Energy + (2 * Score.Equal)) && !worth.IsBetterThan(decoder.Score);
        decoder.Reserve = 0;
        return holds;
    }

    /// <summary>Whether an order equal in worth has more than a reserve to give.</summary>
    public bool HasMore(Sequence order, in Score left, in Score worth, long reserve) =>
        Holds(order, left, worth, reserve + Unit);
}
