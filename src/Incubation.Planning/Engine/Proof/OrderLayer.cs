namespace Incubation.Planning.Engine.Proof;

/// <summary>
/// Orders begun that have come equally far, in one pool: their times as matrices, and which of them none dominates.
/// </summary>
internal sealed class OrderLayer(int size)
{
    private readonly Dictionary<ulong, int> first = [];
    private int[] times = new int[size * 256];
    private int[] nextAlike = new int[256];
    private bool[] dead = new bool[256];

    public ulong[] Key { get; private set; } = new ulong[256];

    /// <summary>No plan that begins so costs less.</summary>
    public double[] Bound { get; private set; } = new double[256];

    /// <summary>Number of the last step in the history of steps.</summary>
    public int[] Last { get; private set; } = new int[256];

    public int Count { get; private set; }

    /// <summary>How many comparisons were made since construction.</summary>
    public long Compared { get; private set; }

    public bool IsDead(int i) => dead[i];

    public ReadOnlySpan<int> Times(int i) => times.AsSpan(i * size, size);

    public void Clear()
    {
        first.Clear();
        Count = 0;
    }

    /// <summary>
    /// Adds an order begun unless one that has come equally far dominates it; strikes those that it dominates.
    /// </summary>
    public bool Add(ulong key, ReadOnlySpan<int> matrix, double bound, int last)
    {
        var head = first.GetValueOrDefault(key, -1);
        for (int i = head, previous = -1; i >= 0; i = nextAlike[i])
        {
            Compared++;
            if (IsNowhereLater(Times(i), matrix))
            {
                // What dominates one often dominates the next too.
                if (previous >= 0)
                    (nextAlike[previous], nextAlike[i], first[key]) = (nextAlike[i], head, i);
                return false;
            }

            dead[i] = IsNowhereLater(matrix, Times(i));
            if (!dead[i])
                previous = i;
            else if (previous >= 0)
                nextAlike[previous] = nextAlike[i];
            else
                head = nextAlike[i];
        }

        if (Count == dead.Length)
            Grow();
        matrix.CopyTo(times.AsSpan(Count * size, size));
        (Key[Count], Bound[Count], Last[Count], nextAlike[Count], dead[Count]) = (key, bound, last, head, false);
        first[key] = Count++;
        return true;
    }

    private static bool IsNowhereLater(ReadOnlySpan<int> one, ReadOnlySpan<int> other)
    {
        for (var i = 0; i < one.Length; i++)
        {
            if (one[i] > other[i])
                return false;
        }

        return true;
    }

    private void Grow()
    {
        var room = dead.Length * 2;
        Array.Resize(ref times, room * size);
        Array.Resize(ref nextAlike, room);
        Array.Resize(ref dead, room);
        (Key, Bound, Last) = (Resized(Key, room), Resized(Bound, room), Resized(Last, room));
    }

    private static T[] Resized<T>(T[] array, int room)
    {
        Array.Resize(ref array, room);
        return array;
    }
}
