namespace Incubation.Planning.Engine;

/// <summary>
/// The order in which cartridges in work are given their places. By how soon each must be handled is nearly always
/// right; where that would lose one or use the guard, other orders are tried, all of them while they are few, and the
/// one with the least loss is taken. What has not begun can wait and plays no part.
/// </summary>
internal sealed class Rescue(BenchProblem p, Builder builder, Inserter inserter)
{
    private const int Breadth = 12;
    private const int NodesMost = 4000;
    private readonly List<int> chosen = [];
    private List<int> best = [];
    private (long Loss, long Guard) bestWorth;
    private int nodes;

    /// <summary>All jobs in the order in which they are to be inserted.</summary>
    public List<int> Order()
    {
        var order = builder.Order();
        var rescued = order.Where(j => p.Stage[j] is Stage.Reacting or Stage.Mixed && p.MustLeave[j] is null).ToList();
        if (rescued.Count < 2)
            return order;
        var before = order.TakeWhile(j => p.Stage[j] == Stage.InReader).ToList();
        var start = Builder.Empty(p);
        builder.Complete(start, before, Breadth);
        var plain = Copy(start);
        builder.Complete(plain, rescued, Breadth);
        bestWorth = WorthOf(plain);
        best = rescued;
        var none = WorthOf(start);
        if (bestWorth != none)
            Search(start, rescued);
        return [.. before, .. best, .. order.Except(before).Except(best)];
    }

    private void Search(Sequence s, List<int> open)
    {
        if (WorthOf(s).CompareTo(bestWorth) >= 0 || nodes > NodesMost)
            return;
        if (open.Count == 0)
        {
            bestWorth = WorthOf(s);
            best = [.. chosen];
            return;
        }

        foreach (var job in open)
        {
            nodes++;
            var next = Copy(s);
            builder.Complete(next, [job], Breadth);
            chosen.Add(job);
            Search(next, [.. open.Where(j => j != job)]);
            chosen.RemoveAt(chosen.Count - 1);
        }
    }

    private Sequence Copy(Sequence s)
    {
        var copy = new Sequence(p);
        copy.CopyFrom(s);
        return copy;
    }

    private (long Loss, long Guard) WorthOf(Sequence s)
    {
        var score = inserter.ScoreOf(s);
        return (score.Loss, score.Guard);
    }
}
