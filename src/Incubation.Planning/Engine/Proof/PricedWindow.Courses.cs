namespace Incubation.Planning.Engine.Proof;

/// <summary>Cells, capacities and what each cartridge has still to do.</summary>
internal sealed partial class PricedWindow
{
    private const int Endless = int.MaxValue / 8;

    /// <summary>What a cartridge has still to do, or a card change that is certain; in cells from now.</summary>
    private sealed class Course
    {
        /// <summary>
        /// The job, or -1 for a card change: its length is <see cref="Load"/>, what must follow it <see cref="Read"/>.
        /// </summary>
        public required int Job { get; init; }

        /// <summary>The card change that must end before the cartridge takes a reader, or null.</summary>
        public Course? Card { get; set; }

        public Stage Stage { get; init; }
        public bool BySlot { get; init; }
        public bool ByReader { get; init; }
        public int Mix { get; init; }
        public int Load { get; init; }
        public int Move { get; init; }
        public int Read { get; init; }
        public int Clear { get; init; }
        public int MixFrom { get; init; }
        public int LoadFrom { get; init; }
        public int LoadTo { get; init; }
        public int MoveFrom { get; init; }
        public int MoveTo { get; init; }
        public int ClearFrom { get; init; }
        public int MixToLoadMost { get; init; }
        public int LoadToMoveLeast { get; init; }
        public int LoadToMoveMost { get; init; }
        public int LoadToRead { get; init; }

        /// <summary>
        /// What the cheapest course costs, where it ends, and where it takes a reader (a card change: where it ends).
        /// </summary>
        public double Cost { get; set; }
        public int End { get; set; }
        public int TakesReader { get; set; }

        /// <summary>The least time from the load's start to the read's.</summary>
        public int LeastToRead => Math.Min(BySlot ? LoadToMoveLeast + Move : Endless, ByReader ? LoadToRead : Endless);

        public int FirstClear => Stage switch
        {
            Stage.InReader => ClearFrom,
            Stage.Reacting => MoveFrom + Move + Read,
            _ => LoadFrom + LeastToRead + Read,
        };
    }

    /// <summary>
    /// The least whole number of the data's common divisor that makes few enough cells; of milliseconds where there is
    /// none of use.
    /// </summary>
    private long CellFor(long span)
    {
        var common = 0L;
        foreach (var lengths in (long[][])[p.Length, p.ReadLength, p.LoadToReadLeast, p.LoadToReadMost,
            p.MixToLoadMost])
            foreach (var length in lengths)
                common = Divisor(common, Math.Abs(length));
        var least = (span + CellsMost - 1) / CellsMost;
        return common == 0 || common < least / 4 ? Math.Max(1, least) : (least + common - 1) / common * common;
    }

    private static long Divisor(long a, long b) => b == 0 ? a : Divisor(b, a % b);

    private int Down(long ms) => (int)Math.Min(Math.Max(0, ms) / cell, Endless);

    private int Up(long ms) => (int)Math.Min((Math.Max(0, ms) + cell - 1) / cell, Endless);

    /// <summary>Cell of an instant; what lies before now counts as now.</summary>
    private int At(long ms) => Down(ms - p.Now);

    /// <summary>Cell of a latest instant, -1 where it has passed.</summary>
    private int LatestAt(long ms) => ms < p.Now ? -1 : At(ms);

    private void FillCapacities()
    {
        for (var t = 0; t < cells; t++)
        {
            for (var h = 0; h < p.Hands; h++)
                hands.Capacity[t] += t >= At(p.HandFree[h]) && !p.HandClosed[h].Covers(p.Now + (t * cell), cell)
                    ? 1 : 0;
            for (var r = 0; r < p.Readers; r++)
                readers.Capacity[t] += t >= At(p.ReaderFree[r]) ? 1 : 0;
            slots.Capacity[t] = p.Slots;
        }
    }

    /// <summary>Makes the courses; what is gone costs what is returned.</summary>
    private double AddCourses()
    {
        var gone = 0.0;
        for (var j = 0; j < p.Jobs; j++)
        {
            if (counted[j] && p.Stage[j] == Stage.Gone)
                gone += p.CostOfClear(j, p.GoneEnd[j]);
            else if (counted[j])
                courses.Add(CourseOf(j));
        }

        foreach (var (lot, tail) in LowerBound.CardsNeeded(p, counted))
        {
            var card = new Course { Job = -1, Load = Down(p.CardLength), Read = Down(tail) };
            foreach (var course in courses.Where(course => course.Job >= 0 && course.Stage != Stage.InReader
                && p.Lot[course.Job] == lot))
                course.Card = card;
            courses.Add(card);
        }

        return gone;
    }

    private Course CourseOf(int j)
    {
        var load = p.Length[Op.Of(j, Op.Load)];
        var move = p.Length[Op.Of(j, Op.Move)];
        var reacts = p.Stage[j] == Stage.Reacting;
        return new Course
        {
            Job = j,
            Stage = p.Stage[j],
            BySlot = reacts || p.CanSlot[j],
            ByReader = !reacts && p.CanReader[j],
            Mix = Down(p.Length[Op.Of(j, Op.Mix)]),
            Load = Down(load),
            Move = Down(move),
            Read = Down(p.ReadLength[j]),
            Clear = Down(p.Length[Op.Of(j, Op.Clear)]),
            MixFrom = At(p.Earliest[Op.Of(j, Op.Mix)]),
            LoadFrom = At(LowerBound.LoadHead(p, j)),
            LoadTo = LatestAt(p.LoadLatest[j]),
            MoveFrom = reacts ? At(Math.Max(p.Earliest[Op.Of(j, Op.Move)], p.ReadFrom[j] - move)) : 0,
            MoveTo = reacts ? LatestAt((inGuard ? p.ReadClose[j] : p.ReadTo[j]) - move) : Endless,
            ClearFrom = At(p.Earliest[Op.Of(j, Op.Clear)]),
            MixToLoadMost = Up(p.MixToLoadMost[j]),
            LoadToMoveLeast = Down(Math.Max(load, p.LoadToReadLeast[j] - move)),
            LoadToMoveMost = Up(p.LoadToReadMost[j] - move),
            LoadToRead = Down(p.LoadToReadLeast[j]),
        };
    }

    /// <summary>Time of hands, readers or slots, and what a cell of it costs.</summary>
    private sealed class Resource(int cells, int priceCells, Resource? parent)
    {
        private readonly double[] price = parent is null
            ? new double[(cells / priceCells) + 1] : parent.price[..((cells / priceCells) + 1)];
        private readonly double[] way = new double[(cells / priceCells) + 1];
        private readonly double[] sum = new double[cells + 1];
        private readonly int[] use = new int[cells + 1];

        public int[] Capacity { get; } = new int[cells];

        /// <summary>What all that there is costs.</summary>
        public double Sold { get; private set; }

        /// <summary>What one costs from the first cell up to before this one.</summary>
        public double Before(int to) => sum[to];

        public double Of(int from, int to) => sum[to] - sum[from];

        public void Begin()
        {
            Array.Clear(use);
            Sold = 0;
            for (var t = 0; t < cells; t++)
            {
                sum[t + 1] = sum[t] + price[t / priceCells];
                Sold += price[t / priceCells] * Capacity[t];
            }
        }

        public void Use(int from, int to)
        {
            use[from]++;
            use[to]--;
        }

        /// <summary>Mixes the slope of the last use into the way; gives the square of its length.</summary>
        public double Turn()
        {
            var used = 0;
            var norm = 0.0;
            for (var i = 0; i < price.Length; i++)
            {
                var slope = 0.0;
                for (var t = i * priceCells; t < Math.Min(cells, (i + 1) * priceCells); t++)
                {
                    used += use[t];
                    slope += used - Capacity[t];
                }

                // What costs nothing cannot become cheaper.
                way[i] = (price[i] <= 0 && slope < 0 ? 0 : slope) + (KeptWay * way[i]);
                norm += way[i] * way[i];
            }

            return norm;
        }

        public void Move(double step)
        {
            for (var i = 0; i < price.Length; i++)
                price[i] = Math.Max(0, price[i] + (step * way[i]));
        }
    }
}
