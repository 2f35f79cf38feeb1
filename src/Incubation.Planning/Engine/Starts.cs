namespace Incubation.Planning.Engine;

/// <summary>
/// New starts for the search: the jobs not yet begun are inserted one by one in a random order, every other time lot by
/// lot, the lots in a random order too, which changes few cards. Allocates nothing after construction.
/// </summary>
internal sealed class Starts
{
    /// <summary>How many places are tried for a job's first step.</summary>
    private const int Breadth = 6;

    private readonly BenchProblem p;
    private readonly Builder builder;
    private readonly int[] plain;
    private readonly int[] level;
    private readonly int[] order;
    private readonly long[] keys;
    private readonly int[] lotRank;
    private readonly int fresh;
    private readonly Sequence start;

    public Starts(BenchProblem problem, Builder builder)
    {
        p = problem;
        this.builder = builder;
        plain = [.. builder.Order()];
        level = builder.Levels();
        order = new int[plain.Length];
        keys = new long[plain.Length];
        lotRank = new int[problem.Lots.Length];
        fresh = Array.FindIndex(plain, j => problem.Stage[j] == Stage.Fresh);
        start = new Sequence(problem);
    }

    /// <summary>A new start; the next call overwrites it.</summary>
    public Sequence Next(SearchRandom random)
    {
        Array.Copy(plain, order, plain.Length);
        var byLots = random.Below(2) == 0;
        for (var lot = 0; lot < lotRank.Length; lot++)
            lotRank[lot] = byLots ? random.Below(1 << 20) : 0;
        for (var i = 0; i < order.Length; i++)
        {
            // What is in work keeps its order; a job stands behind those that it comes after.
            keys[i] = fresh < 0 || i < fresh
                ? i - plain.Length
                : ((long)level[order[i]] << 44) | ((long)lotRank[p.Lot[order[i]]] << 22) | (uint)random.Below(1 << 22);
        }

        Array.Sort(keys, order);
        Builder.Reset(p, start);
        builder.Complete(start, order, Breadth);
        return start;
    }
}
