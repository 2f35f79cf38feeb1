namespace Incubation.Planning.Engine;

/// <summary>Slots, readers and their cards.</summary>
internal sealed partial class Decoder
{
    private bool LoadIntoSlot(Sequence s, int job, int op)
    {
        var earliest = LoadFrom(job, op);
        if (earliest == long.MaxValue)
            return false;
        if (!slotsNamed)
        {
            if (slotsFree == 0)
                return false;
            earliest = TakeHands(op, TakeAnySlot(HandsCould(op, earliest)));
            Done(op, earliest);
            return LoadIsInTime(job, earliest);
        }

        // Hands and slot must both allow the start; each may push it.
        int slot;
        while (true)
        {
            earliest = HandsCould(op, earliest);
            var asked = earliest;
            if ((slot = ChooseSlot(job, op, ref earliest)) < 0)
                return false;
            if (earliest == asked)
                break;
        }

        TakeHands(op, earliest);
        Done(op, earliest);
        SlotOf[job] = slot;
        slotHolder[slot] = job;
        return LoadIsInTime(job, earliest);
    }

    /// <summary>
    /// Takes the slot that was freed last of those free by then, or else the one freed first; returns when both are
    /// there.
    /// </summary>
    private long TakeAnySlot(long earliest)
    {
        var i = slotsFree - 1;
        while (i > 0 && slotFree[i] > earliest)
            i--;
        var start = Math.Max(earliest, slotFree[i]);
        slotsFree--;
        for (; i < slotsFree; i++)
            slotFree[i] = slotFree[i + 1];
        return start;
    }

    /// <summary>Keeps the free slots by when they were freed.</summary>
    private void AddFreeSlot(long at)
    {
        var i = slotsFree++;
        for (; i > 0 && slotFree[i - 1] > at; i--)
            slotFree[i] = slotFree[i - 1];
        slotFree[i] = at;
    }

    /// <summary>
    /// The slot in which the stay can begin first, of those the one that was free last; -1 when all are taken.
    /// </summary>
    private int ChooseSlot(int job, int op, ref long earliest)
    {
        var stay = p.LoadToReadLeast[job] - length[Op.Of(job, Op.Move)];
        var only = FixedSlots is { } slots ? slots[job] : -1;
        var best = -1;
        var bestStart = long.MaxValue;
        for (var slot = 0; slot < slotFree.Length; slot++)
        {
            if (slotHolder[slot] >= 0 || (only >= 0 && slot != only))
                continue;
            var start = Math.Max(earliest, slotFree[slot]);
            if (closedSlots[slot])
                start = p.SlotClosed[slot].FitStay(start, Math.Max(0, stay), stayUntil[op]);
            if (start < bestStart || (start == bestStart && slotFree[slot] > slotFree[best]))
                (best, bestStart) = (slot, start);
        }

        earliest = bestStart;
        return best;
    }

    private void FreeSlot(int job, long at)
    {
        for (var slot = 0; slot < slotHolder.Length; slot++)
        {
            if (slotHolder[slot] != job)
                continue;
            slotHolder[slot] = -1;
            slotFree[slot] = at;
            return;
        }
    }

    /// <summary>Makes the reader free and gives it the job's card; false when the order does not allow it.</summary>
    private bool TakeReader(Sequence s, int job, int reader)
    {
        var holder = readerHolder[reader];
        if (holder >= 0 && !Execute(s, Op.Of(holder, Op.Clear), true))
            return false;
        if (readerKeptFor[reader] >= 0 && readerKeptFor[reader] != job)
            return false;
        if (readerCard[reader] != p.Lot[job] && !Execute(s, Op.Of(job, Op.Card), true))
            return false;
        readerKeptFor[reader] = -1;
        return true;
    }

    /// <summary>
    /// Changes the card where it is needed; a change that comes too early in the order waits until it is demanded.
    /// </summary>
    private bool Card(Sequence s, int job, int op, bool onDemand)
    {
        var reader = s.Reader[job];
        if (!onDemand && (readerHolder[reader] >= 0 || readerKeptFor[reader] >= 0 || readerCard[reader] == p.Lot[job]))
            return true;
        var start = Math.Max(lowest[op], readerFree[reader]);
        while (true)
        {
            var fits = HandsCould(op, p.ReaderClosed[reader].Fit(start, p.CardLength));
            if (fits == start)
                break;
            start = fits;
        }

        TakeHands(op, start);
        Done(op, start);
        readerFree[reader] = start + p.CardLength;
        readerCard[reader] = p.Lot[job];
        readerKeptFor[reader] = job;
        cards++;
        return true;
    }

    private bool LoadIntoReader(Sequence s, int job, int op)
    {
        var earliest = LoadFrom(job, op);
        var reader = s.Reader[job];
        if (earliest == long.MaxValue || !TakeReader(s, job, reader))
            return false;
        var stay = p.LoadToReadLeast[job] + p.ReadLength[job] + length[Op.Of(job, Op.Clear)];
        var start = BeginStay(op, Math.Max(earliest, readerFree[reader]), stay, reader);
        Done(op, start);
        readerHolder[reader] = job;
        return LoadIsInTime(job, start);
    }

    /// <summary>The earliest start that hands and reader allow together; takes the hands.</summary>
    private long BeginStay(int op, long start, long stay, int reader)
    {
        while (p.AnyReaderClosed)
        {
            var fits = HandsCould(op, p.ReaderClosed[reader].FitStay(start, stay, stayUntil[op]));
            if (fits == start)
                break;
            start = fits;
        }

        return TakeHands(op, start);
    }

    private bool Move(Sequence s, int job, int op)
    {
        var reader = s.Reader[job];
        if (!TakeReader(s, job, reader))
            return false;
        var takes = length[op];
        var load = Op.Of(job, Op.Load);
        var earliest = Math.Max(lowest[op], readerFree[reader]);
        var reacting = stages[job] == Stage.Reacting;
        if (!reacting)
        {
            if (doneIn[load] != pass)
                return false;
            // A cartridge is not moved while it is being loaded, however short its reaction.
            earliest = Math.Max(earliest, Start[load] + Math.Max(length[load], p.LoadToReadLeast[job] - takes));
        }

        var start = BeginStay(op, earliest, takes + p.ReadLength[job] + length[Op.Of(job, Op.Clear)], reader);
        Done(op, start);
        readerHolder[reader] = job;
        LeaveSlot(job, start);
        return reacting ? ReadIsInTime(job, start + takes) : ReadFollowsLoad(job, start + takes);
    }

    private void LeaveSlot(int job, long at)
    {
        if (!slotsNamed)
        {
            AddFreeSlot(at);
            return;
        }

        if (p.AnySlotClosed && stages[job] != Stage.Reacting && closedSlots[SlotOf[job]])
            StayEnds(Op.Of(job, Op.Load), at, p.SlotClosed[SlotOf[job]]);
        FreeSlot(job, at);
    }

    /// <summary>Judges the read of a cartridge that reacts already; inside the guard it costs.</summary>
    private bool ReadIsInTime(int job, long read)
    {
        if (read > p.ReadClose[job] || (Reserve > 0 && read + Reserve > p.ReadTo[job]))
            return false;
        if (read > p.ReadTo[job])
        {
            guard += read - p.ReadTo[job];
            energy += (read - p.ReadTo[job]) * 1e6;
        }

        return energy <= limit;
    }

    /// <summary>
    /// Judges the read of a cartridge yet to be loaded: where it comes too late, the load must come later.
    /// </summary>
    private bool ReadFollowsLoad(int job, long read)
    {
        var load = read - p.LoadToReadMost[job] + Reserve;
        if (load + Reserve > p.LoadLatest[job])
            return false;
        Raise(Op.Of(job, Op.Load), load);
        return true;
    }
}
