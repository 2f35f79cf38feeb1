namespace Incubation.Planning.Engine;

/// <summary>
/// A cost (milliseconds) below which no plan comes. The finish is bounded by each job alone and by hands, readers and
/// slots as machines that may interrupt their work and share it out evenly (Jackson's rule with heads and tails);
/// lateness and waiting by each job alone.
/// </summary>
internal sealed class LowerBound
{
    private readonly BenchProblem p;
    private readonly Jackson tasks;
    private readonly bool[] counted;

    private LowerBound(BenchProblem p, bool[] counted)
    {
        this.p = p;
        this.counted = counted;
        tasks = new Jackson(p.Jobs * 5);
    }

    /// <summary>The bound over the jobs that every plan must place.</summary>
    /// <param name="p">The problem.</param>
    /// <param name="counted">By job, whether every plan places it.</param>
    public static double Of(BenchProblem p, bool[] counted) => FinishOf(p, counted) + LatenessOf(p, counted);

    /// <summary>No plan that places those jobs finishes before.</summary>
    /// <param name="p">The problem.</param>
    /// <param name="counted">By job, whether every plan places it.</param>
    public static double FinishOf(BenchProblem p, bool[] counted) => new LowerBound(p, counted).Finish();

    /// <summary>What lateness and waiting cost at least, each job looked at alone.</summary>
    /// <param name="p">The problem.</param>
    /// <param name="counted">By job, whether every plan places it.</param>
    public static double LatenessOf(BenchProblem p, bool[] counted)
    {
        var cost = 0.0;
        for (var j = 0; j < p.Jobs; j++)
            cost += counted[j] ? p.CostOfClear(j, EarliestEnd(p, j)) : 0;
        return cost;
    }

    private double Finish()
    {
        var finish = 0.0;
        for (var j = 0; j < p.Jobs; j++)
            finish = counted[j] ? Math.Max(finish, EarliestEnd(j)) : finish;
        return Math.Max(Math.Max(finish, OnHands()), Math.Max(OnReaders(), InSlots()));
    }

    private long Len(int j, int kind) => p.Length[Op.Of(j, kind)];

    private long Earliest(int j, int kind) => p.Earliest[Op.Of(j, kind)];

    private long LoadHead(int j) => LoadHead(p, j);

    private long ReadHead(int j) => ReadHead(p, j);

    private long EarliestEnd(int j) => EarliestEnd(p, j);

    /// <summary>No load of the job starts before, by the job alone.</summary>
    public static long LoadHead(BenchProblem p, int j) => p.Stage[j] == Stage.Fresh
        ? Math.Max(p.Earliest[Op.Of(j, Op.Load)], p.Earliest[Op.Of(j, Op.Mix)] + p.Length[Op.Of(j, Op.Mix)])
        : p.Earliest[Op.Of(j, Op.Load)];

    /// <summary>No read of the job starts before, by the job alone.</summary>
    private static long ReadHead(BenchProblem p, int j) => p.Stage[j] == Stage.Reacting
        ? Math.Max(p.ReadFrom[j], p.Earliest[Op.Of(j, Op.Move)] + p.Length[Op.Of(j, Op.Move)])
        : LoadHead(p, j) + p.LoadToReadLeast[j];

    /// <summary>No clear of the job ends before, by the job alone.</summary>
    public static long EarliestEnd(BenchProblem p, int j) => p.Stage[j] switch
    {
        Stage.Gone => p.GoneEnd[j],
        Stage.InReader => p.Earliest[Op.Of(j, Op.Clear)] + p.Length[Op.Of(j, Op.Clear)],
        _ => ReadHead(p, j) + p.ReadLength[j] + p.Length[Op.Of(j, Op.Clear)],
    };

    private double OnHands()
    {
        tasks.Clear();
        for (var j = 0; j < p.Jobs; j++)
        {
            if (!counted[j] || p.Stage[j] == Stage.Gone)
                continue;
            var after = p.ReadLength[j] + Len(j, Op.Clear);
            var reaction = p.LoadToReadLeast[j] - Len(j, Op.Load);
            if (p.Stage[j] == Stage.Fresh)
                tasks.Add(Earliest(j, Op.Mix), Len(j, Op.Mix), Len(j, Op.Load) + reaction + after);
            if (p.Stage[j] is Stage.Fresh or Stage.Mixed)
                tasks.Add(LoadHead(j), Len(j, Op.Load), reaction + after);
            if (p.Stage[j] == Stage.Reacting || (p.Stage[j] != Stage.InReader && !p.CanReader[j]))
                tasks.Add(ReadHead(j) - Len(j, Op.Move), Len(j, Op.Move), after);
            tasks.Add(EarliestEnd(j) - Len(j, Op.Clear), Len(j, Op.Clear), 0);
        }

        CardTasks();
        return tasks.Finish(p.Hands, p.HandFree.Min());
    }

    private double OnReaders()
    {
        tasks.Clear();
        for (var j = 0; j < p.Jobs; j++)
        {
            if (!counted[j] || p.Stage[j] == Stage.Gone)
                continue;
            var read = p.ReadLength[j] + Len(j, Op.Clear);
            if (p.Stage[j] == Stage.InReader)
                tasks.Add(Earliest(j, Op.Clear), Len(j, Op.Clear), 0);
            else if (p.Stage[j] == Stage.Reacting || !p.CanReader[j])
                tasks.Add(ReadHead(j) - Len(j, Op.Move), Len(j, Op.Move) + read, 0);
            else if (!p.CanSlot[j])
                tasks.Add(LoadHead(j), p.LoadToReadLeast[j] + read, 0);
            else
                tasks.Add(ReadHead(j), read, 0);
        }

        CardTasks();
        return tasks.Finish(p.Readers, p.ReaderFree.Min());
    }

    /// <summary>Stays of what must react in a slot, from the load to the move.</summary>
    private double InSlots()
    {
        tasks.Clear();
        for (var j = 0; j < p.Jobs; j++)
        {
            if (!counted[j] || p.CanReader[j] || p.Stage[j] is not (Stage.Fresh or Stage.Mixed or Stage.Reacting))
                continue;
            var tail = Len(j, Op.Move) + p.ReadLength[j] + Len(j, Op.Clear);
            if (p.Stage[j] == Stage.Reacting)
                tasks.Add(p.Now, ReadHead(j) - Len(j, Op.Move) - p.Now, tail);
            else
                tasks.Add(LoadHead(j), Math.Max(Len(j, Op.Load), p.LoadToReadLeast[j] - Len(j, Op.Move)), tail);
        }

        return tasks.Finish(Math.Max(1, p.Slots), p.Now);
    }

    /// <summary>One card change for each lot that is needed and that no reader holds.</summary>
    private void CardTasks()
    {
        foreach (var (_, tail) in CardsNeeded(p, counted))
            tasks.Add(p.Now, p.CardLength, tail);
    }

    /// <summary>
    /// The lots for which a card change is certain, those that are needed and that no reader holds, with the least time
    /// from the change's end to the finish.
    /// </summary>
    public static Dictionary<int, long> CardsNeeded(BenchProblem p, bool[] counted)
    {
        var tails = new Dictionary<int, long>();
        for (var j = 0; j < p.Jobs; j++)
        {
            // A cartridge in a reader has its card there or comes before a change to it: either way no further one is
            // certain.
            if (!counted[j] || p.Stage[j] is Stage.Gone or Stage.InReader || Array.IndexOf(p.ReaderCard, p.Lot[j]) >= 0)
                continue;
            var tail = (p.CanReader[j] ? 0 : p.Length[Op.Of(j, Op.Move)]) + p.ReadLength[j]
                + p.Length[Op.Of(j, Op.Clear)];
            tails[p.Lot[j]] = tails.TryGetValue(p.Lot[j], out var known) ? Math.Min(known, tail) : tail;
        }

        return tails;
    }
}
