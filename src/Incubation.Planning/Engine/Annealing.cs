using Incubation.Planning.Engine.Proof;

namespace Incubation.Planning.Engine;

/// <summary>
/// Simulated annealing over the order of the hands' steps, in cycles of which several race from different starts. One
/// iteration tries one changed order.
/// </summary>
internal sealed partial class Annealing
{
    private const int RunnersMost = 16;

    /// <summary>A longer day takes too long to build anew.</summary>
    private const int JobsToStartAfresh = 60;

    private readonly BenchProblem p;
    private readonly Decoder decoder;
    private readonly Inserter inserter;
    private readonly SearchRandom random;
    private readonly Sequence current;
    private readonly Sequence trial;
    private readonly long[] startNow;
    private readonly long[] startTrial;
    private readonly GapFitter fitter;
    private readonly Sequence cycleBest;
    private readonly Sequence[] field = new Sequence[RunnersMost];
    private readonly double[] runnerEnergy = new double[RunnersMost];
    private readonly Starts starts;
    private readonly int[] movable;
    private readonly int[] leavable;
    private readonly SpareTime spare;
    private BoundRaiser? raiser;
    private long reserve;
    private double currentEnergy;
    private double cycleBestEnergy;
    private Score settledScore;
    private Score currentLeft;
    private Score trialLeft;

    public Annealing(BenchProblem problem, Decoder decoder, Inserter inserter, Builder builder, Sequence start,
        ulong seed)
    {
        p = problem;
        this.decoder = decoder;
        this.inserter = inserter;
        starts = new Starts(problem, builder);
        random = new SearchRandom(seed);
        current = new Sequence(problem);
        trial = new Sequence(problem);
        spare = new SpareTime(decoder);
        cycleBest = new Sequence(problem);
        Best = new Sequence(problem);
        Settled = new Sequence(problem);
        startNow = new long[problem.Jobs << 3];
        startTrial = new long[problem.Jobs << 3];
        fitter = new GapFitter(problem);
        movable = [.. Enumerable.Range(0, problem.Jobs)
            .Where(j => problem.Stage[j] != Stage.Gone && problem.MustLeave[j] is null)];
        leavable = [.. movable.Where(j => problem.MayLeave[j])];
        BestScore = Score.Worst;
        settledScore = Score.Worst;
        Restart(start);
    }

    public Sequence Best { get; }

    /// <summary>
    /// Of the best orders on the way that one which is best once its hands and slots are kept as they were chosen: what
    /// more searching finds is never worse than what less would have given.
    /// </summary>
    public Sequence Settled { get; }

    public Score BestScore { get; private set; }

    public long Iterations { get; private set; }

    /// <summary>Searches until the budget is spent or the cost is at the bound.</summary>
    /// <param name="budget">How long.</param>
    /// <param name="bound">A cost below which no plan comes, in milliseconds.</param>
    /// <param name="raise">Improves the bound on the way, for a part of the iterations; or null.</param>
    public void Run(ISearchBudget budget, double bound, BoundRaiser? raise = null)
    {
        if (movable.Length == 0)
            return;
        raiser = raise;
        var length = 60L * Math.Max(4, current.Count);
        var runners = 4;
        for (var race = 1; Race(budget, runners, length, bound); race++)
        {
            if (race % 2 == 1 && runners < RunnersMost)
                runners *= 2;
            else
                length *= 2;
        }
    }

    /// <summary>
    /// Looks at every order that places all jobs and may be better than the best found, and takes over a better one;
    /// the bound that this gives on plans that place all.
    /// </summary>
    public double LookExactly(long workMost, ISearchBudget budget)
    {
        var iterations = Iterations;
        var known = Left.IsByChoice(p, Best) ? ExactSearch.AnyCost : BestScore.Cost;
        var result = ExactSearch.Run(p, known, workMost, budget, ref iterations);
        Iterations = iterations;
        // An order that takes more passes than a search allows is left, its bound holds all the same.
        if (result.Better is { } better && inserter.ScoreOf(better) != Score.Worst)
            Restart(better);
        return Left.IsByChoice(p, Best) ? 0 : result.Bound;
    }

    /// <summary>
    /// The best found and new starts each have a cycle; the better half of them another, twice as long, and so on until
    /// one is left. What decides early, such as the order of the lots, differs from start to start and is hard to
    /// change later.
    /// </summary>
    private bool Race(ISearchBudget budget, int runners, long length, double bound)
    {
        for (var i = 0; i < runners; i++)
        {
            Restart(i == 0 || p.Jobs > JobsToStartAfresh ? Best : starts.Next(random));
            if (!Cycle(budget, length, bound))
                return false;
            KeepRunner(i);
        }

        while (runners > 1)
        {
            length *= 2;
            Array.Sort(runnerEnergy, field, 0, runners);
            runners /= 2;
            for (var i = 0; i < runners; i++)
            {
                Restart(field[i]);
                if (!Cycle(budget, length, bound))
                    return false;
                KeepRunner(i);
            }
        }

        return true;
    }

    private void KeepRunner(int i)
    {
        (field[i] ??= new Sequence(p)).CopyFrom(cycleBest);
        runnerEnergy[i] = cycleBestEnergy;
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
        if (decoder.Score.IsBetterThan(BestScore))
        {
            BestScore = decoder.Score;
            Best.CopyFrom(current);
            Settle();
            reserve = spare.GreatestReserve(current, currentLeft, BestScore);
        }
        else if (Iterations % 4 == 0 && !BestScore.IsBetterThan(decoder.Score)
            && spare.HasMore(current, currentLeft, BestScore, reserve))
        {
            Best.CopyFrom(current);
            Settle();
            reserve = spare.GreatestReserve(current, currentLeft, BestScore);
        }
    }

    private void Settle()
    {
        var settled = decoder.KeepChoices(current, currentLeft);
        decoder.ChooseFreely();
        if (settledScore.IsBetterThan(settled))
            return;
        settledScore = settled;
        Settled.CopyFrom(current);
    }

    /// <summary>
    /// Whether nothing is lost, left out or read inside the guard, and the cost is at the bound (milliseconds).
    /// </summary>
    public bool IsAtBound(double bound) =>
        BestScore is { Loss: 0, Unplaced: 0, Guard: 0 } && BestScore.Cost <= Math.Max(bound, raiser?.Bound ?? 0)
            + Score.Equal;

    private bool Cycle(ISearchBudget budget, long length, double bound)
    {
        const double hottest = 15_000, coldest = 400;
        var cooling = Math.Pow(coldest / hottest, 1.0 / length);
        var temperature = hottest;
        cycleBest.CopyFrom(current);
        cycleBestEnergy = currentEnergy;
        for (var i = 0L; i < length; i++, temperature *= cooling)
        {
            if (IsAtBound(bound) || !budget.AllowsMore(Iterations))
                return false;
            Iterations++;
            if (raiser is not null && Iterations >= raiser.DueAt)
                Iterations += raiser.Raise(Best, BestScore, Iterations);
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
            if (currentEnergy < cycleBestEnergy)
            {
                cycleBest.CopyFrom(current);
                cycleBestEnergy = currentEnergy;
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
