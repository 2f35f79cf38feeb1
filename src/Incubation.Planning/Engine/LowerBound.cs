namespace Incubation.Planning.Engine;

/// <summary>
/// A cost (milliseconds) below which no plan comes. The finish is bounded by each job alone and by hands, readers and slots as
/// machines that may interrupt their work and share it out evenly (Jackson's rule with heads and tails); lateness and waiting by
/// each job alone.
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
    public static double Of(BenchProblem p, bool[] counted) => new LowerBound(p, counted).Compute();

    private double Compute()
    {
        var finish = 0.0;
        var cost = 0.0;
        for (var j = 0; j < p.Jobs; j++)
        {
            if (!counted[j])
                continue;
            var end = EarliestEnd(j);
            finish = Math.Max(finish, end);
            cost += p.CostOfClear(j, end);
        }

        finish = Math.Max(finish, OnHands());
        finish = Math.Max(finish, OnReaders());
        finish = Math.Max(finish, InSlots());
        return finish + cost;
    }

    private long Len(int j, int kind) => p.Length[Op.Of(j, kind)];

    private long Earliest(int j, int kind) => p.Earliest[Op.Of(j, kind)];

    private long LoadHead(int j) => p.Stage[j] == Stage.Fresh
        ? Math.Max(Earliest(j, Op.Load), Earliest(j, Op.Mix) + Len(j, Op.Mix))
        : Earliest(j, Op.Load);

    private long ReadHead(int j) => p.Stage[j] == Stage.Reacting
        ? Math.Max(p.ReadFrom[j], Earliest(j, Op.Move) + Len(j, Op.Move))
        : LoadHead(j) + p.LoadToReadLeast[j];

    private long EarliestEnd(int j) => p.Stage[j] switch
    {
        Stage.Gone => p.GoneEnd[j],
        Stage.InReader => Earliest(j, Op.Clear) + Len(j, Op.Clear),
        _ => ReadHead(j) + p.ReadLength[j] + Len(j, Op.Clear),
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
        var tails = new Dictionary<int, long>();
        for (var j = 0; j < p.Jobs; j++)
        {
            if (!counted[j] || p.Stage[j] is Stage.Gone or Stage.InReader)
                continue;
            var tail = (p.CanReader[j] ? 0 : Len(j, Op.Move)) + p.ReadLength[j] + Len(j, Op.Clear);
            tails[p.Lot[j]] = tails.TryGetValue(p.Lot[j], out var known) ? Math.Min(known, tail) : tail;
        }

        foreach (var (lot, tail) in tails)
        {
            // A cartridge in a reader has its card there or comes before a change to it: either way no further one is certain.
            var held = Array.IndexOf(p.ReaderCard, lot) >= 0;
            if (!held)
                tasks.Add(p.Now, p.CardLength, tail);
        }
    }
}
