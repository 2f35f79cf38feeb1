namespace Incubation.Planning.Engine;

/// <summary>
/// Builds a valid sequence job by job: first what is in work, by how soon it must be handled, then the rest. What
/// cannot be saved beside the jobs before it is lost or unplaced; everything else fits at the end at the latest.
/// </summary>
internal sealed class Builder(BenchProblem p, Inserter inserter)
{
    /// <summary>An empty sequence: what has gone is done, all else is absent.</summary>
    public static Sequence Empty(BenchProblem p)
    {
        var s = new Sequence(p);
        Reset(p, s);
        return s;
    }

    /// <summary>Makes a sequence empty.</summary>
    public static void Reset(BenchProblem p, Sequence s)
    {
        s.Count = 0;
        Array.Clear(s.Reader);
        Array.Clear(s.InReader);
        for (var j = 0; j < p.Jobs; j++)
        {
            s.Mode[j] = p.Stage[j] == Stage.Gone ? p.BeingDiscarded[j] ? Mode.Left : Mode.Placed : Mode.Absent;
            var reader = Array.IndexOf(p.ReaderHolder, j);
            if (reader >= 0)
                s.Reader[j] = reader;
        }
    }

    /// <summary>Inserts every absent job.</summary>
    public void Complete(Sequence s, int breadth) => Complete(s, Order(), breadth);

    /// <summary>
    /// Inserts the absent jobs of a list in its order; a job must stand behind those that it comes after.
    /// </summary>
    public void Complete(Sequence s, IReadOnlyList<int> order, int breadth)
    {
        for (var i = 0; i < order.Count; i++)
        {
            var job = order[i];
            if (s.Mode[job] != Mode.Absent)
                continue;
            if (p.MustLeave[job] is not null || FollowsUnplaced(s, job)
                || !inserter.Insert(s, job, breadth))
                inserter.Leave(s, job);
        }
    }

    private bool FollowsUnplaced(Sequence s, int job)
    {
        foreach (var before in p.After[job])
        {
            if (p.Stage[job] == Stage.Fresh && p.Stage[before] == Stage.Fresh && s.Mode[before] == Mode.Left)
                return true;
        }

        return false;
    }

    /// <summary>The jobs in the order in which they are inserted.</summary>
    public List<int> Order()
    {
        var level = Levels();
        return [.. Enumerable.Range(0, p.Jobs)
            .Where(j => p.Stage[j] != Stage.Gone)
            .OrderBy(j => p.Stage[j] == Stage.Fresh)
            .ThenBy(j => p.MustLeave[j] is not null)
            .ThenBy(j => level[j])
            .ThenBy(Pressing)
            .ThenBy(j => j)];
    }

    /// <summary>By job, how many others must come before it one after another, plus one.</summary>
    public int[] Levels()
    {
        var level = new int[p.Jobs];
        for (var j = 0; j < p.Jobs; j++)
            Level(j, level);
        return level;
    }

    private int Level(int j, int[] level)
    {
        if (level[j] == 0)
        {
            level[j] = 1;
            foreach (var before in p.After[j])
                level[j] = Math.Max(level[j], Level(before, level) + 1);
        }

        return level[j];
    }

    /// <summary>What must be handled soonest comes first; of what has time, the longest reaction.</summary>
    private long Pressing(int j) => p.Stage[j] switch
    {
        Stage.InReader => long.MinValue,
        Stage.Reacting => p.ReadClose[j],
        Stage.Mixed => p.LoadLatest[j],
        _ when p.LateWeight[j] > 1 => p.Ready[j] - BenchProblem.Never,
        _ when p.LoadLatest[j] < BenchProblem.Never => p.LoadLatest[j] - (BenchProblem.Never / 2),
        _ => p.Ready[j] - p.LoadToReadLeast[j],
    };
}
