namespace Incubation.Planning.Engine;

/// <summary>
/// The commonest bench in a tight loop: one pair of hands without closings, and no step without a length. Every step
/// then begins after the one before it in the order, so that slots and readers are free when the order says so and only
/// their number, holders and cards must be kept. Decides and times exactly what the general steps would.
/// </summary>
internal sealed partial class Decoder
{
    private bool RunOneHand(Sequence s)
    {
        var ops = s.Ops;
        var count = s.Count;
        for (var i = 0; i < count; i++)
        {
            var op = ops[i];
            if (doneIn[op] != pass && !ExecuteOneHand(s, op))
                return false;
        }

        return true;
    }

    private bool ExecuteOneHand(Sequence s, int op)
    {
        var job = op >> 3;
        switch (op & 7)
        {
            case Op.Mix:
                return FollowsAll(s, job) && Begin(op, lowest[op]);
            case Op.Load:
                return LoadOneHand(s, job, op);
            case Op.Move:
                return MoveOneHand(s, job, op);
            case Op.Clear:
                return s.Mode[job] == Mode.Left ? DiscardOneHand(job, op) : ClearOneHand(s, job, op);
            default:
                var reader = s.Reader[job];
                return readerHolder[reader] >= 0 || readerKeptFor[reader] >= 0 || readerCard[reader] == lots[job]
                    || CardOneHand(job, op, reader);
        }
    }

    /// <summary>Begins a step as soon as the hands are free and it may; true, so that it can end a condition.</summary>
    private bool Begin(int op, long earliest)
    {
        if (hand > earliest)
            earliest = hand;
        hand = earliest + length[op];
        Done(op, earliest);
        return true;
    }

    private bool FollowsAll(Sequence s, int job)
    {
        foreach (var before in after[job])
        {
            if (s.Mode[before] != Mode.Absent && stages[before] != Stage.Gone
                && doneIn[Op.Of(before, Op.Clear)] != pass)
                return false;
        }

        return true;
    }

    private bool LoadOneHand(Sequence s, int job, int op)
    {
        if (stages[job] == Stage.Fresh && doneIn[op - Op.Load + Op.Mix] != pass)
            return false;
        if (s.InReader[job])
        {
            if (!TakeReaderOneHand(s, job, s.Reader[job]))
                return false;
            readerHolder[s.Reader[job]] = job;
        }
        else if (--slotsFree < 0)
        {
            return false;
        }

        Begin(op, lowest[op]);
        return LoadIsInTime(job, Start[op]);
    }

    private bool TakeReaderOneHand(Sequence s, int job, int reader)
    {
        var holder = readerHolder[reader];
        if (holder >= 0 && !ClearOneHand(s, holder, Op.Of(holder, Op.Clear)))
            return false;
        if (readerKeptFor[reader] >= 0 && readerKeptFor[reader] != job)
            return false;
        if (readerCard[reader] != lots[job])
            CardOneHand(job, Op.Of(job, Op.Card), reader);
        readerKeptFor[reader] = -1;
        return true;
    }

    private bool CardOneHand(int job, int op, int reader)
    {
        var start = Math.Max(lowest[op], hand);
        hand = start + p.CardLength;
        Done(op, start);
        readerCard[reader] = lots[job];
        readerKeptFor[reader] = job;
        cards++;
        return true;
    }

    private bool MoveOneHand(Sequence s, int job, int op)
    {
        var reader = s.Reader[job];
        if (!TakeReaderOneHand(s, job, reader))
            return false;
        var load = op - Op.Move + Op.Load;
        var reacting = stages[job] == Stage.Reacting;
        var earliest = lowest[op];
        if (!reacting)
        {
            if (doneIn[load] != pass)
                return false;
            earliest = Math.Max(earliest, Start[load] + loadToMove[job]);
        }

        Begin(op, earliest);
        readerHolder[reader] = job;
        slotsFree++;
        return reacting ? ReadIsInTime(job, hand) : ReadFollowsLoad(job, hand);
    }

    private bool ClearOneHand(Sequence s, int job, int op)
    {
        var earliest = lowest[op];
        if (stages[job] != Stage.InReader)
        {
            var taking = op - Op.Clear + (s.InReader[job] ? Op.Load : Op.Move);
            if (doneIn[taking] != pass)
                return false;
            earliest = Math.Max(earliest, Start[taking] + (s.InReader[job] ? loadToClear[job] : moveToClear[job]));
        }

        Begin(op, earliest);
        readerHolder[s.Reader[job]] = -1;
        return Cost(job, hand);
    }

    private bool DiscardOneHand(int job, int op)
    {
        Begin(op, Math.Max(lowest[op], p.DiscardFrom[job]));
        for (var r = 0; r < readerHolder.Length; r++)
        {
            if (readerHolder[r] == job)
                readerHolder[r] = -1;
        }

        if (Array.IndexOf(p.SlotHolder, job) >= 0)
            slotsFree++;
        return true;
    }
}
