namespace Incubation.Planning.Engine.Proof;

/// <summary>
/// A cost (milliseconds) below which no plan comes that finishes in a window of time, from prices on the time of hands,
/// readers and slots (Lagrangian relaxation and subgradients; from memory). Each cartridge, alone, takes the course
/// that is cheapest by the prices of what it uses and by its own lateness and waiting; what the resources could sell in
/// all is taken off again.
/// </summary>
/// <remarks>
/// <para>That is a bound for any prices that are not negative, since a plan uses no more than there is. So it is for
/// any shares of the finish, at most 1 in sum, that cartridges pay by their own ends, as none ends after it; and for
/// what a certain card change pays for its end while the cartridges that must wait for it are paid as much for theirs
/// (its lead). Prices, shares and leads are moved to where too much is asked for, or away from where too little
/// is.</para>
/// <para>Time is cut into cells. Starts, least times and lengths are rounded down to cells and most times up, which
/// every plan survives: the bound holds for any length of cell and loses nothing where all times are whole
/// cells.</para>
/// </remarks>
internal sealed partial class PricedWindow
{
    private const int CellsMost = 1800;

    /// <summary>Neighbouring cells have one price, so that there are no more than this.</summary>
    private const int PricesMost = 150;

    /// <summary>Time (milliseconds) counts for so much where cells used count for one.</summary>
    private const double TimeSlope = 1e-4;

    /// <summary>Shares and leads move by so much where prices move by one.</summary>
    private const double ShareStep = 1e-4;

    /// <summary>How much of the way gone before is kept in the next step.</summary>
    private const double KeptWay = 0.9;

    private const int PatienceMost = 20;
    private const double Slower = 0.7;

    /// <summary>A rise by less than this part of what is missing counts as none.</summary>
    private const double LittleRise = 0.002;

    /// <summary>One by less than this part does not keep a window from being cut.</summary>
    private const double StalledRise = 0.01;

    /// <summary>Sums of so many numbers of this size are no more exact.</summary>
    private const double Rounding = 1e-12;

    private readonly BenchProblem p;
    private readonly bool[] counted;
    private readonly bool inGuard;
    private readonly double finishLeast;
    private readonly double finishMost;
    private readonly long cell;
    private readonly int cells;
    private readonly int priceCells;
    private readonly List<Course> courses = [];
    private readonly Resource hands;
    private readonly Resource readers;
    private readonly Resource slots;
    private readonly double[] share;
    private readonly double[] lead;
    private readonly double[] shareSlope;
    private readonly double[] leadWay;
    private readonly double constant;
    private double pace = 0.5;
    private int patience;

    /// <param name="p">The problem.</param>
    /// <param name="counted">By job, whether every plan places it.</param>
    /// <param name="inGuard">Whether a plan may read inside the guard.</param>
    /// <param name="from">The plans looked at finish no earlier, in milliseconds.</param>
    /// <param name="to">They finish no later.</param>
    /// <param name="parent">A window that holds this one, whose prices it starts from; or null.</param>
    public PricedWindow(BenchProblem p, bool[] counted, bool inGuard, double from, double to,
        PricedWindow? parent = null)
    {
        this.p = p;
        this.counted = counted;
        this.inGuard = inGuard;
        finishLeast = from;
        finishMost = to;
        var span = Math.Max(1, (long)Math.Ceiling(to) - p.Now);
        cell = parent?.cell ?? CellFor(span);
        cells = (int)(span / cell) + 1;
        priceCells = parent?.priceCells ?? Math.Max(1, (cells + PricesMost - 1) / PricesMost);
        hands = new Resource(cells, priceCells, parent?.hands);
        readers = new Resource(cells, priceCells, parent?.readers);
        slots = new Resource(cells, priceCells, parent?.slots);
        constant = AddCourses();
        share = parent is null ? new double[courses.Count] : (double[])parent.share.Clone();
        lead = parent is null ? new double[courses.Count] : (double[])parent.lead.Clone();
        shareSlope = new double[courses.Count];
        leadWay = new double[courses.Count];
        buffers = new Buffers(cells);
        FillCapacities();
        Value = Math.Max(from + LowerBound.LatenessOf(p, counted), parent?.Value ?? 0);
    }

    /// <summary>The greatest bound so far, in milliseconds.</summary>
    public double Value { get; private set; }

    /// <summary>How many cells a round looks at, over all courses about four times.</summary>
    public int Cells => cells;

    /// <summary>Rounds since the bound last rose by much.</summary>
    public int Stalled { get; private set; }

    public bool CanSplit => finishMost - finishLeast > 4 * cell;

    /// <summary>The window in two halves, with the prices of the whole to start from.</summary>
    public (PricedWindow Early, PricedWindow Late) Split()
    {
        var half = (long)((finishMost - finishLeast) / 2);
        return (new PricedWindow(p, counted, inGuard, finishLeast, finishLeast + half, this),
            new PricedWindow(p, counted, inGuard, finishLeast + half, finishMost, this));
    }

    /// <summary>Moves the prices so many times; stops where the bound is at the known cost (milliseconds).</summary>
    public void Improve(double known, int rounds)
    {
        for (var i = 0; i < rounds && Value < known - Score.Equal; i++)
        {
            var value = Evaluate();
            Judge(value, known);
            Move(pace * Math.Max(known - value, 1));
        }
    }

    private void Judge(double value, double known)
    {
        var rise = (value - Value) / (known - Value);
        Stalled = rise > StalledRise ? 0 : Stalled + 1;
        Value = Math.Max(Value, value);
        patience = rise > LittleRise ? 0 : rise > 0 ? patience : patience + 1;
        if (patience < PatienceMost)
            return;
        pace *= Slower;
        patience = 0;
    }

    /// <summary>The bound at the present prices; leaves the slopes.</summary>
    private double Evaluate()
    {
        hands.Begin();
        readers.Begin();
        slots.Begin();
        var sold = hands.Sold + readers.Sold + slots.Sold;
        var (value, size, rest) = (constant - sold, sold, 1.0);
        for (var i = 0; i < courses.Count; i++)
        {
            var course = courses[i];
            if (!Solve(course, share[i], course.Card is null ? LeadOfCard(course) : lead[i]))
                return double.PositiveInfinity;
            value += course.Cost;
            size += Math.Abs(course.Cost);
            rest -= share[i];
            shareSlope[i] = (p.Now + ((double)course.End * cell) - finishLeast) * TimeSlope;
        }

        return value + (Math.Max(0, rest) * finishLeast) - (size * Rounding);
    }

    /// <summary>What a card change pays for its end: as much as the cartridges that wait for it get.</summary>
    private double LeadOfCard(Course card)
    {
        var sum = 0.0;
        for (var i = 0; i < courses.Count; i++)
            sum += courses[i].Card == card ? lead[i] : 0;
        return sum;
    }

    /// <summary>Follows the slopes, each mixed with the way gone before, for a gain as long as hoped for.</summary>
    private void Move(double gain)
    {
        var norm = hands.Turn() + readers.Turn() + slots.Turn();
        for (var i = 0; i < courses.Count; i++)
        {
            var slope = courses[i].Card is { } card
                ? (card.TakesReader - courses[i].TakesReader) * (double)cell * TimeSlope : 0;
            leadWay[i] = (lead[i] <= 0 && slope < 0 ? 0 : slope) + (KeptWay * leadWay[i]);
            norm += (leadWay[i] * leadWay[i]) + (shareSlope[i] * shareSlope[i]);
        }

        if (norm <= 1e-12)
            return;
        var step = gain / norm;
        hands.Move(step);
        readers.Move(step);
        slots.Move(step);
        for (var i = 0; i < courses.Count; i++)
        {
            share[i] = Math.Max(0, share[i] + (step * ShareStep * shareSlope[i]));
            lead[i] = Math.Max(0, lead[i] + (step * ShareStep * leadWay[i]));
        }

        KeepSharesToOne();
    }

    /// <summary>Takes as much from every share as makes them one in sum, where they are more.</summary>
    private void KeepSharesToOne()
    {
        if (SharesAbove(0) <= 1)
            return;
        var (low, high) = (0.0, share.Max());
        for (var i = 0; i < 50; i++)
        {
            var middle = (low + high) / 2;
            (low, high) = SharesAbove(middle) > 1 ? (middle, high) : (low, middle);
        }

        for (var i = 0; i < share.Length; i++)
            share[i] = Math.Max(0, share[i] - high);
    }

    private double SharesAbove(double less)
    {
        var sum = 0.0;
        foreach (var s in share)
            sum += Math.Max(0, s - less);
        return sum;
    }
}
