namespace Incubation.Planning.Engine;

/// <summary>
/// The search's random source (SplitMix64): the same seed gives the same plan on every machine and runtime.
/// </summary>
internal sealed class SearchRandom(ulong seed)
{
    private ulong state = seed;

    public ulong Bits()
    {
        var z = state += 0x9E3779B97F4A7C15UL;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9UL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBUL;
        return z ^ (z >> 31);
    }

    /// <summary>From 0 to <paramref name="count"/> - 1.</summary>
    public int Below(int count) => (int)(((Bits() >> 32) * (ulong)count) >> 32);

    /// <summary>From 0 to 1, 1 excluded.</summary>
    public double Fraction() => (Bits() >> 11) * (1.0 / (1UL << 53));
}
