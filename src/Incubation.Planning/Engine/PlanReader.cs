using Incubation.Model;

namespace Incubation.Planning.Engine;

/// <summary>
/// Reads a plan back into a sequence for the day as it stands: ended rows are dropped, begun rows are the day's facts,
/// the rest keeps the plan's order on every pair of hands, slot and reader; of what takes no time, at one instant, the
/// order of its rows.
/// </summary>
internal sealed class PlanReader
{
    private readonly BenchProblem p;
    private readonly Dictionary<RequestId, int> jobOf = [];
    private readonly Dictionary<int, PlannedStep> rows = [];
    private readonly List<(int Job, PlannedStep Row)> cardRows = [];
    private readonly Dictionary<int, long> starts = [];
    private readonly Dictionary<PlannedStep, int> placeOf = new(ReferenceEqualityComparer.Instance);
    private readonly Dictionary<int, int> turns = [];
    private readonly HashSet<(int Before, int After)> edges = [];
    private readonly HashSet<RequestId> unplaced;

    private PlanReader(BenchProblem p, Plan plan)
    {
        this.p = p;
        Sequence = Builder.Empty(p);
        Hands = new int[p.Jobs << 3];
        Slots = new int[p.Jobs];
        Array.Fill(Hands, -1);
        Array.Fill(Slots, -1);
        for (var j = 0; j < p.Jobs; j++)
            jobOf[p.Day.Requests[j].Id] = j;
        unplaced = [.. plan.Unplaced.Select(left => left.Request)];
        for (var row = 0; row < plan.Steps.Count; row++)
            placeOf[plan.Steps[row]] = row;
        CollectRows(plan);
    }

    /// <summary>The plan's order; a job that the plan does not fully plan is absent.</summary>
    public Sequence Sequence { get; }

    /// <summary>Hands by operation, -1 where the plan names none.</summary>
    public int[] Hands { get; }

    /// <summary>Slots by job, -1 where the plan names none.</summary>
    public int[] Slots { get; }

    /// <summary>Whether every job is planned, left out or gone.</summary>
    public bool IsWhole { get; private set; } = true;

    /// <summary>Reads a plan; null where its order contradicts itself or the day's facts.</summary>
    public static PlanReader? Read(BenchProblem p, Plan plan)
    {
        var reader = new PlanReader(p, plan);
        for (var j = 0; j < p.Jobs; j++)
            reader.Adopt(j);
        reader.AdoptCards();
        reader.LinkJobs();
        reader.LinkHands();
        reader.LinkReaders();
        reader.LinkSlots();
        return reader.Order() ? reader : null;
    }

    private long Ms(NodaTime.Instant instant) => ProblemCompiler.Ms(instant - p.Day.Start);

    private void CollectRows(Plan plan)
    {
        foreach (var row in plan.Steps)
        {
            if (row.Action is StepAction.CardChange change)
            {
                var taken = plan.Steps
                    .Where(step => step.Start >= row.End && step.Action.NeedsReader == change.Reader
                        && step.Action is StepAction.Move or StepAction.Load)
                    .MinBy(step => step.Start);
                if (taken?.Action.Subject is { } next && jobOf.TryGetValue(next, out var nextJob))
                    cardRows.Add((nextJob, row));
                continue;
            }

            if (row.Action.Subject is not { } subject || !jobOf.TryGetValue(subject, out var job))
                continue;
            var kind = row.Action switch
            {
                StepAction.Mix => Op.Mix,
                StepAction.Load => Op.Load,
                StepAction.Move => Op.Move,
                StepAction.Clear or StepAction.Discard => Op.Clear,
                _ => -1,
            };
            if (kind >= 0)
                rows[Op.Of(job, kind)] = row;
        }
    }

    private PlannedStep? RowOf(int job, int kind) => rows.GetValueOrDefault(Op.Of(job, kind));

    /// <summary>Takes over what the plan says about a job that is not yet done.</summary>
    private void Adopt(int job)
    {
        var s = Sequence;
        var stage = p.Stage[job];
        if (stage == Stage.Gone)
            return;
        var (mix, load, move, clear) = (RowOf(job, Op.Mix), RowOf(job, Op.Load), RowOf(job, Op.Move),
            RowOf(job, Op.Clear));
        var discard = clear?.Action is StepAction.Discard;
        if (stage == Stage.Fresh
            && (p.MustLeave[job] is not null || (unplaced.Contains(p.Day.Requests[job].Id) && mix is null)))
            s.Mode[job] = Mode.Left;
        else if (discard && stage is Stage.Mixed or Stage.Reacting)
            Place(job, Mode.Left, Op.Clear);
        else if (clear is null || discard || p.MustLeave[job] is not null)
            IsWhole = false;
        else if (stage == Stage.InReader)
            Place(job, Mode.Placed, Op.Clear);
        else if (stage == Stage.Reacting && move is not null)
            Place(job, Mode.Placed, Op.Move, Op.Clear);
        else if (stage is Stage.Fresh or Stage.Mixed && load is not null && (stage == Stage.Mixed || mix is not null))
            AdoptLoad(job, ((StepAction.Load)load.Action).Place, move);
        else
            IsWhole = false;
    }

    private void AdoptLoad(int job, CartridgePlace place, PlannedStep? move)
    {
        var first = p.Stage[job] == Stage.Fresh ? Op.Mix : Op.Load;
        if (place is CartridgePlace.InReader reader && p.CanReader[job])
        {
            Sequence.InReader[job] = true;
            Sequence.Reader[job] = reader.Reader.Value - 1;
            Place(job, Mode.Placed, [.. new[] { first, Op.Load, Op.Clear }.Distinct()]);
        }
        else if (place is CartridgePlace.InSlot slot && move is not null && p.CanSlot[job]
            && slot.Slot.Value <= p.Slots)
        {
            Slots[job] = slot.Slot.Value - 1;
            Place(job, Mode.Placed, [.. new[] { first, Op.Load, Op.Move, Op.Clear }.Distinct()]);
        }
        else
            IsWhole = false;
    }

    private void Place(int job, Mode mode, params int[] kinds)
    {
        if (RowOf(job, Op.Move)?.Action.NeedsReader is { } reader && Array.IndexOf(kinds, Op.Move) >= 0)
            Sequence.Reader[job] = reader.Value - 1;
        if (Sequence.Reader[job] >= p.Readers)
        {
            IsWhole = false;
            return;
        }

        Sequence.Mode[job] = mode;
        foreach (var kind in kinds)
            Take(Op.Of(job, kind), RowOf(job, kind)!);
    }

    private void Take(int op, PlannedStep row)
    {
        starts[op] = Ms(row.Start);
        turns[op] = placeOf[row];
        if (row.Hands is { } hands && hands.Value <= p.Hands)
            Hands[op] = hands.Value - 1;
    }

    private void AdoptCards()
    {
        foreach (var (job, row) in cardRows)
        {
            var taking = Op.Of(job, Sequence.InReader[job] ? Op.Load : Op.Move);
            if (Sequence.Mode[job] == Mode.Placed && starts.ContainsKey(taking) && Ms(row.Start) >= p.Now)
                Take(Op.Of(job, Op.Card), row);
        }
    }

    private void Link(int before, int after)
    {
        if (starts.ContainsKey(before) && starts.ContainsKey(after) && before != after)
            edges.Add((before, after));
    }

    private void LinkJobs()
    {
        for (var j = 0; j < p.Jobs; j++)
        {
            Link(Op.Of(j, Op.Mix), Op.Of(j, Op.Load));
            Link(Op.Of(j, Op.Load), Op.Of(j, Op.Move));
            Link(Op.Of(j, Op.Load), Op.Of(j, Op.Clear));
            Link(Op.Of(j, Op.Move), Op.Of(j, Op.Clear));
            Link(Op.Of(j, Op.Card), Op.Of(j, Sequence.InReader[j] ? Op.Load : Op.Move));
            foreach (var before in p.After[j])
                Link(Op.Of(before, Op.Clear), Op.Of(j, Op.Mix));
        }
    }

    private void LinkHands()
    {
        foreach (var onHands in starts.Where(start => Hands[start.Key] >= 0 && p.Length[start.Key] > 0)
            .GroupBy(start => Hands[start.Key]))
            LinkChain(onHands.OrderBy(start => start.Value).ThenBy(start => start.Key)
                .Select(start => (start.Key, start.Key)).ToList());
    }

    private void LinkChain(List<(int First, int Last)> chain)
    {
        for (var i = 1; i < chain.Count; i++)
            Link(chain[i - 1].Last, chain[i].First);
    }

    private void LinkReaders()
    {
        for (var r = 0; r < p.Readers; r++)
        {
            var reader = r;
            var stays = Enumerable.Range(0, p.Jobs)
                .Where(j => Sequence.Reader[j] == reader)
                .Select(j => (Job: j, Taking: Op.Of(j, Sequence.InReader[j] ? Op.Load : Op.Move)))
                .Where(use => starts.ContainsKey(use.Taking) && Sequence.Mode[use.Job] == Mode.Placed)
                .OrderBy(use => starts[use.Taking]).ThenBy(use => starts[Op.Of(use.Job, Op.Clear)])
                .ThenBy(use => turns[use.Taking]).ToList();
            var previous = p.ReaderHolder[r] >= 0 ? Op.Of(p.ReaderHolder[r], Op.Clear) : -1;
            foreach (var (job, taking) in stays)
            {
                Link(previous, taking);
                Link(previous, Op.Of(job, Op.Card));
                previous = Op.Of(job, Op.Clear);
            }
        }
    }

    private void LinkSlots()
    {
        for (var slot = 0; slot < p.Slots; slot++)
        {
            var here = slot;
            var previous = p.SlotHolder[slot] >= 0 ? Leaving(p.SlotHolder[slot]) : -1;
            foreach (var job in Enumerable.Range(0, p.Jobs)
                .Where(j => Slots[j] == here && starts.ContainsKey(Op.Of(j, Op.Load)))
                .OrderBy(j => starts[Op.Of(j, Op.Load)]).ThenBy(j => starts[Op.Of(j, Op.Move)])
                .ThenBy(j => turns[Op.Of(j, Op.Load)]))
            {
                Link(previous, Op.Of(job, Op.Load));
                previous = Leaving(job);
            }
        }
    }

    private int Leaving(int job) => Op.Of(job, Sequence.Mode[job] == Mode.Left ? Op.Clear : Op.Move);

    /// <summary>Puts the operations into one order that keeps every chain; false where there is none.</summary>
    private bool Order()
    {
        var waits = starts.Keys.ToDictionary(op => op, _ => 0);
        foreach (var (_, after) in edges)
            waits[after]++;
        var followers = edges.ToLookup(edge => edge.Before, edge => edge.After);
        var open = new PriorityQueue<int, (long, long, int)>();
        foreach (var (op, count) in waits)
        {
            if (count == 0)
                open.Enqueue(op, Rank(op));
        }

        while (open.TryDequeue(out var op, out _))
        {
            Sequence.Ops[Sequence.Count++] = op;
            foreach (var after in followers[op])
            {
                if (--waits[after] == 0)
                    open.Enqueue(after, Rank(after));
            }
        }

        return Sequence.Count == starts.Count;
    }

    private (long, long, int) Rank(int op) => (starts[op], Math.Sign(p.Length[op]), turns[op]);
}
