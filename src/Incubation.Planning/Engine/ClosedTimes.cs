namespace Incubation.Planning.Engine;

/// <summary>
/// When one resource cannot be used: disjoint half-open intervals in milliseconds since the day's start, by time.
/// </summary>
internal sealed class ClosedTimes
{
    private readonly long[] from;
    private readonly long[] to;

    private ClosedTimes(long[] from, long[] to)
    {
        this.from = from;
        this.to = to;
    }

    /// <summary>Never closed.</summary>
    public static ClosedTimes None { get; } = new([], []);

    /// <summary>Whether the resource is never closed.</summary>
    public bool IsEmpty => from.Length == 0;

    /// <summary>How many times there are, without an end or not, in which the resource is open.</summary>
    public int Openings => from.Length + 1;

    /// <summary>One of the times in which the resource is open, by time; never empty but for the first.</summary>
    public (long From, long To) Opening(int index) =>
        (index == 0 ? long.MinValue : to[index - 1], index < from.Length ? from[index] : BenchProblem.Never);

    /// <summary>Merges intervals that overlap or touch; empty ones are left out.</summary>
    public static ClosedTimes Of(IEnumerable<(long From, long To)> intervals)
    {
        var sorted = intervals.Where(interval => interval.From < interval.To).OrderBy(interval => interval.From)
            .ToList();
        if (sorted.Count == 0)
            return None;
        var merged = new List<(long From, long To)> { sorted[0] };
        foreach (var next in sorted.Skip(1))
        {
            var last = merged[^1];
            if (next.From <= last.To)
                merged[^1] = (last.From, Math.Max(last.To, next.To));
            else
                merged.Add(next);
        }

        return new ClosedTimes([.. merged.Select(interval => interval.From)],
            [.. merged.Select(interval => interval.To)]);
    }

    /// <summary>
    /// The earliest start at or after <paramref name="earliest"/> from which something of this length overlaps nothing.
    /// What has no length may not start inside an interval.
    /// </summary>
    public long Fit(long earliest, long length)
    {
        for (var i = 0; i < from.Length; i++)
        {
            if (earliest >= to[i])
                continue;
            if (length == 0 ? earliest < from[i] : earliest + length <= from[i])
                return earliest;
            earliest = to[i];
        }

        return earliest;
    }

    /// <summary>
    /// The earliest start at or after <paramref name="earliest"/> of a stay that lasts at least
    /// <paramref name="length"/> and at least until <paramref name="until"/>.
    /// </summary>
    public long FitStay(long earliest, long length, long until)
    {
        while (true)
        {
            var start = Fit(earliest, Math.Max(length, until - earliest));
            if (start == earliest)
                return start;
            earliest = start;
        }
    }

    /// <summary>Whether the resource is closed from then on for all of this length.</summary>
    public bool Covers(long start, long length)
    {
        for (var i = 0; i < from.Length; i++)
        {
            if (from[i] <= start && start + length <= to[i])
                return true;
        }

        return false;
    }
}
