using System.Runtime.CompilerServices;

namespace Incubation.Planning.Engine;

/// <summary>
/// Gives a <see cref="Sequence"/> its earliest times. One pass hands out hands, slots and readers in the sequence's
/// order, each step as early as what it waits for allows. Where a step then comes too late after an earlier one of its
/// cartridge (mix to load, load to read, a stay that runs into the calendar), the earlier one's earliest start is
/// raised by what is missing and the pass is made again. Starts only ever rise, so what results is the earliest that
/// the order allows. Allocates nothing after construction.
/// </summary>
internal sealed partial class Decoder
{
    private readonly BenchProblem p;
    private readonly long[] length;
    private readonly Stage[] stages;
    private readonly int[] lots;
    private readonly int[][] after;
    private readonly bool[] hasCost;
    private readonly long[] loadToMove;
    private readonly long[] moveToClear;
    private readonly long[] loadToClear;
    private readonly bool oneHand;
    private readonly long[] lowest;
    private readonly long[] stayUntil;
    private readonly long[] handFree;
    private readonly long[] slotFree;
    private readonly int[] slotHolder;
    private readonly long[] readerFree;
    private readonly int[] readerHolder;
    private readonly int[] readerCard;
    private readonly int[] readerKeptFor;
    private readonly int[] doneIn;
    private readonly bool[] closedSlots;
    private readonly int passesMost;
    private readonly int passesPatient;
    private int pass;
    private long hand;
    private int slotsFree;
    private bool slotsNamed;
    private bool raised;
    private double limit;
    private double energy;
    private double clearCosts;
    private long finish;
    private long guard;
    private int cards;

    public Decoder(BenchProblem problem)
    {
        p = problem;
        length = problem.Length;
        stages = problem.Stage;
        lots = problem.Lot;
        after = problem.After;
        var jobs = Enumerable.Range(0, problem.Jobs);
        hasCost = problem.HasCost;
        // A cartridge is not moved while it is being loaded, however short its reaction.
        loadToMove =
            [.. jobs.Select(j =>
                Math.Max(length[Op.Of(j, Op.Load)], problem.LoadToReadLeast[j] - length[Op.Of(j, Op.Move)]))];
        moveToClear = [.. jobs.Select(j => length[Op.Of(j, Op.Move)] + problem.ReadLength[j])];
        loadToClear = [.. jobs.Select(j => problem.LoadToReadLeast[j] + problem.ReadLength[j])];
        oneHand = problem.Hands == 1 && !problem.AnyHandClosed;
        lowest = new long[problem.Earliest.Length];
        stayUntil = new long[problem.Earliest.Length];
        Start = new long[problem.Earliest.Length];
        HandOf = new int[problem.Earliest.Length];
        doneIn = new int[problem.Earliest.Length];
        SlotOf = new int[problem.Jobs];
        Executed = new int[problem.Jobs * 5];
        handFree = new long[problem.Hands];
        slotFree = new long[problem.Slots];
        slotHolder = new int[problem.Slots];
        readerFree = new long[problem.Readers];
        readerHolder = new int[problem.Readers];
        readerCard = new int[problem.Readers];
        readerKeptFor = new int[problem.Readers];
        closedSlots = [.. problem.SlotClosed.Select(closed => !closed.IsEmpty)];
        var entries = problem.Day.Calendar.Count;
        passesMost = 24 + (entries * 12);
        passesPatient = passesMost + (problem.Jobs * 4);
    }

    /// <summary>Start of each operation in the last sequence decoded, by operation.</summary>
    public long[] Start { get; }

    /// <summary>Hands of each operation.</summary>
    public int[] HandOf { get; }

    /// <summary>
    /// Slot of each job that is loaded into one; only where slots have names: the calendar closes one, or they are
    /// fixed.
    /// </summary>
    public int[] SlotOf { get; }

    /// <summary>
    /// The operations in the order in which they took their hands, card changes and early clears included.
    /// </summary>
    public int[] Executed { get; }

    public int ExecutedCount { get; private set; }

    /// <summary>Hands by operation that must be kept, -1 for any; null to choose freely.</summary>
    public int[]? FixedHands { get; set; }

    /// <summary>Slots by job that must be kept, -1 for any; null to choose freely.</summary>
    public int[]? FixedSlots { get; set; }

    /// <summary>
    /// So many milliseconds of every most time are left unused: of mix to load, load to read, and the instants that a
    /// load or a read must keep. An order that can keep it has that much spare time at every step.
    /// </summary>
    public long Reserve { get; set; }

    /// <summary>
    /// Whether every day is decoded by the steps that serve any bench: for the test that holds the one-hand loop
    /// against them.
    /// </summary>
    public bool Plain { get; init; }

    /// <summary>
    /// Whether to go on raising starts for long before an order is given up: for an order that must be judged, not
    /// searched.
    /// </summary>
    public bool Patient { get; init; }

    /// <summary>
    /// Whether <see cref="SlotOf"/> says which slots the last sequence took; where slots are all alike any free one
    /// will do.
    /// </summary>
    public bool NamesSlots => slotsNamed;

    public Score Score { get; private set; }

    /// <summary>How many passes were made since construction.</summary>
    public long Passes { get; private set; }

    /// <summary>
    /// Decodes; false when the order cannot be kept or its energy is certain to pass the limit. Penalties of the jobs
    /// left out are the caller's (<paramref name="left"/>).
    /// </summary>
    public bool Decode(Sequence s, in Score left, double energyLimit = double.PositiveInfinity)
    {
        limit = energyLimit;
        slotsNamed = p.AnySlotClosed || FixedSlots is not null;
        Array.Copy(p.Earliest, lowest, lowest.Length);
        if (p.AnySlotClosed || p.AnyReaderClosed)
            Array.Clear(stayUntil);
        var fixedEnergy = left.Energy;
        for (var n = Patient ? passesPatient : passesMost; n > 0; n--)
        {
            Passes++;
            Begin(fixedEnergy);
            if (p.HandsTell && !slotsNamed && !Plain ? !RunOneHand(s) : !Run(s))
                return false;
            if (raised)
                continue;
            Score = new Score(left.Loss, left.Guard + guard, left.Unplaced, finish + clearCosts, cards);
            return true;
        }

        return false;
    }

    private bool Run(Sequence s)
    {
        for (var i = 0; i < s.Count; i++)
        {
            var op = s.Ops[i];
            if (doneIn[op] != pass && !Execute(s, op, false))
                return false;
        }

        return true;
    }

    private void Begin(double fixedEnergy)
    {
        pass++;
        raised = false;
        Array.Copy(p.HandFree, handFree, handFree.Length);
        Array.Copy(p.ReaderFree, readerFree, readerFree.Length);
        Array.Copy(p.ReaderHolder, readerHolder, readerHolder.Length);
        Array.Copy(p.ReaderCard, readerCard, readerCard.Length);
        Array.Fill(readerKeptFor, -1);
        if (slotsNamed)
        {
            Array.Copy(p.SlotFree, slotFree, slotFree.Length);
            Array.Copy(p.SlotHolder, slotHolder, slotHolder.Length);
        }
        else
        {
            slotsFree = p.SlotsFreeFrom.Length;
            Array.Copy(p.SlotsFreeFrom, slotFree, slotsFree);
        }

        hand = handFree[0];
        ExecutedCount = 0;
        guard = 0;
        cards = 0;
        finish = p.GoneFinish;
        clearCosts = p.GoneCost;
        energy = fixedEnergy + p.GoneCost;
    }

    private bool Execute(Sequence s, int op, bool onDemand)
    {
        var job = Op.Job(op);
        return Op.Kind(op) switch
        {
            Op.Mix => Mix(s, job, op),
            Op.Load => s.InReader[job] ? LoadIntoReader(s, job, op) : LoadIntoSlot(s, job, op),
            Op.Move => Move(s, job, op),
            Op.Clear => s.Mode[job] == Mode.Left ? Discard(job, op) : Clear(s, job, op),
            _ => Card(s, job, op, onDemand),
        };
    }

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private void Done(int op, long start)
    {
        Start[op] = start;
        doneIn[op] = pass;
        Executed[ExecutedCount++] = op;
    }

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private void Raise(int op, long to)
    {
        if (to <= lowest[op])
            return;
        lowest[op] = to;
        raised = true;
    }

    private bool Mix(Sequence s, int job, int op)
    {
        var earliest = lowest[op];
        foreach (var before in after[job])
        {
            if (s.Mode[before] == Mode.Absent || stages[before] == Stage.Gone)
                continue;
            var clear = Op.Of(before, Op.Clear);
            if (doneIn[clear] != pass)
                return false;
            earliest = Math.Max(earliest, Start[clear] + length[clear]);
        }

        Done(op, TakeHands(op, earliest));
        return true;
    }

    /// <summary>Judges the load's start against the mix and the instants that it must keep.</summary>
    private bool LoadIsInTime(int job, long start)
    {
        if (start + Reserve > p.LoadLatest[job])
            return false;
        if (stages[job] == Stage.Fresh)
            Raise(Op.Of(job, Op.Mix), start - p.MixToLoadMost[job] + Reserve);
        return true;
    }

    /// <summary>What the load waits for, or long.MaxValue where its mix has not been done.</summary>
    private long LoadFrom(int job, int op)
    {
        if (stages[job] != Stage.Fresh)
            return lowest[op];
        var mix = Op.Of(job, Op.Mix);
        return doneIn[mix] == pass ? Math.Max(lowest[op], Start[mix] + length[mix]) : long.MaxValue;
    }

    private bool Clear(Sequence s, int job, int op)
    {
        var earliest = lowest[op];
        if (stages[job] != Stage.InReader)
        {
            var load = Op.Of(job, Op.Load);
            var move = Op.Of(job, Op.Move);
            if (s.InReader[job])
            {
                if (doneIn[load] != pass)
                    return false;
                earliest = Math.Max(earliest, Start[load] + p.LoadToReadLeast[job] + p.ReadLength[job]);
            }
            else
            {
                if (doneIn[move] != pass)
                    return false;
                earliest = Math.Max(earliest, Start[move] + length[move] + p.ReadLength[job]);
            }
        }

        var start = TakeHands(op, earliest);
        Done(op, start);
        var end = start + length[op];
        var reader = s.Reader[job];
        readerFree[reader] = end;
        readerHolder[reader] = -1;
        if (p.AnyReaderClosed && stages[job] != Stage.InReader)
            StayEnds(Op.Of(job, s.InReader[job] ? Op.Load : Op.Move), end, p.ReaderClosed[reader]);
        return Cost(job, end);
    }

    /// <summary>Counts a clear's cost; false where it passes the limit.</summary>
    private bool Cost(int job, long end)
    {
        if (hasCost[job])
        {
            var more = p.CostOfClear(job, end);
            clearCosts += more;
            energy += more;
        }

        if (end > finish)
            finish = end;
        return energy + finish <= limit;
    }

    private bool Discard(int job, int op)
    {
        var start = TakeHands(op, Math.Max(lowest[op], p.DiscardFrom[job]));
        Done(op, start);
        var end = start + length[op];
        for (var r = 0; r < readerHolder.Length; r++)
        {
            if (readerHolder[r] == job)
                (readerHolder[r], readerFree[r]) = (-1, end);
        }

        if (slotsNamed)
            FreeSlot(job, end);
        else if (Array.IndexOf(p.SlotHolder, job) >= 0)
            AddFreeSlot(end);
        return true;
    }

    /// <summary>
    /// A stay in a slot or reader that closes has ended: where it overlaps, it must begin after the closing.
    /// </summary>
    private void StayEnds(int beginOp, long end, ClosedTimes closed)
    {
        var begin = Start[beginOp];
        if (end > begin && closed.Fit(begin, end - begin) != begin)
        {
            stayUntil[beginOp] = end;
            raised = true;
        }
    }
}
