using Incubation.Planning.Engine;

namespace Incubation.Planning.Moments;

/// <summary>
/// Looks for an order of hands steps that saves some cartridges in work, by going through every order that may: what
/// is most urgent first, so that an order is found at once where there is one. A branch ends where a cartridge can no
/// longer be read in time, or where a bench that is no better has failed.
/// </summary>
internal sealed partial class SavingSearch
{
    private readonly BenchProblem p;
    private readonly ReachedBenches reached;
    private readonly SavingBench[] benches;
    private readonly SavingStep[] order;
    private readonly List<(long Key, SavingStep Step)>[] choices;
    private readonly int[] raises;
    private readonly int[] byReadBy;
    private readonly int roundsMost;
    private bool[] save = [];
    private long idleUntil;
    private int found;

    /// <param name="problem">The day, reduced to what is in work.</param>
    /// <param name="guardIsUsed">Whether what is in work may be read inside the guard.</param>
    /// <param name="effort">Steps that may be looked at until more are granted.</param>
    public SavingSearch(BenchProblem problem, bool guardIsUsed, int effort)
    {
        p = problem;
        EffortLeft = effort;
        reached = new ReachedBenches(p);
        // Of each cartridge a discard or a clear, a card change, a load and a move.
        var steps = (p.Jobs * 4) + p.Readers;
        benches = [.. Enumerable.Range(0, steps + 1).Select(_ => new SavingBench(p, guardIsUsed))];
        choices = [.. Enumerable.Range(0, steps + 1).Select(_ => new List<(long, SavingStep)>())];
        order = new SavingStep[steps];
        raises = new int[p.Jobs];
        // Of a network without closings every load waits at most once for each; a closing may add to it.
        roundsMost = p.Jobs + 2 + (12 * p.Day.Calendar.Count);
        byReadBy = [.. Enumerable.Range(0, p.Jobs).Where(j => p.Stage[j] == Stage.Reacting)
            .OrderBy(j => benches[0].ReadBy(j))];
    }

    /// <summary>How many steps more may be looked at; at zero every search ends without an answer.</summary>
    public int EffortLeft { get; private set; }

    /// <summary>Lets so many steps be looked at from here on.</summary>
    public void Grant(int effort) => EffortLeft = effort;

    /// <summary>
    /// An order that saves these jobs, no step begun before an instant; null where there is none, or none was found
    /// before the effort was spent.
    /// </summary>
    public SavingStep[]? Find(bool[] jobs, long from)
    {
        (save, idleUntil) = (jobs, from);
        reached.Clear();
        Array.Clear(benches[0].LoadNotBefore);
        benches[0].Begin(from);
        return Extend(0) ? order[..found] : null;
    }

    private bool Extend(int depth)
    {
        var bench = benches[depth];
        if (IsSaved(bench))
        {
            found = depth;
            return true;
        }

        if (depth == order.Length || IsHopeless(bench) || reached.Knows(bench, save))
            return false;
        var raisesBefore = RaisesOfWaiting(bench);
        ListChoices(bench, choices[depth]);
        foreach (var (_, step) in choices[depth])
        {
            if (--EffortLeft < 0)
                return false;
            order[depth] = step;
            if (Try(depth) && Extend(depth + 1))
                return true;
        }

        // What failed only because a load behind it would have had to wait may hold from another bench.
        if (EffortLeft > 0 && RaisesOfWaiting(bench) == raisesBefore)
            reached.Add(bench, save);
        return false;
    }

    /// <summary>How often a load of what waits for its move had to wait, or would have had to.</summary>
    private int RaisesOfWaiting(SavingBench bench)
    {
        var count = 0;
        for (var j = 0; j < p.Jobs; j++)
            if (bench.IsLoaded[j] && !bench.IsDone[j])
                count += raises[j];
        return count;
    }

    /// <summary>Takes the order's last step; where a load must wait for that, all steps anew.</summary>
    private bool Try(int depth)
    {
        var (bench, next) = (benches[depth], benches[depth + 1]);
        next.CopyFrom(bench);
        if (next.Take(order[depth], idleUntil))
            return true;
        for (var round = 0; next.RaiseJob >= 0 && round < roundsMost; round++)
        {
            EffortLeft--;
            raises[next.RaiseJob]++;
            next.LoadNotBefore[next.RaiseJob] = next.RaiseTo;
            next.Begin(idleUntil);
            if (TakeAll(next, order.AsSpan(0, depth + 1), -1, 0))
                return true;
        }

        return false;
    }

    private bool TakeAll(SavingBench bench, ReadOnlySpan<SavingStep> steps, int late, long lateFrom)
    {
        for (var i = 0; i < steps.Length; i++)
        {
            if (!bench.Take(steps[i], i == late ? lateFrom : idleUntil))
                return false;
        }

        return true;
    }

    private bool IsSaved(SavingBench bench)
    {
        for (var j = 0; j < p.Jobs; j++)
            if (save[j] && !bench.IsDone[j])
                return false;
        foreach (var by in bench.ClearBy)
            if (by < BenchProblem.Never)
                return false;
        return true;
    }

    /// <summary>
    /// Whether some cartridge cannot be read in time any more, even if nothing else were to be done; or, at one reader,
    /// those up to some latest start not one after another.
    /// </summary>
    private bool IsHopeless(SavingBench bench)
    {
        var hands = bench.HandFree.Min();
        var reader = long.MaxValue;
        for (var r = 0; r < p.Readers; r++)
        {
            var holder = bench.ReaderHolder[r];
            reader = Math.Min(reader, Math.Max(hands, bench.ReaderFree[r])
                + (holder < 0 ? 0 : p.Length[Op.Of(holder, Op.Clear)]));
        }

        for (var j = 0; j < p.Jobs; j++)
        {
            if (!save[j] || bench.IsDone[j])
                continue;
            if (!bench.IsInSlot(j))
            {
                if (Math.Max(hands, p.Earliest[Op.Of(j, Op.Load)]) > p.LoadLatest[j])
                    return true;
            }
            else if (Math.Max(reader, bench.MoveFrom(j)) + p.Length[Op.Of(j, Op.Move)] > bench.ReadBy(j))
                return true;
        }

        return p.Readers == 1 && IsReaderTooBusy(bench, reader);
    }

    private bool IsReaderTooBusy(SavingBench bench, long reader)
    {
        var longest = 0L;
        foreach (var j in byReadBy)
        {
            if (!save[j] || bench.IsDone[j])
                continue;
            var after = p.ReadLength[j] + p.Length[Op.Of(j, Op.Clear)];
            reader += p.Length[Op.Of(j, Op.Move)] + after;
            longest = Math.Max(longest, after);
            if (reader - longest > bench.ReadBy(j))
                return true;
        }

        return false;
    }
}
