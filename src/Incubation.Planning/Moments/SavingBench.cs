using Incubation.Planning.Engine;

namespace Incubation.Planning.Moments;

/// <summary>
/// Where a bench stands after the first steps of an order, each begun as early as it can be: when hands, slots and
/// readers are free, and what is in them.
/// </summary>
internal sealed class SavingBench
{
    private readonly BenchProblem p;
    private readonly bool guardIsUsed;

    /// <param name="problem">The day.</param>
    /// <param name="guardIsUsed">Whether what is in work may be read inside the guard.</param>
    public SavingBench(BenchProblem problem, bool guardIsUsed)
    {
        p = problem;
        this.guardIsUsed = guardIsUsed;
        HandFree = new long[p.Hands];
        ReaderFree = new long[p.Readers];
        ReaderHolder = new int[p.Readers];
        ReaderCard = new int[p.Readers];
        CardIsKept = new bool[p.Readers];
        ClearBy = new long[p.Readers];
        SlotFree = new long[p.Slots];
        SlotHolder = new int[p.Slots];
        IsDone = new bool[p.Jobs];
        IsLoaded = new bool[p.Jobs];
        LoadStart = new long[p.Jobs];
        LoadNotBefore = new long[p.Jobs];
        MoveBy = new long[p.Jobs];
    }

    public long[] HandFree { get; }

    /// <summary>When a reader is free, or, while it holds a cartridge, when that can be cleared.</summary>
    public long[] ReaderFree { get; }

    public int[] ReaderHolder { get; }
    public int[] ReaderCard { get; }

    /// <summary>Whether a reader's card was changed and nothing has been put into it since.</summary>
    public bool[] CardIsKept { get; }

    /// <summary>By when the cartridge in a reader must have been cleared, before the reader is closed.</summary>
    public long[] ClearBy { get; }

    public long[] SlotFree { get; }
    public int[] SlotHolder { get; }

    /// <summary>Whether a job's read is certain, or it has been discarded.</summary>
    public bool[] IsDone { get; }

    /// <summary>Whether a job was loaded into a slot by a step of the order.</summary>
    public bool[] IsLoaded { get; }

    public long[] LoadStart { get; }

    /// <summary>Loads that wait on purpose, so that the read is not too late after them.</summary>
    public long[] LoadNotBefore { get; }

    /// <summary>By when a job's move must begin, before its slot is closed.</summary>
    public long[] MoveBy { get; }

    /// <summary>The start of the last step taken.</summary>
    public long LastStart { get; private set; }

    /// <summary>
    /// The job whose load must begin no earlier than <see cref="RaiseTo"/> for the last step, which failed, to hold;
    /// or -1.
    /// </summary>
    public int RaiseJob { get; private set; } = -1;

    public long RaiseTo { get; private set; }

    /// <summary>The bench as the day finds it, its hands idle until an instant; loads that wait go on so.</summary>
    public void Begin(long idleUntil)
    {
        for (var h = 0; h < HandFree.Length; h++)
            HandFree[h] = Math.Max(p.HandFree[h], idleUntil);
        for (var r = 0; r < ReaderFree.Length; r++)
        {
            var holder = p.ReaderHolder[r];
            ReaderHolder[r] = holder;
            ReaderCard[r] = p.ReaderCard[r];
            ReaderFree[r] = holder < 0 ? p.ReaderFree[r] : p.Earliest[Op.Of(holder, Op.Clear)];
            CardIsKept[r] = false;
            ClearBy[r] = BenchProblem.Never;
        }

        Array.Copy(p.SlotFree, SlotFree, SlotFree.Length);
        Array.Copy(p.SlotHolder, SlotHolder, SlotHolder.Length);
        Array.Clear(IsDone);
        Array.Clear(IsLoaded);
        Array.Fill(MoveBy, BenchProblem.Never);
    }

    public void CopyFrom(SavingBench other)
    {
        Array.Copy(other.HandFree, HandFree, HandFree.Length);
        Array.Copy(other.ReaderFree, ReaderFree, ReaderFree.Length);
        Array.Copy(other.ReaderHolder, ReaderHolder, ReaderHolder.Length);
        Array.Copy(other.ReaderCard, ReaderCard, ReaderCard.Length);
        Array.Copy(other.CardIsKept, CardIsKept, CardIsKept.Length);
        Array.Copy(other.ClearBy, ClearBy, ClearBy.Length);
        Array.Copy(other.SlotFree, SlotFree, SlotFree.Length);
        Array.Copy(other.SlotHolder, SlotHolder, SlotHolder.Length);
        Array.Copy(other.IsDone, IsDone, IsDone.Length);
        Array.Copy(other.IsLoaded, IsLoaded, IsLoaded.Length);
        Array.Copy(other.LoadStart, LoadStart, LoadStart.Length);
        Array.Copy(other.LoadNotBefore, LoadNotBefore, LoadNotBefore.Length);
        Array.Copy(other.MoveBy, MoveBy, MoveBy.Length);
    }

    /// <summary>Whether a job waits in a slot, so that its move is its next step.</summary>
    public bool IsInSlot(int job) => IsLoaded[job] || p.Stage[job] == Stage.Reacting;

    /// <summary>The earliest start of a job's move by its own times.</summary>
    public long MoveFrom(int job)
    {
        var move = p.Length[Op.Of(job, Op.Move)];
        return IsLoaded[job]
            ? LoadStart[job] + Math.Max(p.Length[Op.Of(job, Op.Load)], p.LoadToReadLeast[job] - move)
            : p.Earliest[Op.Of(job, Op.Move)];
    }

    /// <summary>The latest start of a job's read that any time of its load allows.</summary>
    public long ReadBy(int job) => p.Stage[job] == Stage.Reacting
        ? guardIsUsed ? p.ReadClose[job] : p.ReadTo[job]
        : p.LoadLatest[job] + p.LoadToReadMost[job];

    /// <summary>
    /// Takes a step, begun as early as what it needs and <paramref name="notBefore"/> allow; false where a time is
    /// missed.
    /// </summary>
    public bool Take(in SavingStep step, long notBefore)
    {
        RaiseJob = -1;
        return step.Kind switch
        {
            SavingKind.Clear => Clear(step, notBefore),
            SavingKind.Discard => Discard(step, notBefore),
            SavingKind.Card => ChangeCard(step, notBefore),
            SavingKind.Move => Move(step, notBefore),
            SavingKind.LoadSlot => LoadIntoSlot(step, notBefore),
            _ => LoadIntoReader(step, notBefore),
        };
    }

    private bool Clear(in SavingStep step, long notBefore)
    {
        var end = Hands(step, Math.Max(notBefore, ReaderFree[step.Place]), p.Length[Op.Of(step.Job, Op.Clear)]);
        if (end > ClearBy[step.Place])
            return false;
        (ReaderHolder[step.Place], ReaderFree[step.Place]) = (-1, end);
        ClearBy[step.Place] = BenchProblem.Never;
        return true;
    }

    private bool Discard(in SavingStep step, long notBefore)
    {
        var job = step.Job;
        var end = Hands(step, Math.Max(notBefore, p.DiscardFrom[job]), p.Length[Op.Of(job, Op.Clear)]);
        IsDone[job] = true;
        if (Array.IndexOf(SlotHolder, job) is >= 0 and var slot)
            (SlotHolder[slot], SlotFree[slot]) = (-1, end);
        if (Array.IndexOf(ReaderHolder, job) is >= 0 and var reader)
            (ReaderHolder[reader], ReaderFree[reader]) = (-1, end);
        return true;
    }

    private bool ChangeCard(in SavingStep step, long notBefore)
    {
        var reader = step.Place;
        var start = Math.Max(notBefore, ReaderFree[reader]);
        while (true)
        {
            var fits = p.HandClosed[step.Hands].Fit(
                Math.Max(HandFree[step.Hands], p.ReaderClosed[reader].Fit(start, p.CardLength)), p.CardLength);
            if (fits == start)
                break;
            start = fits;
        }

        ReaderFree[reader] = Hands(step, start, p.CardLength);
        (ReaderCard[reader], CardIsKept[reader]) = (step.Lot, true);
        return true;
    }

    private bool Move(in SavingStep step, long notBefore)
    {
        var (job, reader) = (step.Job, step.Place);
        var (opens, closes) = p.ReaderClosed[reader].Opening(step.Opening);
        var earliest = Math.Max(Math.Max(notBefore, MoveFrom(job)), Math.Max(ReaderFree[reader], opens));
        var read = Hands(step, earliest, p.Length[Op.Of(job, Op.Move)]);
        if (LastStart > MoveBy[job] || LastStart >= closes || read > ReadBy(job))
            return false;
        if (IsLoaded[job] && read > LoadStart[job] + p.LoadToReadMost[job])
        {
            (RaiseJob, RaiseTo) = (job, read - p.LoadToReadMost[job]);
            return false;
        }

        if (Array.IndexOf(SlotHolder, job) is >= 0 and var slot)
            (SlotHolder[slot], SlotFree[slot]) = (-1, LastStart);
        Fills(job, reader, read + p.ReadLength[job], closes);
        return true;
    }

    private bool LoadIntoSlot(in SavingStep step, long notBefore)
    {
        var (job, slot) = (step.Job, step.Place);
        var (opens, closes) = p.SlotClosed[slot].Opening(step.Opening);
        Hands(step, Math.Max(Math.Max(notBefore, LoadFrom(job)), Math.Max(SlotFree[slot], opens)),
            p.Length[Op.Of(job, Op.Load)]);
        if (LastStart > p.LoadLatest[job] || LastStart >= closes)
            return false;
        (IsLoaded[job], LoadStart[job], MoveBy[job]) = (true, LastStart, closes);
        SlotHolder[slot] = job;
        return true;
    }

    private bool LoadIntoReader(in SavingStep step, long notBefore)
    {
        var (job, reader) = (step.Job, step.Place);
        var (opens, closes) = p.ReaderClosed[reader].Opening(step.Opening);
        Hands(step, Math.Max(Math.Max(notBefore, LoadFrom(job)), Math.Max(ReaderFree[reader], opens)),
            p.Length[Op.Of(job, Op.Load)]);
        if (LastStart > p.LoadLatest[job] || LastStart >= closes)
            return false;
        Fills(job, reader, LastStart + p.LoadToReadLeast[job] + p.ReadLength[job], closes);
        return true;
    }

    private long LoadFrom(int job) => Math.Max(LoadNotBefore[job], p.Earliest[Op.Of(job, Op.Load)]);

    private void Fills(int job, int reader, long readEnd, long closes)
    {
        IsDone[job] = true;
        (ReaderHolder[reader], ReaderFree[reader], ClearBy[reader]) = (job, readEnd, closes);
        CardIsKept[reader] = false;
    }

    /// <summary>The hands are at a step from the first instant that they can be; when it ends.</summary>
    private long Hands(in SavingStep step, long earliest, long length)
    {
        LastStart = p.HandClosed[step.Hands].Fit(Math.Max(earliest, HandFree[step.Hands]), length);
        return HandFree[step.Hands] = LastStart + length;
    }
}
