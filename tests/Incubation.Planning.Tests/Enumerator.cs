using Incubation.Model;

namespace Incubation.Planning.Tests;

/// <summary>What the best plan of a day is worth, in the order in which plans are judged.</summary>
internal readonly record struct Worth(long Losses, long GuardMs, int Unplaced, double CostSeconds)
{
    public bool IsBetterThan(Worth other) =>
        (Losses, GuardMs, Unplaced).CompareTo((other.Losses, other.GuardMs, other.Unplaced)) is var order && order != 0
            ? order < 0
            : CostSeconds < other.CostSeconds - 0.0005;
}

/// <summary>
/// Finds the best plan of a tiny day by trying every order of every step on every pair of hands, slot and reader. Slow
/// and plain on purpose, and shares nothing with the engine: it is what the engine is held against.
/// </summary>
internal sealed class Enumerator
{
    private readonly TinyDay day;
    private readonly bool[] left;
    private readonly List<Entry> entries = [];
    private readonly Entry?[] taking; // by reader: the stay in it
    private readonly int[] inSlot;    // by slot: the job in it, or -1
    private readonly int?[] card;
    private readonly int[] keptFor;   // by reader: the job whose card has been put in, or -1
    private readonly int[] next;      // by job: kind of the next step
    private Worth best = new(long.MaxValue, 0, 0, 0);
    private readonly long leavesLoss;
    private int orders;
    private int soonest = -1; // the job whose clear alone counts, or -1: rule 8

    private Enumerator(TinyDay day, bool[] left, Worth best)
    {
        this.day = day;
        this.left = left;
        this.best = best;
        taking =
            [.. day.ReaderHolder.Select((job, reader) => job >= 0 ? new Entry(job, Kind.Taken, -1, -1, reader) : null)];
        inSlot = [.. day.SlotHolder];
        card = [.. day.Card];
        keptFor = [.. day.Card.Select(_ => -1)];
        next =
            [.. day.Jobs.Select((job, j) => left[j]
                ? (job.Stage is TinyStage.Fresh or TinyStage.Gone ? Kind.Done : Kind.Discard) : job.FirstKind)];
        leavesLoss = day.Jobs.Where((job, j) => left[j] && job.Stage is not TinyStage.Fresh and not TinyStage.Gone)
            .Sum(job => job.LossKey);
    }

    /// <summary>
    /// The worth of the best plan, or what is known where nothing is better; null where more orders than
    /// <paramref name="ordersMost"/> would have to be followed.
    /// </summary>
    /// <param name="benchDay">The day.</param>
    /// <param name="known">What some plan is worth: orders that cannot beat it are not followed to their end.</param>
    /// <param name="ordersMost">Orders of some or all steps that may be looked at.</param>
    public static Worth? Best(BenchDay benchDay, Worth known, int ordersMost)
    {
        var orders = 0;
        var day = new TinyDay(benchDay);
        var best = known;
        for (var subset = 0; subset < 1 << day.Jobs.Count; subset++)
        {
            var left = day.Jobs.Select((_, j) => (subset >> j & 1) == 1).ToArray();
            if (day.Jobs.Where((job, j) => left[j] ? !job.MayLeave : job.DoomedInReader).Any()
                || day.FollowsUnplaced(left))
                continue;
            var search = new Enumerator(day, left, best) { orders = ordersMost - orders };
            search.Extend();
            if (search.orders <= 0)
                return null;
            orders = ordersMost - search.orders;
            best = search.best;
        }

        return best;
    }

    /// <summary>
    /// When a request's clear ends at the earliest in any plan that loses and leaves out nothing and uses as little of
    /// the guard as can be, in seconds since the day's start; null where there is none, or too many orders.
    /// </summary>
    /// <param name="benchDay">The day.</param>
    /// <param name="request">The request.</param>
    /// <param name="ordersMost">Orders of some or all steps that may be looked at.</param>
    public static double? SoonestClear(BenchDay benchDay, RequestId request, int ordersMost)
    {
        var day = new TinyDay(benchDay);
        var search = new Enumerator(day, new bool[day.Jobs.Count], new Worth(1, 0, 0, 0))
        {
            orders = ordersMost,
            soonest = day.Jobs.FindIndex(job => job.Request.Id == request),
        };
        search.Extend();
        return search.orders > 0 && search.best.Losses == 0 ? search.best.CostSeconds : null;
    }

    private int UnplacedCount => day.Jobs.Where((job, j) => left[j] && job.Stage == TinyStage.Fresh).Count();

    private void Extend()
    {
        if (orders <= 0)
            return;
        orders--;
        if (Timetable.Of(day, entries) is not { } times)
            return;
        var worth = new Worth(leavesLoss, times.GuardMs(), UnplacedCount,
            soonest >= 0 ? times.EndSeconds(soonest, next) : times.CostSeconds(next, left));
        if (!worth.IsBetterThan(best))
            return;
        if (next.All(kind => kind == Kind.Done))
        {
            best = worth;
            return;
        }

        for (var j = 0; j < next.Length; j++)
            Step(j);
    }

    private void Step(int j)
    {
        switch (next[j])
        {
            case Kind.Mix when day.Jobs[j].After.All(before => next[before] == Kind.Done):
                With(new Entry(j, Kind.Mix, 0, -1, -1), Kind.Load);
                break;
            case Kind.Load:
                LoadIntoSlots(j);
                if (day.Jobs[j].Assay.Place != IncubationPlace.Incubator)
                    TakeReaders(j, Kind.Load, Kind.Clear);
                break;
            case Kind.Move:
                TakeReaders(j, Kind.Move, Kind.Clear);
                break;
            case Kind.Clear:
                Clear(j);
                break;
            case Kind.Discard:
                Discard(j);
                break;
        }
    }

    private void With(Entry entry, int then)
    {
        for (var hand = 0; hand < day.Hands; hand++)
        {
            // Hands that have done nothing yet and are never away are all alike.
            if (day.HandsAreAlike && hand > 0 && entries.TrueForAll(e => e.Hand != hand)
                && entries.TrueForAll(e => e.Hand != hand - 1))
                break;
            if (hand > 0 && !TakesTime(entry) && day.HandsAreAlike)
                break;
            if (Swaps(entry with { Hand = hand }))
                continue;
            entries.Add(entry with { Hand = hand });
            var was = next[entry.Job];
            if (entry.Kind != Kind.Card)
                next[entry.Job] = then;
            Extend();
            next[entry.Job] = was;
            entries.RemoveAt(entries.Count - 1);
        }
    }

    /// <summary>Of two neighbouring steps that have nothing to do with each other only one order is followed.</summary>
    private bool Swaps(Entry entry)
    {
        if (entries.Count == 0)
            return false;
        var last = entries[^1];
        var sameHands = entry.Hand == last.Hand && TakesTime(entry) && TakesTime(last);
        var sameReader = entry.Reader == last.Reader && entry.Reader >= 0;
        var sameSlot = entry.Slot == last.Slot && entry.Slot >= 0;
        return entry.Job < last.Job && !sameHands && !sameReader && !sameSlot
            && !day.Jobs[entry.Job].After.Contains(last.Job);
    }

    private bool TakesTime(Entry entry) => day.Jobs[entry.Job].Length(entry.Kind, day.CardChange) > 0;

    private void LoadIntoSlots(int j)
    {
        if (day.Jobs[j].Assay.Place == IncubationPlace.Reader)
            return;
        for (var slot = 0; slot < inSlot.Length; slot++)
        {
            if (inSlot[slot] >= 0)
                continue;
            inSlot[slot] = j;
            With(new Entry(j, Kind.Load, 0, slot, -1), Kind.Move);
            inSlot[slot] = -1;
            // Slots that have been empty and are never closed are all alike.
            if (!day.SlotsDiffer && day.SlotFree[slot] == day.Now && entries.TrueForAll(e => e.Slot != slot))
                return;
        }
    }

    private void TakeReaders(int j, int kind, int then)
    {
        for (var r = 0; r < taking.Length; r++)
        {
            if (taking[r] is not null || (keptFor[r] >= 0 && keptFor[r] != j))
                continue;
            var (kept, held) = (keptFor[r], card[r]);
            if (card[r] != day.Jobs[j].Lot)
            {
                (keptFor[r], card[r]) = (j, day.Jobs[j].Lot);
                With(new Entry(j, Kind.Card, 0, -1, r), 0);
                (keptFor[r], card[r]) = (kept, held);
                continue;
            }

            var slot = Array.IndexOf(inSlot, j);
            if (slot >= 0)
                inSlot[slot] = -1;
            var entry = new Entry(j, kind, 0, kind == Kind.Move ? slot : -1, r);
            (keptFor[r], taking[r]) = (-1, entry);
            With(entry, then);
            (keptFor[r], taking[r]) = (kept, null);
            if (slot >= 0)
                inSlot[slot] = j;
        }
    }

    private void Clear(int j)
    {
        var reader = Array.FindIndex(taking, t => t?.Job == j);
        var stay = taking[reader];
        taking[reader] = null;
        With(new Entry(j, Kind.Clear, 0, -1, reader), Kind.Done);
        taking[reader] = stay;
    }

    private void Discard(int j)
    {
        var slot = Array.IndexOf(inSlot, j);
        var reader = Array.FindIndex(taking, t => t?.Job == j);
        var stay = reader >= 0 ? taking[reader] : null;
        if (slot >= 0)
            inSlot[slot] = -1;
        if (reader >= 0)
            taking[reader] = null;
        With(new Entry(j, Kind.Discard, 0, slot, reader), Kind.Done);
        if (slot >= 0)
            inSlot[slot] = j;
        if (reader >= 0)
            taking[reader] = stay;
    }
}

/// <summary>Kinds of step, in the order in which a cartridge meets them.</summary>
internal static class Kind
{
    public const int Mix = 0;
    public const int Load = 1;
    public const int Move = 2;
    public const int Clear = 3;
    public const int Card = 4;
    public const int Discard = 5;
    public const int Taken = 6;
    public const int Done = 9;
}

/// <summary>A step with what it uses; -1 where it uses none.</summary>
internal sealed record Entry(int Job, int Kind, int Hand, int Slot, int Reader);
