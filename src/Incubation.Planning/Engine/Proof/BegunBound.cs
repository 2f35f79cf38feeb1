namespace Incubation.Planning.Engine.Proof;

/// <summary>
/// A cost below which no plan comes that begins with an order: hands and readers as machines that may interrupt what is
/// left (Jackson's rule with heads and tails), and each cost by the earliest clear.
/// </summary>
internal sealed class BegunBound(BenchProblem p, int[] job)
{
    private readonly Jackson tasks = new((job.Length * 4) + p.Lots.Length);
    private readonly long[] cardTail = new long[p.Lots.Length];
    private readonly long[] moveHead = new long[job.Length];
    private readonly long[] clearHead = new long[job.Length];

    /// <summary>Whether every job is cleared: the bound is then the cost.</summary>
    public bool IsWhole(OrderKey key)
    {
        for (var k = 0; k < job.Length; k++)
        {
            if (key.PhaseOf(k) != Phase.Done)
                return false;
        }

        return true;
    }

    /// <summary>The bound in milliseconds.</summary>
    /// <param name="key">How far the jobs have come.</param>
    /// <param name="times">Longest paths; the first row holds the earliest times from now.</param>
    public double Of(OrderKey key, ReadOnlySpan<int> times)
    {
        var hands = p.Now + times[1];
        double finish = Math.Max(p.GoneFinish, hands);
        var cost = p.GoneCost;
        tasks.Clear();
        Array.Fill(cardTail, long.MaxValue);
        for (var k = 0; k < job.Length; k++)
        {
            var clearEnd = HandsOf(key.PhaseOf(k), k, hands, p.Now + times[k + 2]);
            finish = Math.Max(finish, clearEnd);
            if (p.HasCost[job[k]])
                cost += p.CostOfClear(job[k], clearEnd);
        }

        AddCards(key, hands);
        finish = Math.Max(finish, tasks.Finish(1, hands));
        Readers(key);
        AddCards(key, hands);
        return Math.Max(finish, tasks.Finish(p.Readers, 0)) + cost;
    }

    private long Len(int j, int kind) => p.Length[Op.Of(j, kind)];

    private long Earliest(int j, int kind) => p.Earliest[Op.Of(j, kind)];

    /// <summary>Adds what the job still asks of the hands; its earliest clear's end.</summary>
    private long HandsOf(Phase phase, int k, long hands, long node)
    {
        var j = job[k];
        var clear = Len(j, Op.Clear);
        if (phase == Phase.Done)
            return p.HasCost[j] ? node + clear : 0;
        var known = node > p.Now - (1L << 28); // a job whose last step was taken before now has no node
        clearHead[k] = phase switch
        {
            Phase.Read => Math.Max(Math.Max(hands, Earliest(j, Op.Clear)), known
                ? node + Len(j, Op.Move) + p.ReadLength[j] : 0),
            Phase.InReader => Math.Max(Math.Max(hands, Earliest(j, Op.Clear)), known
                ? node + p.LoadToReadLeast[j] + p.ReadLength[j] : 0),
            _ => ReadHead(phase, k, hands, known ? node : long.MinValue / 2) + p.ReadLength[j],
        };
        tasks.Add(clearHead[k], clear, 0);
        return clearHead[k] + clear;
    }

    private long ReadHead(Phase phase, int k, long hands, long node)
    {
        var j = job[k];
        var (mix, load, move) = (Len(j, Op.Mix), Len(j, Op.Load), Len(j, Op.Move));
        var behind = p.ReadLength[j] + Len(j, Op.Clear);
        var least = Math.Max(load + (p.CanReader[j] ? 0 : move), p.LoadToReadLeast[j]);
        var lot = p.Lot[j];
        cardTail[lot] = Math.Min(cardTail[lot], behind + (p.CanReader[j] ? 0 : move));
        if (phase == Phase.InSlot)
        {
            var from = Math.Max(Math.Max(hands, Earliest(j, Op.Move)), node + least - move);
            moveHead[k] = p.Stage[j] == Stage.Reacting ? Math.Max(from, p.ReadFrom[j] - move) : from;
            tasks.Add(moveHead[k], move, behind);
            return moveHead[k] + move;
        }

        var loadHead = Math.Max(hands, Earliest(j, Op.Load));
        if (phase == Phase.Fresh)
        {
            var mixHead = Math.Max(hands, Earliest(j, Op.Mix));
            loadHead = Math.Max(loadHead, mixHead + mix);
            tasks.Add(mixHead, mix, least + behind);
        }
        else if (p.Stage[j] == Stage.Fresh)
        {
            loadHead = Math.Max(loadHead, node + mix);
        }

        tasks.Add(loadHead, load, least - load + behind);
        moveHead[k] = loadHead + least - move;
        if (!p.CanReader[j])
            tasks.Add(moveHead[k], move, behind);
        return loadHead + least;
    }

    /// <summary>What the jobs still ask of the readers.</summary>
    private void Readers(OrderKey key)
    {
        tasks.Clear();
        for (var k = 0; k < job.Length; k++)
        {
            var j = job[k];
            var clear = Len(j, Op.Clear);
            var phase = key.PhaseOf(k);
            if (phase is Phase.Read or Phase.InReader)
                tasks.Add(clearHead[k], clear, 0);
            else if (phase == Phase.InSlot || (phase != Phase.Done && !p.CanReader[j]))
                tasks.Add(moveHead[k], Len(j, Op.Move) + p.ReadLength[j] + clear, 0);
            else if (phase != Phase.Done)
                tasks.Add(clearHead[k] - p.ReadLength[j], p.ReadLength[j] + clear, 0);
        }
    }

    /// <summary>A change of card for each lot that is needed and that no reader holds.</summary>
    private void AddCards(OrderKey key, long hands)
    {
        for (var lot = 0; lot < cardTail.Length; lot++)
        {
            if (cardTail[lot] == long.MaxValue)
                continue;
            var held = false;
            for (var r = 0; r < p.Readers; r++)
                held |= key.CardOf(r) == lot;
            if (!held)
                tasks.Add(hands, p.CardLength, cardTail[lot]);
        }
    }
}
