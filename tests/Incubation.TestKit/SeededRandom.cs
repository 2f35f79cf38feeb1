namespace Incubation.TestKit;

/// <summary>
/// A small random source (SplitMix64) whose numbers are the same on every machine and runtime for ever.
/// </summary>
public sealed class SeededRandom(ulong seed)
{
    private ulong state = seed;

    /// <summary>The next 64 random bits.</summary>
    public ulong NextBits()
    {
        var z = state += 0x9E3779B97F4A7C15UL;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9UL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBUL;
        return z ^ (z >> 31);
    }

    /// <summary>A number from <paramref name="low"/> to <paramref name="high"/>, both included.</summary>
    public int Between(int low, int high) => low + (int)(NextBits() % (ulong)(high - low + 1));

    /// <summary>True with the given probability.</summary>
    public bool Chance(double probability) => (NextBits() >> 11) * (1.0 / (1UL << 53)) < probability;

    /// <summary>One of the items.</summary>
    public T Pick<T>(IReadOnlyList<T> items) => items[Between(0, items.Count - 1)];

    /// <summary>The items in a random order.</summary>
    public List<T> Shuffled<T>(IEnumerable<T> items)
    {
        var list = items.ToList();
        for (var i = list.Count - 1; i > 0; i--)
        {
            var k = Between(0, i);
            (list[i], list[k]) = (list[k], list[i]);
        }

        return list;
    }
}
