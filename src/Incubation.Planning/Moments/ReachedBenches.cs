using Incubation.Planning.Engine;

namespace Incubation.Planning.Moments;

/// <summary>
/// Benches from which not all could be saved. What stands like one of them, with no time earlier, need not be looked at
/// again: whatever could be done from there could be done from the earlier one.
/// </summary>
internal sealed class ReachedBenches(BenchProblem p)
{
    /// <summary>As many jobs, readers and lots as a key has room for.</summary>
    public const int JobsMost = 64;

    private const int ReadersMost = 8;
    private const int NumbersMost = 250;
    private readonly Dictionary<Key, List<long[]>> reached = [];
    private readonly bool handsAreAlike = !p.AnyHandClosed;
    private readonly bool applies = p.Readers <= ReadersMost && p.Lots.Length <= NumbersMost;
    private readonly long[] times = new long[p.Hands + (2 * p.Readers) + p.Slots + (2 * p.Jobs)];

    public void Clear() => reached.Clear();

    /// <summary>Whether one that is no worse has failed.</summary>
    public bool Knows(SavingBench bench, bool[] save)
    {
        if (!applies || !reached.TryGetValue(KeyOf(bench, save), out var known))
            return false;
        var count = TimesOf(bench, save);
        foreach (var earlier in known)
        {
            var i = 0;
            while (i < count && earlier[i] <= times[i])
                i++;
            if (i == count)
                return true;
        }

        return false;
    }

    public void Add(SavingBench bench, bool[] save)
    {
        if (!applies)
            return;
        var key = KeyOf(bench, save);
        if (!reached.TryGetValue(key, out var known))
            reached[key] = known = [];
        known.Add(times[..TimesOf(bench, save)]);
    }

    private Key KeyOf(SavingBench bench, bool[] save)
    {
        ulong done = 0, loaded = 0;
        UInt128 readers = 0;
        for (var j = 0; j < p.Jobs; j++)
        {
            if (bench.IsDone[j])
                done |= 1UL << j;
            else if (save[j] && bench.IsLoaded[j])
                loaded |= 1UL << j;
        }

        for (var r = 0; r < p.Readers; r++)
            readers = (readers << 16) | (uint)(((bench.ReaderHolder[r] + 1) << 8)
                | ((bench.ReaderCard[r] + 1) << 1 & 0xff)) | (bench.CardIsKept[r] ? 1u : 0);
        return new Key(done, loaded, readers);
    }

    /// <summary>
    /// Fills the times in, each such that later is never better; what is free before any hands are is free when they
    /// are.
    /// </summary>
    private int TimesOf(SavingBench bench, bool[] save)
    {
        var hands = bench.HandFree.Min();
        var count = p.Hands;
        Array.Copy(bench.HandFree, times, count);
        if (handsAreAlike && count > 1)
            Array.Sort(times, 0, count);
        for (var r = 0; r < p.Readers; r++)
        {
            times[count++] = Math.Max(bench.ReaderFree[r], hands);
            times[count++] = -bench.ClearBy[r];
        }

        var mustLoad = false;
        for (var j = 0; j < p.Jobs; j++)
        {
            if (!save[j] || bench.IsDone[j])
                continue;
            mustLoad |= !bench.IsInSlot(j);
            if (!bench.IsLoaded[j])
                continue;
            times[count++] = bench.LoadStart[j];
            times[count++] = -bench.MoveBy[j];
        }

        if (!mustLoad)
            return count;
        var slots = count;
        for (var s = 0; s < p.Slots; s++)
            times[count++] = bench.SlotHolder[s] >= 0 ? BenchProblem.Never : Math.Max(bench.SlotFree[s], hands);
        if (!p.AnySlotClosed)
            Array.Sort(times, slots, count - slots);
        return count;
    }

    private readonly record struct Key(ulong Done, ulong Loaded, UInt128 Readers);
}
