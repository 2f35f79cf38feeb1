using Incubation.Planning.Engine.Proof;
using Incubation.Planning.Moments;

namespace Incubation.Planning.Engine;

/// <summary>
/// One planning of one day: a start, built or taken over from an earlier plan, and the search from there.
/// </summary>
internal sealed class PlanSearch
{
    private readonly BenchProblem p;
    private readonly Plan? incumbent;
    private readonly Decoder decoder;
    private readonly Inserter inserter;
    private readonly Builder builder;
    private int[]? keptSlots;
    private double proven;

    public PlanSearch(BenchProblem problem, Plan? incumbent)
    {
        p = problem;
        this.incumbent = incumbent;
        decoder = new Decoder(problem);
        inserter = new Inserter(problem, decoder);
        builder = new Builder(problem, inserter);
    }

    public PlanningResult Run(ulong seed, ISearchBudget budget)
    {
        var start = BestStart();
        var search = new Annealing(p, decoder, inserter, builder, start, seed);
        var bound = LowerBound.Of(p, Left.Counted(p, false));
        if (p.Jobs <= ExactSearch.JobsMost)
            bound = SearchExactly(search, budget, bound);
        var raiser = new BoundRaiser(p);
        search.Run(budget, bound, raiser);
        proven = Math.Max(bound, raiser.Bound);
        Settle(search.Settled);
        return new PlanningResult(Kept(decoder.Score) ?? Written(search.Settled, decoder, keptSlots),
            search.Iterations);
    }

    /// <summary>
    /// Short searches for a good plan, each followed by a look at every order that may be better, the first look a
    /// short one that days of a few requests need no more of; the bound that this gives.
    /// </summary>
    private double SearchExactly(Annealing search, ISearchBudget budget, double bound)
    {
        foreach (var (iterations, look) in (ReadOnlySpan<(long, long)>)[(5_000, 25_000), (75_000, 2_000_000)])
        {
            search.Run(new Part(budget, iterations), bound);
            if (search.IsAtBound(bound) || !ExactSearch.Applies(p, search.BestScore)
                || !budget.AllowsMore(search.Iterations))
                return bound;
            bound = Math.Max(bound, search.LookExactly(look, budget));
        }

        return bound;
    }

    /// <summary>A budget up to so many iterations.</summary>
    private sealed class Part(ISearchBudget whole, long most) : ISearchBudget
    {
        public bool AllowsMore(long iterationsDone) => iterationsDone < most && whole.AllowsMore(iterationsDone);
    }

    private Plan Written(Sequence order, Decoder times, int[]? slots) =>
        PlanWriter.Write(p, order, times, slots, incumbent, proven);

    /// <summary>
    /// The incumbent re-timed on its own hands and slots, where it plans everything. It stays unless the search found
    /// better: with several pairs of hands the free choice among them need not find its times again.
    /// </summary>
    private Plan? Kept(in Score found)
    {
        if (incumbent is null || PlanReader.Read(p, incumbent) is not { IsWhole: true } read)
            return null;
        var judge = new Decoder(p) { FixedHands = read.Hands, FixedSlots = read.Slots, Patient = true };
        return judge.Decode(read.Sequence, Left.Of(p, read.Sequence)) && !found.IsBetterThan(judge.Score)
            ? Written(read.Sequence, judge, read.Slots)
            : null;
    }

    /// <summary>Decodes the best order for the last time, with what was chosen kept.</summary>
    private void Settle(Sequence best)
    {
        var left = Left.Of(p, best);
        if (!decoder.Decode(best, left))
            throw new InvalidOperationException("The best order found cannot be decoded again.");
        decoder.KeepChoices(best, left);
        LeaveSpareTime(best, left);
    }

    private void LeaveSpareTime(Sequence best, in Score left)
    {
        var worth = decoder.Score;
        decoder.Reserve = new SpareTime(decoder).GreatestReserve(best, left, worth);
        decoder.Decode(best, left);
    }

    /// <summary>
    /// How many places are tried for a job's first step: fewer on long days, so that the first plan stays quick.
    /// </summary>
    private int Breadth => p.Jobs <= 16 ? 16 : p.Jobs <= 60 ? 8 : 3;

    private Sequence BestStart()
    {
        var built = Builder.Empty(p);
        builder.Complete(built, new Rescue(p, builder, inserter).Order(), Breadth);
        // The earlier order stays unless a new one is better: the next thing to do does not change its mind for
        // nothing.
        var start = Earlier() is { } earlier
            && !inserter.ScoreOf(built).IsBetterThan(inserter.ScoreOf(earlier)) ? earlier : built;
        return Saving(start) ?? start;
    }

    /// <summary>
    /// A start that saves more of what is in work, or uses less of the guard, where the one given gives something up
    /// or uses it; null where there is none.
    /// </summary>
    private Sequence? Saving(Sequence start)
    {
        var worth = inserter.ScoreOf(start);
        if ((!Left.OfWorkByChoice(p, start) && worth.Guard <= p.GuardSpent) || SavedStart.Of(p) is not { } saved
            || !decoder.Decode(saved, Left.Of(p, saved)))
            return null;
        builder.Complete(saved, Breadth);
        return inserter.ScoreOf(saved).IsBetterThan(worth) ? saved : null;
    }

    /// <summary>The incumbent's order as far as it goes, completed; null where it cannot be kept.</summary>
    private Sequence? Earlier()
    {
        if (incumbent is null || PlanReader.Read(p, incumbent) is not { } read)
            return null;
        var s = read.Sequence;
        if (!decoder.Decode(s, Left.Of(p, s)))
            return null;
        keptSlots = read.Slots;
        builder.Complete(s, Breadth);
        return inserter.ScoreOf(s) == Score.Worst ? null : s;
    }
}
