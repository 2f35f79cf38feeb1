namespace Incubation.Planning.Engine;

/// <summary>Hands, and which pair of them does an operation.</summary>
internal sealed partial class Decoder
{
    /// <summary>
    /// Hands an operation its hands: the pair that can begin first, of those the one that was free last.
    /// </summary>
    private long TakeHands(int op, long earliest)
    {
        var takes = length[op];
        if (oneHand)
        {
            if (takes == 0)
                return earliest;
            if (handFree[0] > earliest)
                earliest = handFree[0];
            handFree[0] = earliest + takes;
            return earliest;
        }

        if (!p.AnyHandClosed && FixedHands is null)
            return TakeFreestHands(op, earliest, takes);
        var fixedHand = FixedHands is { } hands ? hands[op] : -1;
        var best = -1;
        var bestStart = long.MaxValue;
        for (var h = 0; h < handFree.Length; h++)
        {
            if (fixedHand >= 0 && fixedHand != h)
                continue;
            var start = p.HandClosed[h].Fit(takes == 0 ? earliest : Math.Max(earliest, handFree[h]), takes);
            if (start < bestStart || (start == bestStart && handFree[h] > handFree[best]))
                (best, bestStart) = (h, start);
        }

        HandOf[op] = best;
        if (takes > 0)
            handFree[best] = bestStart + takes;
        return bestStart;
    }

    private long TakeFreestHands(int op, long earliest, long length)
    {
        var best = 0;
        var free = handFree[0];
        for (var h = 1; h < handFree.Length; h++)
        {
            // Free in time and last, or else free first.
            if (handFree[h] <= earliest ? free > earliest || handFree[h] > free : handFree[h] < free)
                (best, free) = (h, handFree[h]);
        }

        HandOf[op] = best;
        if (length == 0)
            return earliest;
        var start = Math.Max(earliest, free);
        handFree[best] = start + length;
        return start;
    }

    /// <summary>When hands could begin, without taking them.</summary>
    private long HandsCould(int op, long earliest)
    {
        var takes = length[op];
        if (oneHand)
            return takes > 0 && handFree[0] > earliest ? handFree[0] : earliest;
        if (takes == 0 && !p.AnyHandClosed)
            return earliest;
        var fixedHand = FixedHands is { } hands ? hands[op] : -1;
        var bestStart = long.MaxValue;
        for (var h = 0; h < handFree.Length; h++)
        {
            if (fixedHand < 0 || fixedHand == h)
                bestStart = Math.Min(bestStart,
                    p.HandClosed[h].Fit(takes == 0 ? earliest : Math.Max(earliest, handFree[h]), takes));
        }

        return bestStart;
    }
}
