using Incubation.Model;
using Incubation.Planning.Engine;

namespace Incubation.Planning.Moments;

/// <summary>
/// Which cartridges in work are saved when acting at once: of all sets that can be, the one whose loss weighs least, in
/// turn by those with no specimen left, urgent ones, patients, all; of equal ones the one that leaves the guard
/// untouched.
/// </summary>
internal static class SavedSet
{
    /// <summary>So many sets are tried.</summary>
    private const int SetsMost = 400;

    /// <summary>Steps looked at for each cartridge where not all sets can be tried.</summary>
    private const int EffortOfOne = 1_000;

    /// <summary>The set and an order that saves it.</summary>
    /// <param name="Jobs">What is saved.</param>
    /// <param name="Order">An order that saves it at once.</param>
    /// <param name="NeedsGuard">Whether it needs the guard.</param>
    /// <param name="IsExact">Whether no better set is left untried.</param>
    public sealed record Found(bool[] Jobs, SavingStep[] Order, bool NeedsGuard, bool IsExact);

    public static Found Of(BenchProblem p, SavingSearch guarded, SavingSearch guardUsed,
        IReadOnlyCollection<RequestId> givenUp)
    {
        var all = Enumerable.Range(0, p.Jobs)
            .Where(j => p.Stage[j] is Stage.Mixed or Stage.Reacting && p.MustLeave[j] is null)
            .OrderBy(j => p.LossKey[j]).ToArray();
        var sets = new PriorityQueue<int[], (long Loss, int Number)>();
        sets.Enqueue([], (0, 0));
        // The set that is given up already stands before others of its weight.
        int[] asPlanned = [.. Enumerable.Range(0, all.Length).Where(i => givenUp.Contains(p.Day.Requests[all[i]].Id))];
        if (asPlanned.Length > 0)
            sets.Enqueue(asPlanned, (asPlanned.Sum(i => p.LossKey[all[i]]), 0));
        var (tried, number) = (0, 0);
        (Found Found, long Loss)? withGuard = null;
        while (sets.TryDequeue(out var dropped, out var at))
        {
            if (++tried > SetsMost || guarded.EffortLeft <= 0 || guardUsed.EffortLeft <= 0)
                return withGuard is { } known ? known.Found with { IsExact = false } : Built(p, all, guardUsed);
            if (withGuard is { } best && best.Loss < at.Loss)
                return best.Found;
            foreach (var next in dropped == asPlanned && dropped.Length > 0 ? [] : Behind(dropped, all.Length))
                sets.Enqueue(next, (next.Sum(i => p.LossKey[all[i]]), ++number));
            var jobs = new bool[p.Jobs];
            for (var i = 0; i < all.Length; i++)
                jobs[all[i]] = !dropped.Contains(i);
            if (guarded.Find(jobs, p.Now) is { } order)
                return new Found(jobs, order, false, true);
            if (withGuard is null && guardUsed != guarded && guardUsed.Find(jobs, p.Now) is { } used)
                withGuard = (new Found(jobs, used, true, true), at.Loss);
        }

        return withGuard?.Found ?? new Found(new bool[p.Jobs], [], false, true);
    }

    /// <summary>
    /// Where there are too many sets to try: one cartridge after another, what weighs most first, each that can be
    /// saved beside those before it.
    /// </summary>
    private static Found Built(BenchProblem p, int[] all, SavingSearch search)
    {
        var jobs = new bool[p.Jobs];
        SavingStep[] order = [];
        foreach (var j in all.Reverse())
        {
            search.Grant(EffortOfOne);
            jobs[j] = true;
            if (search.Find(jobs, p.Now) is { } found)
                order = found;
            else
                jobs[j] = false;
        }

        return new Found(jobs, order, true, false);
    }

    /// <summary>
    /// The sets that follow one: its last member replaced by the next, or the next added. Every set follows exactly one
    /// other, and none weighs less than that.
    /// </summary>
    private static IEnumerable<int[]> Behind(int[] set, int count)
    {
        var next = set.Length == 0 ? 0 : set[^1] + 1;
        if (next >= count)
            yield break;
        yield return [.. set, next];
        if (set.Length > 0)
            yield return [.. set[..^1], next];
    }
}
