namespace Incubation.Planning.Engine.Proof;

/// <summary>The cheapest course of one cartridge, found from its end backwards.</summary>
internal sealed partial class PricedWindow
{
    private readonly Buffers buffers;

    /// <summary>What a cell that a reader is taken earlier costs the course, for its card change.</summary>
    private double leadCell;

    /// <summary>Arrays by cell that every course uses in turn.</summary>
    private sealed class Buffers(int cells)
    {
        /// <summary>
        /// What the clear costs there, the reader's time from the first cell on and lateness included.
        /// </summary>
        public double[] Clear { get; } = new double[cells + 1];

        /// <summary>The least of that from there on.</summary>
        public double[] ClearFrom { get; } = new double[cells + 1];

        /// <summary>
        /// What a move there costs with all that follows, the slot's time from the first cell on included.
        /// </summary>
        public double[] Move { get; } = new double[cells + 1];

        /// <summary>By the load's start the least cost of a move that keeps the window.</summary>
        public double[] MoveAfter { get; } = new double[cells + 1];

        /// <summary>What a load there costs with all that follows.</summary>
        public double[] Load { get; } = new double[cells + 1];

        /// <summary>By the mix's start the least cost of a load in time.</summary>
        public double[] LoadAfter { get; } = new double[cells + 1];

        public int[] Queue { get; } = new int[cells + 1];
    }

    /// <summary>
    /// Finds what the course costs at least and adds what it then uses; false where there is no time for it.
    /// </summary>
    private bool Solve(Course c, double finishShare, double leadOf)
    {
        leadCell = leadOf * cell;
        if (c.Job < 0)
            return SolveCard(c, finishShare * cell);
        var clearLast = cells - c.Clear;
        if (c.FirstClear > clearLast)
            return false;
        FillClear(c, finishShare, clearLast);
        if (c.Stage == Stage.InReader)
        {
            c.Cost = buffers.ClearFrom[c.ClearFrom];
            return TakeReader(c, 0, c.ClearFrom, clearLast);
        }

        var moveLast = Math.Min(clearLast - c.Read - c.Move, c.MoveTo);
        if (c.BySlot)
            FillMove(c, moveLast);
        return c.Stage == Stage.Reacting
            ? MoveOut(c, 0, c.MoveFrom, moveLast, clearLast) : SolveFromLoad(c, moveLast, clearLast);
    }

    private bool SolveCard(Course c, double finishCell)
    {
        c.Cost = double.PositiveInfinity;
        for (var end = c.Load; end <= cells; end++)
        {
            var cost = hands.Of(end - c.Load, end) + readers.Of(end - c.Load, end) + (finishCell * (end + c.Read))
                + (leadCell * end);
            if (cost < c.Cost)
                (c.Cost, c.TakesReader) = (cost, end);
        }

        if (c.Load > cells)
            return false;
        c.Cost += finishCell / cell * p.Now;
        c.End = c.TakesReader + c.Read;
        hands.Use(c.TakesReader - c.Load, c.TakesReader);
        readers.Use(c.TakesReader - c.Load, c.TakesReader);
        return true;
    }

    private bool SolveFromLoad(Course c, int moveLast, int clearLast)
    {
        var loadLast = Math.Min(c.LoadTo, clearLast - c.Read - c.LeastToRead);
        FillLoad(c, loadLast, moveLast, clearLast);
        var (from, to) = (c.LoadFrom, loadLast);
        if (c.Stage == Stage.Fresh)
        {
            var mix = CheapestMix(c, loadLast);
            if (mix < 0)
                return false;
            hands.Use(mix, mix + c.Mix);
            (from, to) = (Math.Max(from, mix + c.Mix), Math.Min(to, mix + c.MixToLoadMost));
        }

        var load = Cheapest(buffers.Load, from, to);
        if (load < 0)
            return false;
        if (c.Stage != Stage.Fresh)
            c.Cost = buffers.Load[load];
        hands.Use(load, load + c.Load);
        return c.BySlot && (!c.ByReader || SlotAfter(c, load, moveLast) <= ReaderAfter(c, load, clearLast))
            ? MoveOut(c, load, load + c.LoadToMoveLeast, Math.Min(moveLast, load + c.LoadToMoveMost), clearLast)
            : TakeReader(c, load, load + c.LoadToRead + c.Read, clearLast);
    }

    /// <summary>
    /// The cheapest mix, whose cost with all that follows is the course's; -1 where there is none in time.
    /// </summary>
    private int CheapestMix(Course c, int loadLast)
    {
        var mix = -1;
        c.Cost = double.PositiveInfinity;
        FillAfter(buffers.Load, buffers.LoadAfter, (c.LoadFrom, loadLast), (c.Mix, c.MixToLoadMost),
            (c.MixFrom, loadLast - c.Mix));
        for (var s = c.MixFrom; s <= loadLast - c.Mix; s++)
        {
            var cost = hands.Of(s, s + c.Mix) + buffers.LoadAfter[s];
            if (cost < c.Cost)
                (c.Cost, mix) = (cost, s);
        }

        return mix;
    }

    /// <summary>Adds what the cheapest move uses, and the slot since the load.</summary>
    private bool MoveOut(Course c, int load, int first, int last, int clearLast)
    {
        var move = Cheapest(buffers.Move, first, last);
        if (move < 0)
            return false;
        if (c.Stage == Stage.Reacting)
            c.Cost = buffers.Move[move];
        slots.Use(load, move);
        hands.Use(move, move + c.Move);
        return TakeReader(c, move, move + c.Move + c.Read, clearLast);
    }

    /// <summary>Adds what the reader is used from then on, and the cheapest clear.</summary>
    private bool TakeReader(Course c, int at, int clearFirst, int clearLast)
    {
        var clear = clearFirst;
        while (clear < clearLast && buffers.Clear[clear] > buffers.ClearFrom[clearFirst])
            clear++;
        c.TakesReader = at;
        c.End = clear + c.Clear;
        readers.Use(at, c.End);
        hands.Use(clear, c.End);
        return true;
    }

    private double SlotAfter(Course c, int s, int moveLast) =>
        s + c.LoadToMoveLeast > moveLast ? double.PositiveInfinity : buffers.MoveAfter[s] - slots.Before(s);

    private double ReaderAfter(Course c, int s, int clearLast)
    {
        var clear = s + c.LoadToRead + c.Read;
        return clear > clearLast
            ? double.PositiveInfinity : buffers.ClearFrom[clear] - readers.Before(s) - (leadCell * s);
    }

    private void FillClear(Course c, double finishShare, int last)
    {
        var least = double.PositiveInfinity;
        for (var s = last; s >= c.FirstClear; s--)
        {
            var end = p.Now + ((s + c.Clear) * cell);
            buffers.Clear[s] = hands.Of(s, s + c.Clear) + readers.Before(s + c.Clear) + p.CostOfClear(c.Job, end)
                + (finishShare * end);
            buffers.ClearFrom[s] = least = Math.Min(least, buffers.Clear[s]);
        }
    }

    private void FillMove(Course c, int last)
    {
        var first = c.Stage == Stage.Reacting ? c.MoveFrom : c.LoadFrom + c.LoadToMoveLeast;
        for (var s = first; s <= last; s++)
            buffers.Move[s] = hands.Of(s, s + c.Move) - readers.Before(s) + slots.Before(s) - (leadCell * s)
                + buffers.ClearFrom[s + c.Move + c.Read];
        if (c.Stage != Stage.Reacting)
            FillAfter(buffers.Move, buffers.MoveAfter, (first, last), (c.LoadToMoveLeast, c.LoadToMoveMost),
                (c.LoadFrom, last - c.LoadToMoveLeast));
    }

    private void FillLoad(Course c, int last, int moveLast, int clearLast)
    {
        for (var s = c.LoadFrom; s <= last; s++)
        {
            var after = c.BySlot ? SlotAfter(c, s, moveLast) : double.PositiveInfinity;
            if (c.ByReader)
                after = Math.Min(after, ReaderAfter(c, s, clearLast));
            buffers.Load[s] = hands.Of(s, s + c.Load) + after;
        }
    }

    /// <summary>By start of one step the least value of the next, which lies between two distances from it.</summary>
    private void FillAfter(double[] values, double[] result, (int First, int Last) of, (int Least, int Most) distance,
        (int First, int Last) starts)
    {
        var queue = buffers.Queue;
        var (head, tail, next) = (0, 0, of.Last);
        for (var s = starts.Last; s >= starts.First; s--)
        {
            for (; next >= of.First && next >= s + distance.Least; next--)
            {
                while (tail > head && values[queue[tail - 1]] >= values[next])
                    tail--;
                queue[tail++] = next;
            }

            while (tail > head && queue[head] > s + distance.Most)
                head++;
            result[s] = tail > head ? values[queue[head]] : double.PositiveInfinity;
        }
    }

    private static int Cheapest(double[] values, int first, int last)
    {
        var at = -1;
        var best = double.PositiveInfinity;
        for (var s = first; s <= last; s++)
        {
            if (values[s] < best)
                (best, at) = (values[s], s);
        }

        return at;
    }
}
