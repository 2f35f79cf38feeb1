namespace Incubation.Planning.Engine;

/// <summary>
/// Simulated annealing over the order of the hands' steps, in cycles that start from the best found, each longer than the
/// one before. One iteration tries one changed order.
/// </summary>
internal sealed partial class Annealing
{
    private readonly BenchProblem p;
    private readonly Decoder decoder;
    private readonly Inserter inserter;
    private readonly Builder builder;
    private readonly SearchRandom random;
    private readonly Sequence current;
    private readonly Sequence trial;
    private readonly long[] startNow;
    private readonly int[] movable;
    private readonly int[] leavable;
    private double currentEnergy;
    private Score currentLeft;
    private Score trialLeft;

    public Annealing(BenchProblem problem, Decoder decoder, Inserter inserter, Builder builder, Sequence start, ulong seed)
    {
        p = problem;
        this.decoder = decoder;
        this.inserter = inserter;
        this.builder = builder;
        random = new SearchRandom(seed);
        current = new Sequence(problem);
        trial = new Sequence(problem);
        Best = new Sequence(problem);
        startNow = new long[problem.Jobs << 3];
        movable = [.. Enumerable.Range(0, problem.Jobs).Where(j => problem.Stage[j] != Stage.Gone && problem.MustLeave[j] is null)];
        leavable = [.. movable.Where(j => problem.MayLeave[j])];
        BestScore = Score.Worst;
        Restart(start);
    }

    public Sequence Best { get; }

    public Score BestScore { get; private set; }

    public long Iterations { get; private set; }

    /// <summary>Searches until the budget is spent or the cost is at the bound (milliseconds).</summary>
    public void Run(ISearchBudget budget, double bound)
    {
        if (movable.Length == 0)
            return;
        var length = 150L * Math.Max(4, current.Count);
        for (var cycle = 1; Cycle(budget, length, bound); cycle++)
        {
            // Every other cycle begins afresh, so that no early choice holds for ever.
            if (cycle % 2 == 1)
                length = length * 3 / 2;
            Restart(cycle % 2 == 1 ? Best : Afresh());
        }
    }

    /// <summary>A new start: the jobs not yet begun are inserted in a random order.</summary>
    private Sequence Afresh()
    {
        if (p.Jobs > 60)
            return Best;
        var order = builder.Order();
        var fresh = order.FindIndex(j => p.Stage[j] == Stage.Fresh);
        for (var i = order.Count - 1; fresh >= 0 && i > fresh; i--)
        {
            var k = fresh + random.Below(i - fresh + 1);
            (order[i], order[k]) = (order[k], order[i]);
        }

        var s = Builder.Empty(p);
        builder.Complete(s, builder.InOrderOfAfter(order), 6);
        return s;
    }

    private void Restart(Sequence from)
    {
        current.CopyFrom(from);
        currentLeft = Left.Of(p, current);
        if (!decoder.Decode(current, currentLeft))
            throw new InvalidOperationException("The search was given an order that cannot be kept.");
        Adopt();
        Remember();
    }

    private void Remember()
    {
        if (!decoder.Score.IsBetterThan(BestScore))
            return;
        BestScore = decoder.Score;
        Best.CopyFrom(current);
    }

    private bool AtBound(double bound) => BestScore is { Loss: 0, Unplaced: 0, Guard: 0 } && BestScore.Cost <= bound + Score.Equal;

    private bool Cycle(ISearchBudget budget, long length, double bound)
    {
        const double hottest = 15_000, coldest = 400;
        var cooling = Math.Pow(coldest / hottest, 1.0 / length);
        var temperature = hottest;
        for (var i = 0L; i < length; i++, temperature *= cooling)
        {
            if (AtBound(bound) || !budget.AllowsMore(Iterations))
                return false;
            Iterations++;
            trial.CopyFrom(current);
            trialLeft = currentLeft;
            if (!Change())
                continue;
            var accepted = currentEnergy - (temperature * Math.Log(1.0 - random.Fraction()));
            if (!decoder.Decode(trial, trialLeft, accepted) || decoder.Score.Energy > accepted)
                continue;
            current.CopyFrom(trial);
            currentLeft = trialLeft;
            Adopt();
            Remember();
        }

        return true;
    }

    /// <summary>Takes the order that was really executed, with its times, as the present one.</summary>
    private void Adopt()
    {
        Array.Copy(decoder.Executed, current.Ops, decoder.ExecutedCount);
        current.Count = decoder.ExecutedCount;
        for (var i = 0; i < current.Count; i++)
            startNow[current.Ops[i]] = decoder.Start[current.Ops[i]];
        currentEnergy = decoder.Score.Energy;
    }
}
