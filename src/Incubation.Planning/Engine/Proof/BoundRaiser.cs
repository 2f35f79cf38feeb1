namespace Incubation.Planning.Engine.Proof;

/// <summary>
/// Improves the bound while a search goes on, for a sixth of its iterations at most and none at its beginning.
/// </summary>
internal sealed class BoundRaiser(BenchProblem p)
{
    /// <summary>A search of 50 ms is left alone.</summary>
    private const long FirstAt = 50_000;

    /// <summary>More than this gains little.</summary>
    private const long WorkMost = 400_000;

    private const long WorkAtOnce = 5_000;

    /// <summary>So much of the search for one part of this.</summary>
    private const long Pause = 6;
    private PricedBound? priced;
    private long work;

    /// <summary>The iteration at which the next part is due.</summary>
    public long DueAt { get; private set; } = FirstAt;

    /// <summary>The bound in milliseconds; 0 while there is none.</summary>
    public double Bound => priced?.Value ?? 0;

    /// <summary>Does a part; gives its work in iterations.</summary>
    /// <param name="best">The best order found.</param>
    /// <param name="score">What it is worth.</param>
    /// <param name="iterations">Iterations done.</param>
    public long Raise(Sequence best, in Score score, long iterations)
    {
        // What is left out by choice may be other jobs in another plan: then nothing is certain of any of them.
        if (Left.IsByChoice(p, best))
        {
            DueAt = iterations + FirstAt;
            return 0;
        }

        // Later bests leave out nothing either and use no more guard, so what is found now holds for them.
        priced ??= new PricedBound(p, Left.Counted(p, false), score.Cost, score.Guard > p.GuardSpent);
        var done = priced.Improve(score.Cost, WorkAtOnce);
        work += done;
        DueAt = done == 0 || work > WorkMost ? long.MaxValue : iterations + (Pause * done);
        return done;
    }
}
