namespace Incubation.Planning.Engine;

/// <summary>
/// Tasks with heads and tails on machines that may interrupt their work and share it out evenly, the longest tail first
/// (Jackson's rule): a finish before which no schedule of the tasks comes. Allocates nothing while it has room.
/// </summary>
internal sealed class Jackson(int room)
{
    private long[] head = new long[room];
    private double[] length = new double[room];
    private long[] tail = new long[room];
    private int tasks;

    /// <summary>Forgets all tasks.</summary>
    public void Clear() => tasks = 0;

    /// <summary>Adds a task, kept by its head; one without a length asks nothing of a machine.</summary>
    /// <param name="from">It may begin no earlier.</param>
    /// <param name="takes">How long it keeps one machine.</param>
    /// <param name="behind">What follows it without the machine, at least.</param>
    public void Add(long from, double takes, long behind)
    {
        if (takes <= 0)
            return;
        if (tasks == head.Length)
            Grow();
        var i = tasks++;
        for (; i > 0 && head[i - 1] > from; i--)
            (head[i], length[i], tail[i]) = (head[i - 1], length[i - 1], tail[i - 1]);
        (head[i], length[i], tail[i]) = (from, takes, behind);
    }

    /// <summary>The finish of the tasks, which are used up; 0 where there are none.</summary>
    /// <param name="machines">On so many machines.</param>
    /// <param name="free">None of them is free before.</param>
    public double Finish(int machines, long free)
    {
        for (var i = 0; i < tasks; i++)
            length[i] /= machines;
        var (finish, time) = (0.0, (double)free);
        for (var open = 0; open < tasks;)
        {
            if (length[open] <= 0)
            {
                open++;
                continue;
            }

            time = Math.Max(time, head[open]);
            var chosen = open;
            var next = open + 1;
            for (; next < tasks && head[next] <= time; next++)
            {
                if (length[next] > 0 && tail[next] > tail[chosen])
                    chosen = next;
            }

            var takes = next < tasks ? Math.Min(length[chosen], head[next] - time) : length[chosen];
            time += takes;
            length[chosen] -= takes;
            if (length[chosen] > 1e-9)
                continue;
            length[chosen] = 0;
            finish = Math.Max(finish, time + tail[chosen]);
        }

        return finish;
    }

    private void Grow()
    {
        var more = Math.Max(16, head.Length * 2);
        Array.Resize(ref head, more);
        Array.Resize(ref length, more);
        Array.Resize(ref tail, more);
    }
}
