namespace Incubation.Planning.Engine.Proof;

/// <summary>The steps that may come next in an order begun, and their times.</summary>
internal sealed partial class ExactSearch
{
    private readonly int[] child = new int[(JobsMost + FirstJob) * (JobsMost + FirstJob)];

    private void Expand(int i)
    {
        var key = new OrderKey(here.Key[i]);
        var last = here.Last[i];
        here.Times(i).CopyTo(matrix);
        var inSlots = 0;
        for (var k = 0; k < job.Length; k++)
            inSlots += key.PhaseOf(k) == Phase.InSlot ? 1 : 0;
        ChangeCards(key, last);
        for (var k = 0; k < job.Length; k++)
        {
            var j = job[k];
            switch (key.PhaseOf(k))
            {
                case Phase.Fresh when MayMix(key, k):
                    Step(Phase.Fresh, key.With(k, Phase.Mixed, 0), k, Op.Mix, -1, last);
                    break;
                case Phase.Mixed:
                    if (p.CanSlot[j] && inSlots < p.Slots)
                        Step(Phase.Mixed, key.With(k, Phase.InSlot, 0), k, Op.Load, -1, last);
                    if (p.CanReader[j])
                        TakeReader(key, k, Op.Load, Phase.InReader, last);
                    break;
                case Phase.InSlot:
                    TakeReader(key, k, Op.Move, Phase.Read, last);
                    break;
                case Phase.InReader:
                case Phase.Read:
                    Step(key.PhaseOf(k), key.With(k, Phase.Done, 0), k, Op.Clear, -1, last);
                    break;
            }
        }
    }

    /// <summary>
    /// Whether what it comes after is cleared, and every job like it that has a lower number is mixed.
    /// </summary>
    private bool MayMix(OrderKey key, int k)
    {
        for (var other = 0; other < job.Length; other++)
        {
            if (other < k && p.Class[job[other]] == p.Class[job[k]] && key.PhaseOf(other) == Phase.Fresh)
                return false;
            if (key.PhaseOf(other) != Phase.Done && Array.IndexOf(p.After[job[k]], job[other]) >= 0)
                return false;
        }

        return true;
    }

    /// <summary>Takes a reader that is empty and holds the job's card.</summary>
    private void TakeReader(OrderKey key, int k, int kind, Phase phase, int last)
    {
        for (var r = 0; r < p.Readers; r++)
        {
            if (IsTaken(key, r))
                continue;
            var lot = p.Lot[job[k]];
            if (key.CardOf(r) == lot)
                Step(key.PhaseOf(k), key.With(k, phase, r).WithCard(r, lot, false), k, kind, r, last);
        }
    }

    /// <summary>An empty reader may be given the card of any cartridge still to come, however early.</summary>
    private void ChangeCards(OrderKey key, int last)
    {
        for (var r = 0; r < p.Readers; r++)
        {
            if (IsTaken(key, r) || key.IsKept(r))
                continue;
            var wanted = 0U;
            for (var k = 0; k < job.Length; k++)
            {
                var lot = p.Lot[job[k]];
                if (key.PhaseOf(k) is not (Phase.Fresh or Phase.Mixed or Phase.InSlot) || key.CardOf(r) == lot
                    || (wanted & (1U << lot)) != 0)
                    continue;
                wanted |= 1U << lot;
                ChangeCard(key.WithCard(r, lot, true), k, r, last);
            }
        }
    }

    private bool IsTaken(OrderKey key, int reader)
    {
        for (var k = 0; k < job.Length; k++)
        {
            if (key.PhaseOf(k) is Phase.InReader or Phase.Read && key.ReaderOf(k) == reader)
                return true;
        }

        return false;
    }

    private void ChangeCard(OrderKey key, int k, int reader, int last)
    {
        var c = child.AsSpan(0, matrix.Length);
        matrix.CopyTo(c);
        for (var u = 0; u < width; u++)
        {
            if (c[(u * width) + HandsEnd] > None / 2)
                c[(u * width) + HandsEnd] += (int)p.CardLength;
        }

        Keep(here, key, Op.Of(job[k], Op.Card), reader, last);
    }

    /// <summary>
    /// Adds a step to the network: what it waits for, and what it pushes later where it comes too late after its job's
    /// last one.
    /// </summary>
    private void Step(Phase from, OrderKey key, int k, int kind, int reader, int last)
    {
        var op = Op.Of(job[k], kind);
        var node = k + FirstJob;
        var fromNow = (int)(Math.Max(p.Earliest[op], kind == Op.Move && p.Stage[job[k]] == Stage.Reacting
            ? p.ReadFrom[job[k]] - p.Length[op] : 0) - p.Now);
        var (least, most) = LagsOf(job[k], kind, from);
        var latest = LatestOf(job[k], kind);
        for (var u = 0; u < width; u++)
        {
            var row = u * width;
            before[u] = Math.Max(matrix[row + HandsEnd], matrix[row + Now] + fromNow);
            if (least > None)
                before[u] = Math.Max(before[u], matrix[row + node] + least);
            before[u] = Math.Max(before[u], None);
        }

        for (var v = 0; v < width; v++)
        {
            after[v] = latest < int.MaxValue ? matrix[(Now * width) + v] - latest : None;
            if (most < int.MaxValue)
                after[v] = Math.Max(after[v], matrix[(node * width) + v] - most);
            after[v] = Math.Max(after[v], None);
        }

        for (var u = 0; u < width; u++)
        {
            if (before[u] + after[u] > 0)
                return;
        }

        Close(node, op, kind == Op.Mix || (kind == Op.Load && reader < 0));
        Keep(ahead, key, op, reader, last);
    }

    /// <summary>The matrix with the new step in its job's place.</summary>
    private void Close(int node, int op, bool pushes)
    {
        var c = child;
        var length = (int)p.Length[op];
        for (var u = 0; u < width; u++)
        {
            var row = u * width;
            for (var v = 0; v < width; v++)
                c[row + v] = Math.Max(matrix[row + v], before[u] + after[v]);
            c[row + node] = before[u];
            c[row + HandsEnd] = before[u] + length;
        }

        // Only a step that has a most time still ahead of it can be pushed later by what comes.
        for (var v = 0; v < width; v++)
        {
            c[(HandsEnd * width) + v] = None;
            c[(node * width) + v] = pushes ? after[v] : None;
        }

        if (pushes)
        {
            c[(node * width) + node] = 0;
            c[(node * width) + HandsEnd] = Math.Max(length, after[HandsEnd]);
        }
        else if (Op.Kind(op) == Op.Clear && !p.HasCost[Op.Job(op)])
        {
            for (var u = 0; u < width; u++)
                c[(u * width) + node] = None;
        }

        c[Now] = 0;
        for (var i = 0; i < width * width; i++)
        {
            if (c[i] < None / 2)
                c[i] = None;
        }
    }

    /// <summary>Least and most times from the start of the job's last step to this one's.</summary>
    private (int Least, int Most) LagsOf(int j, int kind, Phase phase) => kind switch
    {
        Op.Load when p.Stage[j] == Stage.Fresh =>
            ((int)p.Length[Op.Of(j, Op.Mix)], (int)Math.Min(p.MixToLoadMost[j], int.MaxValue)),
        Op.Move when p.Stage[j] != Stage.Reacting => (
            (int)Math.Max(p.Length[Op.Of(j, Op.Load)], p.LoadToReadLeast[j] - p.Length[Op.Of(j, Op.Move)]),
            (int)(p.LoadToReadMost[j] - p.Length[Op.Of(j, Op.Move)])),
        Op.Clear when phase == Phase.InReader => ((int)(p.LoadToReadLeast[j] + p.ReadLength[j]), int.MaxValue),
        Op.Clear when p.Stage[j] != Stage.InReader =>
            ((int)(p.Length[Op.Of(j, Op.Move)] + p.ReadLength[j]), int.MaxValue),
        _ => (None, int.MaxValue),
    };

    private int LatestOf(int j, int kind)
    {
        var latest = kind switch
        {
            Op.Load => p.LoadLatest[j],
            Op.Move when p.Stage[j] == Stage.Reacting => p.ReadTo[j] - p.Length[Op.Of(j, Op.Move)],
            _ => BenchProblem.Never,
        };
        return latest >= BenchProblem.Never / 2 ? int.MaxValue : (int)(latest - p.Now);
    }

    private void Keep(OrderLayer layer, OrderKey key, int op, int reader, int last)
    {
        begun++;
        var times = child.AsSpan(0, matrix.Length);
        var bound = bounds.Of(key, times);
        if (bound > limit)
            return;
        if (bounds.IsWhole(key))
        {
            limit = bound - Score.Equal;
            history.Add((last, op, reader));
            best = history.Count - 1;
            return;
        }

        if (layer.Add(key.Bits, times, bound, history.Count))
            history.Add((last, op, reader));
    }
}
