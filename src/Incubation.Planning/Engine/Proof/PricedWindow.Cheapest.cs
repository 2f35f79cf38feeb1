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
    private bool Solve(Course course, double finishShare, double leadOf)
    {
        leadCell = leadOf * cell;
        if (course.Job < 0)
            return SolveCard(course, finishShare * cell);
        var clearLast = cells - course.Clear;
        if (course.FirstClear > clearLast)
            return false;
        FillClear(course, finishShare, clearLast);
        if (course.Stage == Stage.InReader)
        {
            course.Cost = buffers.ClearFrom[course.ClearFrom];
            return TakeReader(course, 0, course.ClearFrom, clearLast);
        }

        var moveLast = Math.Min(clearLast - course.Read - course.Move, course.MoveTo);
        if (course.BySlot)
            FillMove(course, moveLast);
        return course.Stage == Stage.Reacting
            ? MoveOut(course, 0, course.MoveFrom, moveLast, clearLast) : SolveFromLoad(course, moveLast, clearLast);
    }

    private bool SolveCard(Course course, double finishCell)
    {
        course.Cost = double.PositiveInfinity;
        for (var end = course.Load; end <= cells; end++)
        {
            var cost = hands.Of(end - course.Load, end) + readers.Of(end - course.Load, end)
                + (finishCell * (end + course.Read))
                + (leadCell * end);
            if (cost < course.Cost)
                (course.Cost, course.TakesReader) = (cost, end);
        }

        if (course.Load > cells)
            return false;
        course.Cost += finishCell / cell * p.Now;
        course.End = course.TakesReader + course.Read;
        hands.Use(course.TakesReader - course.Load, course.TakesReader);
        readers.Use(course.TakesReader - course.Load, course.TakesReader);
        return true;
    }

    private bool SolveFromLoad(Course course, int moveLast, int clearLast)
    {
        var loadLast = Math.Min(course.LoadTo, clearLast - course.Read - course.LeastToRead);
        FillLoad(course, loadLast, moveLast, clearLast);
        var (from, to) = (course.LoadFrom, loadLast);
        if (course.Stage == Stage.Fresh)
        {
            var mix = CheapestMix(course, loadLast);
            if (mix < 0)
                return false;
            hands.Use(mix, mix + course.Mix);
            (from, to) = (Math.Max(from, mix + course.Mix), Math.Min(to, mix + course.MixToLoadMost));
        }

        var load = Cheapest(buffers.Load, from, to);
        if (load < 0)
            return false;
        if (course.Stage != Stage.Fresh)
            course.Cost = buffers.Load[load];
        hands.Use(load, load + course.Load);
        return course.BySlot
            && (!course.ByReader || SlotAfter(course, load, moveLast) <= ReaderAfter(course, load, clearLast))
            ? MoveOut(course, load, load + course.LoadToMoveLeast, Math.Min(moveLast, load + course.LoadToMoveMost),
                clearLast)
            : TakeReader(course, load, load + course.LoadToRead + course.Read, clearLast);
    }

    /// <summary>
    /// The cheapest mix, whose cost with all that follows is the course's; -1 where there is none in time.
    /// </summary>
    private int CheapestMix(Course course, int loadLast)
    {
        var mix = -1;
        course.Cost = double.PositiveInfinity;
        FillAfter(buffers.Load, buffers.LoadAfter, (course.LoadFrom, loadLast), (course.Mix, course.MixToLoadMost),
            (course.MixFrom, loadLast - course.Mix));
        for (var s = course.MixFrom; s <= loadLast - course.Mix; s++)
        {
            var cost = hands.Of(s, s + course.Mix) + buffers.LoadAfter[s];
            if (cost < course.Cost)
                (course.Cost, mix) = (cost, s);
        }

        return mix;
    }

    /// <summary>Adds what the cheapest move uses, and the slot since the load.</summary>
    private bool MoveOut(Course course, int load, int first, int last, int clearLast)
    {
        var move = Cheapest(buffers.Move, first, last);
        if (move < 0)
            return false;
        if (course.Stage == Stage.Reacting)
            course.Cost = buffers.Move[move];
        slots.Use(load, move);
        hands.Use(move, move + course.Move);
        return TakeReader(course, move, move + course.Move + course.Read, clearLast);
    }

    /// <summary>Adds what the reader is used from then on, and the cheapest clear.</summary>
    private bool TakeReader(Course course, int at, int clearFirst, int clearLast)
    {
        var clear = clearFirst;
        while (clear < clearLast && buffers.Clear[clear] > buffers.ClearFrom[clearFirst])
            clear++;
        course.TakesReader = at;
        course.End = clear + course.Clear;
        readers.Use(at, course.End);
        hands.Use(clear, course.End);
        return true;
    }

    private double SlotAfter(Course course, int s, int moveLast) =>
        s + course.LoadToMoveLeast > moveLast ? double.PositiveInfinity : buffers.MoveAfter[s] - slots.Before(s);

    private double ReaderAfter(Course course, int s, int clearLast)
    {
        var clear = s + course.LoadToRead + course.Read;
        return clear > clearLast
            ? double.PositiveInfinity : buffers.ClearFrom[clear] - readers.Before(s) - (leadCell * s);
    }

    private void FillClear(Course course, double finishShare, int last)
    {
        var least = double.PositiveInfinity;
        for (var s = last; s >= course.FirstClear; s--)
        {
            var end = p.Now + ((s + course.Clear) * cell);
            buffers.Clear[s] = hands.Of(s, s + course.Clear) + readers.Before(s + course.Clear)
                + p.CostOfClear(course.Job, end)
                + (finishShare * end);
            buffers.ClearFrom[s] = least = Math.Min(least, buffers.Clear[s]);
        }
    }

    private void FillMove(Course course, int last)
    {
        var first = course.Stage == Stage.Reacting ? course.MoveFrom : course.LoadFrom + course.LoadToMoveLeast;
        for (var s = first; s <= last; s++)
            buffers.Move[s] = hands.Of(s, s + course.Move) - readers.Before(s) + slots.Before(s) - (leadCell * s)
                + buffers.ClearFrom[s + course.Move + course.Read];
        if (course.Stage != Stage.Reacting)
            FillAfter(buffers.Move, buffers.MoveAfter, (first, last), (course.LoadToMoveLeast, course.LoadToMoveMost),
                (course.LoadFrom, last - course.LoadToMoveLeast));
    }

    private void FillLoad(Course course, int last, int moveLast, int clearLast)
    {
        for (var s = course.LoadFrom; s <= last; s++)
        {
            var after = course.BySlot ? SlotAfter(course, s, moveLast) : double.PositiveInfinity;
            if (course.ByReader)
                after = Math.Min(after, ReaderAfter(course, s, clearLast));
            buffers.Load[s] = hands.Of(s, s + course.Load) + after;
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
