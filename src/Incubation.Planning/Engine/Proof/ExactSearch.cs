namespace Incubation.Planning.Engine.Proof;

/// <summary>What an exact search ended with.</summary>
/// <param name="Bound">No plan costs less, in milliseconds.</param>
/// <param name="Better">The order of a best plan where one is better than the one known, else null.</param>
internal sealed record ExactResult(double Bound, Sequence? Better);

/// <summary>
/// Looks at every order of the hands' steps that may cost less than a known plan, step by step (dynamic programming
/// with dominance), for few requests and one pair of hands without calendar, every step taking time: slots and readers
/// then follow from the order, and its times are the least solution of a temporal network, a chain of hands steps with
/// least and most times between them. Of the network of an order begun only what later steps can touch is kept: longest
/// paths between now, the hands' end and one node for each job, the start of its last step. One order dominates another
/// that has come equally far when none of these paths is longer: every completion of the other is then one of it, and
/// nothing ends later. Where the search does not apply, a plan is just not proved by it.
/// </summary>
internal sealed partial class ExactSearch
{
    /// <summary>More jobs than this take too long, and their keys too many bits.</summary>
    public const int JobsMost = 7;

    private const int ReadersMost = 3;
    private const int LotsMost = 14;

    /// <summary>No path; far below any time, and two of them still a number.</summary>
    private const int None = -1_000_000_000;

    private const int Now = 0;
    private const int HandsEnd = 1;
    private const int FirstJob = 2;

    /// <summary>
    /// An iteration of the annealing takes about as long as one order begun, or as so many comparisons.
    /// </summary>
    private const int ComparisonsAnIteration = 20;

    private readonly BenchProblem p;
    private readonly int[] job;
    private readonly int width;
    private readonly int[] matrix;
    private readonly int[] before;
    private readonly int[] after;
    private readonly List<(int Previous, int Op, int Reader)> history = [];
    private readonly BegunBound bounds;
    private OrderLayer here;
    private OrderLayer ahead;
    private double limit;
    private int best = -1;
    private long begun;

    private ExactSearch(BenchProblem p, double known)
    {
        this.p = p;
        job = [.. Enumerable.Range(0, p.Jobs).Where(j => p.Stage[j] != Stage.Gone && p.MustLeave[j] is null)];
        width = job.Length + FirstJob;
        matrix = new int[width * width];
        before = new int[width];
        after = new int[width];
        here = new OrderLayer(matrix.Length);
        ahead = new OrderLayer(matrix.Length);
        limit = known - Score.Equal;
        bounds = new BegunBound(p, job);
    }

    /// <summary>
    /// Whether the day is one of those described, and the known plan loses nothing and leaves the guard alone.
    /// </summary>
    public static bool Applies(BenchProblem p, in Score score)
    {
        if (!p.HandsTell || p.Readers > ReadersMost || p.Lots.Length > LotsMost || score.Guard != p.GuardSpent
            || score.Loss != 0)
            return false;
        var jobs = Enumerable.Range(0, p.Jobs).Where(j => p.Stage[j] != Stage.Gone && p.MustLeave[j] is null).ToList();
        return jobs.Count is > 0 and <= JobsMost && score.Cost < AnyCost
            && jobs.All(j => Enumerable.Range(Op.Mix, 4).All(kind => p.Earliest[Op.Of(j, kind)] < int.MaxValue / 8));
    }

    /// <summary>
    /// More than any plan of so few requests costs, in milliseconds: what is sought is any plan that places them all.
    /// </summary>
    public const double AnyCost = int.MaxValue / 8;

    /// <summary>Searches; where the budget or the number is spent first, the bound still holds.</summary>
    /// <param name="p">The problem.</param>
    /// <param name="known">Cost of the plan to be beaten, in milliseconds.</param>
    /// <param name="workMost">How much work it may do, in iterations of the search.</param>
    /// <param name="budget">The search's budget.</param>
    /// <param name="iterations">Iterations done; receives those that this search counts for.</param>
    public static ExactResult Run(BenchProblem p, double known, long workMost, ISearchBudget budget,
        ref long iterations)
    {
        var search = new ExactSearch(p, known);
        var result = search.Run(known, workMost, budget, iterations);
        iterations += search.Work;
        return result;
    }

    private long Work => begun + ((here.Compared + ahead.Compared) / ComparisonsAnIteration);

    private ExactResult Run(double known, long workMost, ISearchBudget budget, long iterations)
    {
        Begin();
        while (here.Count > 0)
        {
            // A change of card stays in its layer, which grows while it is worked through.
            for (var i = 0; i < here.Count; i++)
            {
                if (here.IsDead(i) || here.Bound[i] > limit)
                    continue;
                if (Work > workMost || !budget.AllowsMore(iterations + Work))
                    return new ExactResult(OpenBound(i, Math.Min(known, limit + Score.Equal)), best >= 0
                        ? Order() : null);
                Expand(i);
            }

            (here, ahead) = (ahead, here);
            ahead.Clear();
        }

        return new ExactResult(best < 0 ? known : limit + Score.Equal, best < 0 ? null : Order());
    }

    private double OpenBound(int from, double bound)
    {
        for (var i = from; i < here.Count; i++)
            bound = here.IsDead(i) ? bound : Math.Min(bound, here.Bound[i]);
        for (var i = 0; i < ahead.Count; i++)
            bound = ahead.IsDead(i) ? bound : Math.Min(bound, ahead.Bound[i]);
        return bound;
    }

    private void Begin()
    {
        Array.Fill(matrix, None);
        matrix[Now] = 0;
        matrix[HandsEnd] = (int)(p.HandFree[0] - p.Now);
        var key = new OrderKey(0);
        for (var r = 0; r < p.Readers; r++)
            key = key.WithCard(r, p.ReaderCard[r], false);
        for (var k = 0; k < job.Length; k++)
        {
            var reader = Array.IndexOf(p.ReaderHolder, job[k]);
            key = p.Stage[job[k]] switch
            {
                Stage.Mixed => key.With(k, Phase.Mixed, 0),
                Stage.Reacting => key.With(k, Phase.InSlot, 0),
                Stage.InReader => key.With(k, Phase.Read, reader),
                _ => key,
            };
        }

        here.Add(key.Bits, matrix, 0, -1);
    }

    private Sequence Order()
    {
        var steps = new List<(int Op, int Reader)>();
        var taker = new int[p.Readers];
        for (var at = best; at >= 0; at = history[at].Previous)
        {
            var (_, op, reader) = history[at];
            // A change of card is a step of the cartridge that takes the reader next.
            if (Op.Kind(op) == Op.Card)
                op = Op.Of(taker[reader], Op.Card);
            else if (reader >= 0)
                taker[reader] = Op.Job(op);
            steps.Add((op, reader));
        }

        steps.Reverse();
        var s = Builder.Empty(p);
        foreach (var j in Enumerable.Range(0, p.Jobs).Where(j => p.Stage[j] != Stage.Gone))
            s.Mode[j] = p.MustLeave[j] is null ? Mode.Placed : Mode.Left;
        foreach (var (op, reader) in steps)
        {
            var j = Op.Job(op);
            if (Op.Kind(op) is Op.Move or Op.Card || (Op.Kind(op) == Op.Load && reader >= 0))
                s.Reader[j] = reader;
            s.InReader[j] |= Op.Kind(op) == Op.Load && reader >= 0;
            s.Insert(s.Count, op);
        }

        return s;
    }
}
