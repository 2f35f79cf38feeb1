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
    private readonly SearchRandom random;
    private readonly Sequence current;
    private readonly Sequence trial;
    private readonly long[] startNow;
    private readonly int[] movable;
    private readonly int[] leavable;
    private double currentEnergy;
    private Score currentLeft;
    private Score trialLeft;

    public Annealing(BenchProblem problem, Decoder decoder, Inserter inserter, Sequence start, ulong seed)
    {
        p = problem;
        this.decoder = decoder;
        this.inserter = inserter;
        random = new SearchRandom(seed);
        current = new Sequence(problem);
        trial = new Sequence(problem);
        Best = new Sequence(problem);
        startNow = new long[problem.Jobs << 3];
        movable = [.. Enumerable.Range(0, problem.Jobs).Where(j => problem.Stage[j] != Stage.Gone && problem.MustLeave[j] is null)];
        leavable = [.. movable.Where(j => problem.MayLeave[j])];
        current.CopyFrom(start);
        currentLeft = Left.Of(problem, current);
        if (!decoder.Decode(current, currentLeft))
            throw new InvalidOperationException("The search was given an order that cannot be kept.");
        Adopt();
        Best.CopyFrom(current);
        BestScore = decoder.Score;
    }

    public Sequence Best { get; }

    public Score BestScore { get; private set; }

    public long Iterations { get; private set; }

    /// <summary>Searches until the budget is spent or the cost is at the bound (milliseconds).</summary>
    public void Run(ISearchBudget budget, double bound)
    {
        if (movable.Length == 0)
            return;
        var length = 400L * Math.Max(4, current.Count);
        while (true)
        {
            if (!Cycle(budget, length, bound))
                return;
            length *= 2;
            Restart();
        }
    }

    private void Restart()
    {
        current.CopyFrom(Best);
        currentLeft = Left.Of(p, current);
        decoder.Decode(current, currentLeft);
        Adopt();
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
            if (decoder.Score.IsBetterThan(BestScore))
            {
                BestScore = decoder.Score;
                Best.CopyFrom(current);
            }
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
