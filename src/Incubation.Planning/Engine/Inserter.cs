namespace Incubation.Planning.Engine;

/// <summary>Puts a job's steps into a sequence where they cost least, at places that its times suggest.</summary>
internal sealed class Inserter(BenchProblem p, Decoder decoder)
{
    private readonly Sequence trial = new(p);
    private readonly Sequence best = new(p);
    private readonly long[] begins = new long[p.Jobs * 5];
    private readonly long[] ends = new long[p.Jobs * 5];
    private readonly bool narrow = p.Jobs > 32; // long days: fewer places for the later steps
    private double bestEnergy;
    private bool cardFirst;
    private Score left;

    /// <summary>
    /// Inserts a job that is absent from <paramref name="s"/>, trying about <paramref name="breadth"/> places for its
    /// first step; false, and the sequence unchanged, when the job fits nowhere.
    /// </summary>
    public bool Insert(Sequence s, int job, int breadth)
    {
        s.Mode[job] = Mode.Placed;
        left = Left.Of(p, s);
        if (!ReadTimes(s))
        {
            s.Mode[job] = Mode.Absent;
            return false;
        }

        bestEnergy = double.PositiveInfinity;
        for (var r = 0; r < p.Readers; r++)
        {
            if (p.Stage[job] == Stage.InReader)
            {
                if (p.ReaderHolder[r] == job)
                    TryPlaces(s, job, r, false, breadth);
                continue;
            }

            if (p.Stage[job] == Stage.Reacting || p.CanSlot[job])
                TryPlaces(s, job, r, false, breadth);
            if (p.Stage[job] != Stage.Reacting && p.CanReader[job])
                TryPlaces(s, job, r, true, breadth);
        }

        if (double.IsPositiveInfinity(bestEnergy))
        {
            s.Mode[job] = Mode.Absent;
            return false;
        }

        s.CopyFrom(best);
        return true;
    }

    /// <summary>Gives a job up: its discard goes where it costs least, one not yet begun just stays out.</summary>
    public void Leave(Sequence s, int job)
    {
        s.Mode[job] = Mode.Left;
        if (p.Stage[job] == Stage.Fresh || p.Stage[job] == Stage.Gone)
            return;
        left = Left.Of(p, s);
        bestEnergy = double.PositiveInfinity;
        if (ReadTimes(s))
        {
            for (var i = 0; i <= s.Count; i++)
                Try(s, job, i, i, i);
        }

        if (double.IsPositiveInfinity(bestEnergy))
            s.Insert(s.Count, Op.Of(job, Op.Clear));
        else
            s.CopyFrom(best);
    }

    /// <summary>What a sequence is worth; <see cref="Score.Worst"/> where its order cannot be kept.</summary>
    public Score ScoreOf(Sequence s) => decoder.Decode(s, Left.Of(p, s)) ? decoder.Score : Score.Worst;

    private bool ReadTimes(Sequence s)
    {
        if (!decoder.Decode(s, left))
            return false;
        for (var i = 0; i < s.Count; i++)
        {
            begins[i] = decoder.Start[s.Ops[i]];
            ends[i] = begins[i] + p.Length[s.Ops[i]];
        }

        return true;
    }

    private void TryPlaces(Sequence s, int job, int reader, bool inReader, int breadth)
    {
        s.Reader[job] = reader;
        s.InReader[job] = inReader;
        var first =
            Op.Of(job, p.Stage[job] switch
            {
                Stage.Fresh => Op.Mix,
                Stage.Mixed => Op.Load,
                Stage.Reacting => Op.Move,
                _ => Op.Clear
            });
        var low = FirstAfterOthers(s, job);
        while (low < s.Count && begins[low] < p.Earliest[first])
            low++;
        var before = bestEnergy;
        TryAt(s, job, s.Count);
        // Where a card change does not fit between the steps of the cartridge, it must come before them: in this
        // reader, whatever another has offered.
        if (bestEnergy >= before || (inReader && p.Stage[job] == Stage.Fresh
            && p.MixToLoadMost[job] < p.Length[Op.Of(job, Op.Mix)] + p.CardLength))
        {
            cardFirst = true;
            TryAt(s, job, s.Count);
            cardFirst = false;
        }

        var places = s.Count - low;
        if (places <= breadth)
        {
            for (var i = low; i < s.Count; i++)
                TryAt(s, job, i);
            return;
        }

        // Earliest gaps first, then places spread evenly.
        var tried = 0;
        for (var i = low; i < s.Count && tried < (breadth + 1) / 2; i++)
        {
            var gapFrom = Math.Max(i == 0 ? p.Now : ends[i - 1], p.Earliest[first]);
            if (begins[i] - gapFrom < p.Length[first])
                continue;
            TryAt(s, job, i);
            tried++;
        }

        for (var n = 0; n < breadth - tried; n++)
            TryAt(s, job, low + (int)((long)places * n / (breadth - tried)));
    }

    private int FirstAfterOthers(Sequence s, int job)
    {
        var low = 0;
        foreach (var before in p.After[job])
        {
            if (s.Mode[before] != Mode.Absent && p.Stage[before] != Stage.Gone)
                low = Math.Max(low, s.IndexOf(Op.Of(before, Op.Clear)) + 1);
        }

        return low;
    }

    private int FirstAt(int from, int count, long time)
    {
        while (from < count && begins[from] < time)
            from++;
        return from;
    }

    /// <summary>
    /// Tries the first step at one place and the later ones around the places where their times fall.
    /// </summary>
    private void TryAt(Sequence s, int job, int first)
    {
        var stage = p.Stage[job];
        var at = first == 0 ? p.Now : ends[first - 1];
        if (stage == Stage.InReader)
        {
            Try(s, job, first, first, first);
            return;
        }

        if (stage == Stage.Reacting)
        {
            at = Math.Max(at, p.Earliest[Op.Of(job, Op.Move)]) + p.Length[Op.Of(job, Op.Move)];
            TryClears(s, job, first, first, at + p.ReadLength[job]);
            return;
        }

        var pushed = p.Length[Op.Of(job, Op.Load)];
        if (stage == Stage.Fresh)
        {
            at = Math.Max(at, p.Earliest[Op.Of(job, Op.Mix)]) + p.Length[Op.Of(job, Op.Mix)];
            pushed += p.Length[Op.Of(job, Op.Mix)];
        }

        at = Math.Max(at, p.Earliest[Op.Of(job, Op.Load)]) + p.LoadToReadLeast[job];
        if (s.InReader[job])
        {
            TryClears(s, job, first, first, at + p.ReadLength[job]);
            return;
        }

        // The new steps push what follows by up to their length, so the move's place may be earlier than today's times
        // say.
        var move = at - p.Length[Op.Of(job, Op.Move)];
        var low = FirstAt(first, s.Count, move - pushed);
        var high = Math.Min(s.Count, FirstAt(low, s.Count, move) + 1);
        for (var i = Math.Max(low, high - (narrow ? 2 : 4)); i <= high; i++)
            TryClears(s, job, first, i, at + p.ReadLength[job]);
    }

    private void TryClears(Sequence s, int job, int first, int move, long readEnd)
    {
        var natural = FirstAt(move, s.Count, readEnd);
        Try(s, job, first, move, natural);
        if (narrow)
            return;
        if (natural > move)
            Try(s, job, first, move, natural - 1);
        if (natural > move + 1)
            Try(s, job, first, move, move);
    }

    private void Try(Sequence s, int job, int first, int move, int clear)
    {
        trial.CopyFrom(s);
        Spread(trial, job, first, move, clear);
        if (cardFirst)
            trial.Insert(first, Op.Of(job, Op.Card));
        if (!decoder.Decode(trial, left, bestEnergy))
            return;
        var energy = decoder.Score.Energy;
        if (energy >= bestEnergy)
            return;
        bestEnergy = energy;
        best.CopyFrom(trial);
        Array.Copy(decoder.Executed, best.Ops, decoder.ExecutedCount);
        best.Count = decoder.ExecutedCount;
    }

    /// <summary>
    /// Inserts the steps that a job still needs: up to the load at one place, the move and the clear at later ones.
    /// </summary>
    public void Spread(Sequence s, int job, int first, int move, int clear)
    {
        s.Insert(clear, Op.Of(job, Op.Clear));
        if (s.Mode[job] == Mode.Left || p.Stage[job] == Stage.InReader)
            return;
        if (!s.InReader[job])
            s.Insert(move, Op.Of(job, Op.Move));
        if (p.Stage[job] == Stage.Reacting)
            return;
        s.Insert(first, Op.Of(job, Op.Load));
        if (p.Stage[job] == Stage.Fresh)
            s.Insert(first, Op.Of(job, Op.Mix));
    }
}
