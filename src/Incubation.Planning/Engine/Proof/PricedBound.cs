namespace Incubation.Planning.Engine.Proof;

/// <summary>
/// The priced bound over windows of the finish: a plan finishes in one of them, so the least of their bounds holds. The
/// window with the least bound is worked on, and cut in two when its prices gain no more: that a plan finishes early is
/// often impossible, that it finishes late is dear.
/// </summary>
internal sealed class PricedBound
{
    private const int RoundsAtOnce = 5;
    private const int StalledMost = 15;

    /// <summary>
    /// About how many cells of a round's courses take as long as one iteration of the search, for a day of any size.
    /// </summary>
    private const int CellsAnIteration = 6;

    private readonly PriorityQueue<PricedWindow, double> windows = new();
    private double known;

    /// <param name="p">The problem.</param>
    /// <param name="counted">By job, whether every plan places it.</param>
    /// <param name="known">Cost of a plan, in milliseconds: the bound is for plans that cost no more.</param>
    /// <param name="inGuard">Whether a plan may read inside the guard.</param>
    public PricedBound(BenchProblem p, bool[] counted, double known, bool inGuard)
    {
        this.known = known;
        var first = LowerBound.FinishOf(p, counted);
        var last = Math.Max(first, known - LowerBound.LatenessOf(p, counted));
        var all = new PricedWindow(p, counted, inGuard, first, last);
        windows.Enqueue(all, all.Value);
    }

    /// <summary>The bound in milliseconds; the known cost where no plan costs less.</summary>
    public double Value => windows.Count == 0 ? known : Math.Min(known, windows.Peek().Value);

    /// <summary>Improves the bound; gives the work done.</summary>
    /// <param name="best">Cost of the best plan known by now, in milliseconds.</param>
    /// <param name="work">How much to do, in iterations of the search.</param>
    public long Improve(double best, long work)
    {
        known = Math.Min(known, best);
        var done = 0L;
        while (done < work && Value < known - Score.Equal)
        {
            var window = windows.Dequeue();
            window.Improve(known, RoundsAtOnce);
            done += Math.Max(1, RoundsAtOnce * window.Cells / CellsAnIteration);
            if (window.Value >= known - Score.Equal)
                continue;
            if (window.Stalled < StalledMost || !window.CanSplit)
            {
                windows.Enqueue(window, window.Value);
                continue;
            }

            var (early, late) = window.Split();
            windows.Enqueue(early, early.Value);
            windows.Enqueue(late, late.Value);
        }

        return done;
    }
}
