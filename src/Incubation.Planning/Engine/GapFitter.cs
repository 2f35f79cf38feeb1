namespace Incubation.Planning.Engine;

/// <summary>
/// Puts a job into the gaps that the others leave, none of them moved: the order that results is always possible and no
/// later for the others. For one pair of hands, and jobs that react in a slot; cards are left to the decoder.
/// </summary>
internal sealed class GapFitter(BenchProblem p)
{
    private readonly long[] gapFrom = new long[(p.Jobs * 5) + 1];
    private readonly long[] gapTo = new long[(p.Jobs * 5) + 1];
    private readonly bool[] readerFree = new bool[(p.Jobs * 5) + 1];
    private int gaps;

    /// <summary>
    /// Whether a job's course is one that can be fitted: begun by nothing, in a slot, before and after no other job.
    /// </summary>
    public bool CanFit(int job) => p.Hands == 1 && p.Stage[job] == Stage.Fresh && p.CanSlot[job]
        && p.After[job].Length + p.Before[job].Length == 0;

    /// <summary>
    /// Inserts a fresh job that is not in the order, its load no earlier than an instant; false where it fits nowhere.
    /// </summary>
    /// <param name="s">The order of the others; receives the job.</param>
    /// <param name="start">Start of every operation; receives the job's.</param>
    /// <param name="job">The job.</param>
    /// <param name="from">No earlier than this.</param>
    public bool Fit(Sequence s, long[] start, int job, long from)
    {
        Look(s, start, s.Reader[job]);
        var moveLength = p.Length[Op.Of(job, Op.Move)];
        var least = Math.Max(p.Length[Op.Of(job, Op.Load)], p.LoadToReadLeast[job] - moveLength);
        var most = p.LoadToReadMost[job] - moveLength;
        for (var g = 0; g < gaps; g++)
        {
            if (!readerFree[g] || gapTo[g] - gapFrom[g] < moveLength || gapTo[g] - moveLength < from + least)
                continue;
            if (ClearGap(job, g) is not (>= 0 and var clear))
                continue;
            // The load must lie so that the move falls into this gap.
            if (LoadGap(job, Math.Max(from, gapFrom[g] - most), gapTo[g] - moveLength - least, out var mixGap,
                out var mixAt, out var loadAt) is not (>= 0 and var loadGap))
                continue;
            var moveAt = Math.Max(gapFrom[g], loadAt + least);
            var clearAt = Math.Max(gapFrom[clear], moveAt + moveLength + p.ReadLength[job]);
            if (clearAt + p.Length[Op.Of(job, Op.Clear)] > gapTo[clear])
                continue;
            Insert(s, start, job, (clear, clearAt), (g, moveAt), (loadGap, loadAt), (mixGap, mixAt));
            return true;
        }

        return false;
    }

    private static void Put(Sequence s, long[] start, int op, (int Gap, long At) place)
    {
        s.Insert(place.Gap, op);
        start[op] = place.At;
    }

    private static void Insert(Sequence s, long[] start, int job, (int, long) clear, (int, long) move,
        (int, long) load, (int, long) mix)
    {
        Put(s, start, Op.Of(job, Op.Clear), clear);
        Put(s, start, Op.Of(job, Op.Move), move);
        Put(s, start, Op.Of(job, Op.Load), load);
        Put(s, start, Op.Of(job, Op.Mix), mix);
    }

    /// <summary>The gaps of the hands: gap i lies before step i, the last one behind them all.</summary>
    private void Look(Sequence s, long[] start, int reader)
    {
        gaps = s.Count + 1;
        var free = p.HandFree[0];
        var isTaken = p.ReaderHolder[reader] >= 0;
        for (var i = 0; i < s.Count; i++)
        {
            var op = s.Ops[i];
            gapFrom[i] = free;
            gapTo[i] = start[op];
            readerFree[i] = !isTaken;
            free = start[op] + p.Length[op];
            var job = Op.Job(op);
            if (s.Reader[job] != reader)
                continue;
            if (Op.Kind(op) == (s.InReader[job] ? Op.Load : Op.Move))
                isTaken = true;
            else if (Op.Kind(op) == Op.Clear && s.Mode[job] == Mode.Placed)
                isTaken = false;
        }

        gapFrom[s.Count] = free;
        gapTo[s.Count] = BenchProblem.Never;
        readerFree[s.Count] = !isTaken;
    }

    /// <summary>
    /// The first gap in which the clear can lie when the move lies in a gap; -1 for none before the reader is next
    /// taken.
    /// </summary>
    private int ClearGap(int job, int move)
    {
        var length = p.Length[Op.Of(job, Op.Clear)];
        var from = gapFrom[move] + p.Length[Op.Of(job, Op.Move)] + p.ReadLength[job];
        for (var g = move; g < gaps && readerFree[g]; g++)
        {
            if (Math.Max(gapFrom[g], from) + length <= gapTo[g])
                return g;
        }

        return -1;
    }

    private int LoadGap(int job, long from, long to, out int mixGap, out long mixAt, out long loadAt)
    {
        (mixGap, mixAt, loadAt) = (-1, 0, 0);
        var (mixLength, loadLength) = (p.Length[Op.Of(job, Op.Mix)], p.Length[Op.Of(job, Op.Load)]);
        var mixFrom = p.Earliest[Op.Of(job, Op.Mix)];
        from = Math.Max(from, mixFrom + mixLength);
        for (var g = 0; g < gaps && gapFrom[g] <= to; g++)
        {
            var at = Math.Max(gapFrom[g], from);
            if (at > to || at + loadLength > gapTo[g])
                continue;
            // The mix as late as it can lie before the load: in the same gap, or in one before.
            for (var m = g; m >= 0; m--)
            {
                var latest = (m == g ? at : gapTo[m]) - mixLength;
                if (latest < at - p.MixToLoadMost[job])
                    break;
                if (latest >= Math.Max(gapFrom[m], mixFrom))
                {
                    (mixGap, mixAt, loadAt) = (m, latest, at);
                    return g;
                }
            }

            // In this gap behind a mix that lies at its beginning.
            var both = Math.Max(gapFrom[g], mixFrom) + mixLength;
            if (both >= at && both <= to && both + loadLength <= gapTo[g])
            {
                (mixGap, mixAt, loadAt) = (g, both - mixLength, both);
                return g;
            }
        }

        return -1;
    }
}
