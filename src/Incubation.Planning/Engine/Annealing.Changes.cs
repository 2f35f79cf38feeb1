namespace Incubation.Planning.Engine;

/// <summary>The changes that the search tries on an order.</summary>
internal sealed partial class Annealing
{
    /// <summary>Changes the trial; false when the change drawn does not apply.</summary>
    private bool Change()
    {
        if (leavable.Length > 0 && random.Below(100) < 5)
            return Exchange();
        if (p.Hands == 1 && random.Below(100) < 30)
            return Refit();
        return random.Below(100) switch
        {
            < 42 => ShiftOne(),
            < 56 => ShiftPair(),
            < 66 => SwapJobs(),
            < 69 => p.Readers > 1 ? SwapReaders() : Reinsert(AnyMovable()),
            < 76 => Reinsert(AnyMovable()) && Reinsert(AnyMovable()),
            _ => Reinsert(AnyMovable()),
        };
    }

    /// <summary>Takes one to three jobs out and fits them into the gaps that are then left.</summary>
    private bool Refit()
    {
        var count = 1 + random.Below(Math.Min(3, movable.Length));
        Span<int> jobs = stackalloc int[3];
        var from = random.Below(3) == 0 || trial.Count == 0 ? 0 : startNow[trial.Ops[random.Below(trial.Count)]];
        for (var n = 0; n < count; n++)
        {
            var job = AnyMovable();
            if (!fitter.CanFit(job) || trial.InReader[job] || trial.Mode[job] != Mode.Placed || jobs[..n].Contains(job))
                return false;
            jobs[n] = job;
            trial.Remove(job);
        }

        Array.Copy(startNow, startTrial, startNow.Length);
        for (var n = 0; n < count; n++)
        {
            if (!fitter.Fit(trial, startTrial, jobs[n], from))
                return false;
        }

        return true;
    }

    private int AnyMovable() => movable[random.Below(movable.Length)];

    /// <summary>How far a step is shifted: mostly a little.</summary>
    private int Distance()
    {
        var distance = 1;
        while (distance < trial.Count && random.Below(100) < 55)
            distance++;
        return distance;
    }

    private bool Blocks(int op, int other)
    {
        if (Op.Job(op) != Op.Job(other))
            return false;
        var taking = trial.InReader[Op.Job(op)] ? Op.Load : Op.Move;
        return (Op.Kind(op) != Op.Card || Op.Kind(other) == taking)
            && (Op.Kind(other) != Op.Card || Op.Kind(op) == taking);
    }

    private bool ShiftOne()
    {
        if (trial.Count < 2)
            return false;
        var from = random.Below(trial.Count);
        var step = random.Below(2) == 0 ? -1 : 1;
        var to = from;
        for (var left = Distance(); left > 0; left--)
        {
            var next = to + step;
            if (next < 0 || next >= trial.Count || Blocks(trial.Ops[from], trial.Ops[next]))
                break;
            to = next;
        }

        if (to == from)
            return false;
        trial.Shift(from, to);
        return true;
    }

    /// <summary>Shifts two neighbours together, such as a mix and its load.</summary>
    private bool ShiftPair()
    {
        if (trial.Count < 3)
            return false;
        var from = random.Below(trial.Count - 1);
        var (first, second) = (trial.Ops[from], trial.Ops[from + 1]);
        var later = random.Below(2) == 0;
        for (var left = Distance(); left > 0; left--)
        {
            var next = later ? from + 2 : from - 1;
            if (next < 0 || next >= trial.Count || Blocks(first, trial.Ops[next]) || Blocks(second, trial.Ops[next]))
                break;
            trial.Shift(next, later ? from : from + 1);
            from += later ? 1 : -1;
        }

        return true;
    }

    /// <summary>Two jobs change places.</summary>
    private bool SwapJobs()
    {
        var a = AnyMovable();
        var b = AnyMovable();
        if (p.Class[a] == p.Class[b] || p.Stage[a] != p.Stage[b] || p.Stage[a] == Stage.InReader
            || trial.Mode[a] != Mode.Placed || trial.Mode[b] != Mode.Placed || !SuitsPlaceOf(a, b)
            || !SuitsPlaceOf(b, a))
            return false;
        for (var i = 0; i < trial.Count; i++)
        {
            var job = Op.Job(trial.Ops[i]);
            if (job == a)
                trial.Ops[i] = Op.Of(b, Op.Kind(trial.Ops[i]));
            else if (job == b)
                trial.Ops[i] = Op.Of(a, Op.Kind(trial.Ops[i]));
        }

        (trial.Reader[a], trial.Reader[b]) = (trial.Reader[b], trial.Reader[a]);
        (trial.InReader[a], trial.InReader[b]) = (trial.InReader[b], trial.InReader[a]);
        return true;
    }

    private bool SuitsPlaceOf(int job, int other) =>
        trial.InReader[job] == trial.InReader[other] || (trial.InReader[other] ? p.CanReader[job] : p.CanSlot[job]);

    /// <summary>From some step on, two readers change what they are used for.</summary>
    private bool SwapReaders()
    {
        var a = random.Below(p.Readers);
        var b = random.Below(p.Readers);
        if (a == b || trial.Count == 0)
            return false;
        for (var i = random.Below(3) == 0 ? 0 : random.Below(trial.Count); i < trial.Count; i++)
        {
            var job = Op.Job(trial.Ops[i]);
            if (p.Stage[job] == Stage.InReader || Op.Kind(trial.Ops[i]) != (trial.InReader[job] ? Op.Load : Op.Move))
                continue;
            if (trial.Reader[job] == a)
                trial.Reader[job] = b;
            else if (trial.Reader[job] == b)
                trial.Reader[job] = a;
        }

        return true;
    }

    /// <summary>Takes a job out and puts it back elsewhere, its later steps near where their times fall.</summary>
    private bool Reinsert(int job)
    {
        if (trial.Mode[job] == Mode.Left)
            return false;
        var old = 0;
        while (old < trial.Count && Op.Job(trial.Ops[old]) != job)
            old++;
        trial.Remove(job);
        ChoosePlace(job);
        var first = random.Below(3) == 0
            ? random.Below(trial.Count + 1)
            : Math.Clamp(old + (random.Below(2) == 0 ? -Distance() : Distance() - 1), 0, trial.Count);
        PutBack(job, first);
        return true;
    }

    private void ChoosePlace(int job)
    {
        if (p.Stage[job] is Stage.InReader)
            return;
        if (p.Readers > 1 && random.Below(3) == 0)
            trial.Reader[job] = random.Below(p.Readers);
        if (p.Stage[job] != Stage.Reacting)
            trial.InReader[job] = p.CanReader[job]
                && (!p.CanSlot[job] || (random.Below(3) == 0 ? random.Below(2) == 0 : trial.InReader[job]));
    }

    private void PutBack(int job, int first)
    {
        var time = first == 0 ? p.Now : TimeAt(first - 1) + p.Length[trial.Ops[first - 1]];
        var move = first;
        var readEnd = time;
        if (p.Stage[job] != Stage.InReader)
        {
            var read = p.Stage[job] == Stage.Reacting
                ? Math.Max(time, p.Earliest[Op.Of(job, Op.Move)]) + p.Length[Op.Of(job, Op.Move)]
                : ReadAfterLoadAt(job, time);
            readEnd = read + p.ReadLength[job];
            if (p.Stage[job] != Stage.Reacting && !trial.InReader[job])
                move = Math.Max(first, Natural(first, read - p.Length[Op.Of(job, Op.Move)]) + 1 - random.Below(4));
            move = Math.Min(move, trial.Count);
        }

        var clear = Math.Clamp(Natural(move, readEnd) + 1 - random.Below(3), move, trial.Count);
        inserter.Spread(trial, job, first, move, clear);
        if (p.Stage[job] != Stage.InReader && random.Below(8) == 0)
        {
            // A card change ahead of all its steps; the decoder leaves it out where it is not needed.
            trial.Insert(first, Op.Of(job, Op.Card));
            return;
        }

        if (p.Stage[job] == Stage.Fresh && random.Below(4) == 0)
        {
            // The mix may stand some steps ahead of its load.
            var mix = Math.Max(0, first - Distance());
            trial.Shift(first, mix);
        }
    }

    private long ReadAfterLoadAt(int job, long time)
    {
        if (p.Stage[job] == Stage.Fresh)
            time = Math.Max(time, p.Earliest[Op.Of(job, Op.Mix)]) + p.Length[Op.Of(job, Op.Mix)];
        return Math.Max(time, p.Earliest[Op.Of(job, Op.Load)]) + p.LoadToReadLeast[job];
    }

    /// <summary>The present start of the step now at a place of the trial.</summary>
    private long TimeAt(int index) => startNow[trial.Ops[index]];

    private int Natural(int from, long time)
    {
        while (from < trial.Count && TimeAt(from) < time)
            from++;
        return from;
    }

    /// <summary>Places a job that is left out, or one in exchange for another.</summary>
    private bool Exchange()
    {
        var enter = leavable[random.Below(leavable.Length)];
        if (trial.Mode[enter] != Mode.Left || FollowsUnplaced(enter))
            return false;
        if (random.Below(2) == 0)
        {
            var leave = leavable[random.Below(leavable.Length)];
            if (leave == enter || trial.Mode[leave] != Mode.Placed || HasPlacedFollower(leave))
                return false;
            trial.Remove(leave);
            trial.Mode[leave] = Mode.Left;
            if (p.Stage[leave] != Stage.Fresh)
                trial.Insert(random.Below(trial.Count + 1), Op.Of(leave, Op.Clear));
        }

        trial.Remove(enter);
        trial.Mode[enter] = Mode.Placed;
        ChoosePlace(enter);
        PutBack(enter, random.Below(trial.Count + 1));
        trialLeft = Left.Of(p, trial);
        return true;
    }

    private bool FollowsUnplaced(int job)
    {
        foreach (var before in p.After[job])
        {
            if (p.Stage[job] == Stage.Fresh && p.Stage[before] == Stage.Fresh && trial.Mode[before] == Mode.Left)
                return true;
        }

        return false;
    }

    private bool HasPlacedFollower(int job)
    {
        foreach (var after in p.Before[job])
        {
            if (p.Stage[job] == Stage.Fresh && p.Stage[after] == Stage.Fresh && trial.Mode[after] == Mode.Placed)
                return true;
        }

        return false;
    }
}
