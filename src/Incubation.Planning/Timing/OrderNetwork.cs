using System.Runtime.InteropServices;
using Incubation.Model;

namespace Incubation.Planning.Timing;

/// <summary>
/// A plan as a temporal network in its own order: the start of every hands step, the least times between them, the read
/// windows and other most times, and the closings of the calendar. Instants are whole milliseconds since the day's
/// start.
/// </summary>
internal sealed class OrderNetwork
{
    public const long Never = long.MaxValue / 4;

    private readonly List<PlannedStep> steps = [];
    private readonly List<long> planned = [];
    private readonly List<long> lengths = [];
    private readonly List<long> earliest = [];
    private readonly List<long> latest = [];
    private readonly List<List<(int To, long Lag)>> pushes = [];
    private readonly List<List<Closing>> closings = [];
    private int closingsOfAll;

    /// <summary>Steps that have not begun, by number.</summary>
    public int Count => steps.Count;

    public long PlannedAt(int step) => planned[step];

    /// <summary>Adds a step that has not begun.</summary>
    /// <param name="step">Its row.</param>
    /// <param name="start">Planned start.</param>
    /// <param name="length">Its length.</param>
    public int Add(PlannedStep step, long start, long length)
    {
        steps.Add(step);
        planned.Add(start);
        lengths.Add(length);
        earliest.Add(0);
        latest.Add(Never);
        pushes.Add([]);
        closings.Add([]);
        return steps.Count - 1;
    }

    /// <summary>
    /// <paramref name="to"/> starts at least so long after <paramref name="from"/> starts; a most time is a negative
    /// one the other way round.
    /// </summary>
    public void AtLeast(int from, int to, long lag) => pushes[from].Add((to, lag));

    /// <summary><paramref name="step"/> starts no earlier than this.</summary>
    public void NoEarlier(int step, long instant) => earliest[step] = Math.Max(earliest[step], instant);

    /// <summary><paramref name="step"/> starts no later than this.</summary>
    public void NoLater(int step, long instant) => latest[step] = Math.Min(latest[step], instant);

    /// <summary>
    /// What a step begins may not overlap a time: from its start to its own end, or to the start of a later step plus
    /// so long.
    /// </summary>
    public void MayNotOverlap(int step, long from, long to, int? until = null, long untilPlus = 0)
    {
        closings[step].Add(new Closing(from, to, until, untilPlus));
        closingsOfAll++;
    }

    /// <summary>
    /// Whether a step can begin so much later than planned, what follows pushed only as far as it must be, what stands
    /// before it unmoved.
    /// </summary>
    public bool Holds(int step, long delay)
    {
        var start = planned.ToArray();
        start[step] += delay;
        return Settle(start, () => Stands(step, start));
    }

    /// <summary>The earliest start of every step in the plan's order, or null where the order cannot be kept.</summary>
    public long[]? Earliest()
    {
        var start = earliest.ToArray();
        return Settle(start, () => InTime(start)) ? start : null;
    }

    /// <summary>Pushes starts later until nothing more is asked; false where what must stand does not.</summary>
    private bool Settle(long[] start, Func<bool> stands)
    {
        // Each pass over all steps settles at least one more of them, or one more closing; more passes than that is a
        // contradiction.
        var passes = (2 * Count) + closingsOfAll + 4;
        for (var pass = 0; pass < passes; pass++)
        {
            var moved = false;
            for (var i = 0; i < Count; i++)
            {
                moved |= LeavesClosings(i, start);
                foreach (var (to, lag) in CollectionsMarshal.AsSpan(pushes[i]))
                {
                    if (start[to] >= start[i] + lag)
                        continue;
                    start[to] = start[i] + lag;
                    moved = true;
                }
            }

            if (!stands())
                return false;
            if (!moved)
                return true;
        }

        return false;
    }

    private bool LeavesClosings(int step, long[] start)
    {
        var moved = false;
        foreach (ref readonly var closing in CollectionsMarshal.AsSpan(closings[step]))
        {
            var end = closing.Until is { } until ? start[until] + closing.UntilPlus : start[step] + lengths[step];
            var overlaps = start[step] < closing.To && (end > closing.From || start[step] >= closing.From);
            if (!overlaps)
                continue;
            start[step] = closing.To;
            moved = true;
        }

        return moved;
    }

    private bool InTime(long[] start)
    {
        for (var i = 0; i < Count; i++)
        {
            if (start[i] > latest[i])
                return false;
        }

        return true;
    }

    private bool Stands(int step, long[] start)
    {
        for (var i = 0; i < Count; i++)
        {
            if (start[i] > latest[i] || (planned[i] < planned[step] && start[i] != planned[i]))
                return false;
        }

        return true;
    }

    private readonly record struct Closing(long From, long To, int? Until, long UntilPlus);
}
