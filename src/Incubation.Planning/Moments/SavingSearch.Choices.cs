using Incubation.Planning.Engine;

namespace Incubation.Planning.Moments;

/// <summary>What can be done next.</summary>
internal sealed partial class SavingSearch
{
    private void ListChoices(SavingBench bench, List<(long Key, SavingStep Step)> into)
    {
        into.Clear();
        var (waitsForReader, waitsForSlot) = (BenchProblem.Never, BenchProblem.Never);
        for (var j = 0; j < p.Jobs; j++)
        {
            if (!save[j] || bench.IsDone[j])
                continue;
            waitsForReader = Math.Min(waitsForReader, DueOf(bench, j));
            if (!bench.IsInSlot(j) && p.CanSlot[j])
                waitsForSlot = Math.Min(waitsForSlot, DueOf(bench, j));
        }

        for (var r = 0; r < p.Readers; r++)
            ListReader(bench, r, waitsForReader, into);
        if (waitsForSlot < BenchProblem.Never)
            ListSlots(bench, waitsForSlot, into);
        into.Sort(static (one, other) => one.Key != other.Key ? one.Key.CompareTo(other.Key) : Compare(one.Step,
            other.Step));
    }

    private static int Compare(in SavingStep one, in SavingStep other) =>
        (one.Kind, one.Job, one.Lot, one.Place, one.Opening, one.Hands)
            .CompareTo((other.Kind, other.Job, other.Lot, other.Place, other.Opening, other.Hands));

    /// <summary>By when a job's next step must begin.</summary>
    private long DueOf(SavingBench bench, int j) => !bench.IsInSlot(j) ? p.LoadLatest[j]
        : (bench.IsLoaded[j] ? bench.LoadStart[j] + p.LoadToReadMost[j] : bench.ReadBy(j))
            - p.Length[Op.Of(j, Op.Move)];

    private void ListReader(SavingBench bench, int r, long waitsForReader, List<(long, SavingStep)> into)
    {
        var holder = bench.ReaderHolder[r];
        if (holder >= 0)
        {
            var given = p.Stage[holder] == Stage.Reacting && !bench.IsDone[holder];
            var due = Math.Min(waitsForReader, bench.ClearBy[r]);
            if (due < BenchProblem.Never)
                AddForHands(bench, due - p.Length[Op.Of(holder, Op.Clear)],
                    new SavingStep(given ? SavingKind.Discard : SavingKind.Clear, holder, 0, r), into);
            return;
        }

        for (var j = 0; j < p.Jobs; j++)
        {
            if (!save[j] || bench.IsDone[j] || !(bench.IsInSlot(j) || p.CanReader[j]))
                continue;
            var due = DueOf(bench, j);
            if (p.Lot[j] != bench.ReaderCard[r])
            {
                if (!bench.CardIsKept[r] && IsFirstOfLot(bench, j))
                    AddForHands(bench, FirstDueOfLot(bench, j) - p.CardLength,
                        new SavingStep(SavingKind.Card, -1, 0, r, p.Lot[j]), into);
                continue;
            }

            var kind = bench.IsInSlot(j) ? SavingKind.Move : SavingKind.LoadReader;
            for (var opening = 0; opening < p.ReaderClosed[r].Openings; opening++)
                if (IsOpenIn(p.ReaderClosed[r], opening, bench.ReadBy(j)))
                    AddForHands(bench, due, new SavingStep(kind, j, 0, r, Opening: opening), into);
        }
    }

    private bool NeedsCard(SavingBench bench, int j, int lot) =>
        save[j] && !bench.IsDone[j] && p.Lot[j] == lot && (bench.IsInSlot(j) || p.CanReader[j]);

    private bool IsFirstOfLot(SavingBench bench, int job)
    {
        for (var j = 0; j < job; j++)
            if (NeedsCard(bench, j, p.Lot[job]))
                return false;
        return true;
    }

    private long FirstDueOfLot(SavingBench bench, int job)
    {
        var due = BenchProblem.Never;
        for (var j = job; j < p.Jobs; j++)
            if (NeedsCard(bench, j, p.Lot[job]))
                due = Math.Min(due, DueOf(bench, j));
        return due;
    }

    private void ListSlots(SavingBench bench, long waitsForSlot, List<(long, SavingStep)> into)
    {
        for (var s = 0; s < p.Slots; s++)
        {
            var holder = bench.SlotHolder[s];
            if (holder >= 0 && !save[holder])
                AddForHands(bench, waitsForSlot - p.Length[Op.Of(holder, Op.Clear)],
                    new SavingStep(SavingKind.Discard, holder, 0, -1), into);
        }

        for (var j = 0; j < p.Jobs; j++)
        {
            if (!save[j] || bench.IsDone[j] || bench.IsInSlot(j) || !p.CanSlot[j])
                continue;
            for (var h = 0; h < p.Hands; h++)
            {
                if (!IsLikeEarlier(bench, h) && OpenSlot(bench, bench.HandFree[h]) is >= 0 and var slot)
                    into.Add((DueOf(bench, j), new SavingStep(SavingKind.LoadSlot, j, h, slot)));
            }

            for (var s = 0; s < p.Slots; s++)
            {
                for (var opening = 0; opening < p.SlotClosed[s].Openings; opening++)
                    if (bench.SlotHolder[s] < 0 && !p.SlotClosed[s].IsEmpty
                        && IsOpenIn(p.SlotClosed[s], opening, p.LoadLatest[j]))
                        AddForHands(bench, DueOf(bench, j),
                            new SavingStep(SavingKind.LoadSlot, j, 0, s, Opening: opening), into);
            }
        }
    }

    /// <summary>
    /// Of the slots that are never closed and are free: the last to become so before the hands are, else the first;
    /// or -1.
    /// </summary>
    private int OpenSlot(SavingBench bench, long hands)
    {
        var best = -1;
        for (var s = 0; s < p.Slots; s++)
        {
            if (bench.SlotHolder[s] >= 0 || !p.SlotClosed[s].IsEmpty)
                continue;
            var (free, known) = (bench.SlotFree[s], best < 0 ? 0 : bench.SlotFree[best]);
            if (best < 0 || (free <= hands ? known > hands || free > known : free < known))
                best = s;
        }

        return best;
    }

    private bool IsOpenIn(ClosedTimes closed, int opening, long latest) =>
        closed.Opening(opening) is var open && open.From <= latest && open.To > idleUntil;

    private void AddForHands(SavingBench bench, long key, in SavingStep step, List<(long, SavingStep)> into)
    {
        for (var h = 0; h < p.Hands; h++)
            if (!IsLikeEarlier(bench, h))
                into.Add((key, step with { Hands = h }));
    }

    /// <summary>Whether a pair of hands cannot be told from one with a lower number.</summary>
    private bool IsLikeEarlier(SavingBench bench, int hands)
    {
        for (var h = 0; h < hands; h++)
            if (bench.HandFree[h] == bench.HandFree[hands] && p.HandClosed[h].IsEmpty && p.HandClosed[hands].IsEmpty)
                return true;
        return false;
    }
}
