using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Engine;

/// <summary>Writes a decoded sequence as a plan.</summary>
internal sealed class PlanWriter
{
    private readonly BenchProblem p;
    private readonly Sequence s;
    private readonly Decoder decoder;
    private readonly BenchDay day;
    private readonly int[] slots;
    private readonly double proven;
    private readonly Func<int, LeftOutReason?> earlierReason;

    private PlanWriter(BenchProblem p, Sequence s, Decoder decoder, int[]? preferredSlots, Plan? earlier, double proven)
    {
        this.proven = proven;
        this.p = p;
        this.s = s;
        this.decoder = decoder;
        day = p.Day;
        slots = SlotsOf(preferredSlots);
        var reasons = earlier?.Lost.Concat(earlier.Unplaced).DistinctBy(left => left.Request)
            .ToDictionary(left => left.Request, left => left.Why);
        earlierReason = job => reasons is not null && reasons.TryGetValue(day.Requests[job].Id, out var why)
            ? why : null;
    }

    /// <summary>The plan of the sequence that the decoder decoded last.</summary>
    /// <param name="p">The problem.</param>
    /// <param name="s">The sequence.</param>
    /// <param name="decoder">Holds the sequence's times.</param>
    /// <param name="preferredSlots">Slots by job to be kept where they are free, -1 for any; or null.</param>
    /// <param name="earlier">A plan whose reasons are kept for what stays left out, or null.</param>
    /// <param name="proven">A cost in milliseconds below which no plan comes that leaves out nothing by choice.</param>
    public static Plan Write(BenchProblem p, Sequence s, Decoder decoder, int[]? preferredSlots, Plan? earlier,
        double proven) =>
        new PlanWriter(p, s, decoder, preferredSlots, earlier, proven).Write();

    private Instant At(long ms) => day.Start + Duration.FromMilliseconds(ms);

    private Plan Write()
    {
        var steps = Rows().Select((row, index) => (row, index)).OrderBy(placed => placed.row.Start)
            .ThenBy(placed => placed.index)
            .Select(placed => placed.row).ToList();
        var late = 0L;
        var finish = 0L;
        for (var j = 0; j < p.Jobs; j++)
        {
            if (s.Mode[j] != Mode.Placed)
                continue;
            var end = ClearEnd(j);
            finish = Math.Max(finish, end);
            late += Math.Max(0, end - p.Due[j]);
        }

        var score = decoder.Score;
        var bound = Math.Min(BoundFor(), score.Cost);
        var left = Enumerable.Range(0, p.Jobs).Where(j => s.Mode[j] == Mode.Left).ToList();
        return new Plan(
            steps,
            Seconds(score.Cost),
            Duration.FromMilliseconds(finish),
            Duration.FromMilliseconds(late),
            Seconds(bound),
            IsProved(bound, score),
            [.. Enumerable.Range(0, p.Jobs).Where(UsesGuard).Select(j => day.Requests[j].Id)],
            [.. left.Where(j => p.Stage[j] == Stage.Fresh).Select(Why)],
            [.. left.Where(j => p.Stage[j] != Stage.Fresh).Select(Why)]);
    }

    private static double Seconds(double ms) => Math.Round(ms / 1000, 3);

    private long ClearEnd(int j) => p.Stage[j] == Stage.Gone
        ? p.GoneEnd[j] : decoder.Start[Op.Of(j, Op.Clear)] + p.Length[Op.Of(j, Op.Clear)];

    private double BoundFor() => Left.IsByChoice(p, s)
        ? LowerBound.Of(p, Left.Counted(p, true))
        : proven;

    private bool IsProved(double bound, in Score score) =>
        !Left.IsByChoice(p, s) && score.Guard == p.GuardSpent && score.Cost <= bound + Score.Equal;

    private bool UsesGuard(int j) => p.GuardSpentBy[j]
        || (p.Stage[j] == Stage.Reacting && s.Mode[j] == Mode.Placed
            && decoder.Start[Op.Of(j, Op.Move)] + p.Length[Op.Of(j, Op.Move)] > p.ReadTo[j]);

    private IEnumerable<PlannedStep> Rows()
    {
        foreach (var fact in p.Facts)
            yield return fact;
        for (var j = 0; j < p.Jobs; j++)
        {
            if (p.ReadStart[j] < BenchProblem.Never)
                yield return Read(j, Array.IndexOf(p.ReaderHolder, j), p.ReadStart[j],
                    Math.Max(p.Now, p.ReadStart[j] + p.ReadLength[j]));
        }

        for (var i = 0; i < decoder.ExecutedCount; i++)
        {
            var op = decoder.Executed[i];
            var job = Op.Job(op);
            yield return Row(op, job);
            if (Op.Kind(op) == Op.Move || (Op.Kind(op) == Op.Load && s.InReader[job]))
            {
                var read = decoder.Start[op] + (Op.Kind(op) == Op.Move ? p.Length[op] : p.LoadToReadLeast[job]);
                yield return Read(job, s.Reader[job], read, read + p.ReadLength[job]);
            }
        }
    }

    private PlannedStep Read(int job, int reader, long start, long end) =>
        new(new StepAction.Read(day.Requests[job].Id, new ReaderNumber(reader + 1)), null, At(start), At(end));

    private PlannedStep Row(int op, int job)
    {
        var request = day.Requests[job].Id;
        var reader = new ReaderNumber(s.Reader[job] + 1);
        StepAction action = Op.Kind(op) switch
        {
            Op.Mix => new StepAction.Mix(request),
            Op.Load when s.InReader[job] => new StepAction.Load(request, new CartridgePlace.InReader(reader)),
            Op.Load => new StepAction.Load(request, new CartridgePlace.InSlot(new SlotNumber(slots[job] + 1))),
            Op.Move => new StepAction.Move(request, reader),
            Op.Card => new StepAction.CardChange(reader, p.Lots[p.Lot[job]]),
            _ when s.Mode[job] == Mode.Left => new StepAction.Discard(request),
            _ => new StepAction.Clear(request, reader),
        };
        var start = decoder.Start[op];
        return new PlannedStep(action, new HandsNumber(decoder.HandOf[op] + 1), At(start), At(start + p.Length[op]));
    }

    /// <summary>
    /// Numbers the slots where they are all alike: by load, each into its preferred slot or else the first that is
    /// free. A slot that is left at the instant of the load is free where the leaving was handed out before the load;
    /// one left after it is taken only where there is no other.
    /// </summary>
    private int[] SlotsOf(int[]? preferred)
    {
        if (decoder.NamesSlots)
            return decoder.SlotOf;
        var free = new long[p.Slots];
        for (var slot = 0; slot < p.Slots; slot++)
            free[slot] = p.SlotHolder[slot] < 0 ? p.SlotFree[slot] : Leaves(p.SlotHolder[slot]);
        var left = new int[p.Slots];
        for (var slot = 0; slot < p.Slots; slot++)
            left[slot] = p.SlotHolder[slot] < 0 ? -1 : Turn(LeavingOp(p.SlotHolder[slot]));
        var slotOf = new int[p.Jobs];
        foreach (var job in Enumerable.Range(0, p.Jobs).Where(IsLoadedIntoSlot).OrderBy(LoadStart).ThenBy(Leaves))
        {
            var (start, turn) = (LoadStart(job), Turn(Op.Of(job, Op.Load)));
            bool IsFree(int slot) => free[slot] < start || (free[slot] == start && left[slot] < turn);
            var wanted = preferred?[job] ?? -1;
            var slots = Enumerable.Range(0, p.Slots);
            slotOf[job] = wanted >= 0 && IsFree(wanted) ? wanted
                : slots.FirstOrDefault(IsFree, -1) is >= 0 and var found ? found
                : slots.First(slot => free[slot] <= start);
            free[slotOf[job]] = Leaves(job);
            left[slotOf[job]] = Turn(LeavingOp(job));
        }

        return slotOf;
    }

    /// <summary>When an operation's turn came, of all that took hands; -1 where it was done before.</summary>
    private int Turn(int op) => Array.IndexOf(decoder.Executed, op, 0, decoder.ExecutedCount);

    private bool IsLoadedIntoSlot(int j) => p.Stage[j] is Stage.Fresh or Stage.Mixed && s.Mode[j] == Mode.Placed
        && !s.InReader[j];

    private long LoadStart(int j) => decoder.Start[Op.Of(j, Op.Load)];

    /// <summary>When a job's slot is free again.</summary>
    private long Leaves(int j) => s.Mode[j] == Mode.Left
        ? decoder.Start[Op.Of(j, Op.Clear)] + p.Length[Op.Of(j, Op.Clear)]
        : decoder.Start[Op.Of(j, Op.Move)];

    private int LeavingOp(int j) => Op.Of(j, s.Mode[j] == Mode.Left ? Op.Clear : Op.Move);

    private LeftOut Why(int job)
    {
        var why = p.MustLeave[job] ?? earlierReason(job);
        if (why is null)
        {
            var request = day.Requests[job];
            var follows = p.After[job].FirstOrDefault(b => p.Stage[b] == Stage.Fresh && s.Mode[b] == Mode.Left, -1);
            why = p.Stage[job] switch
            {
                Stage.Gone => new LeftOutReason.BeingDiscarded(),
                Stage.Fresh when follows >= 0 => new LeftOutReason.PredecessorUnplaced(day.Requests[follows].Id),
                Stage.Fresh => new LeftOutReason.LoadByCrowded(request.LoadBy ?? day.Now),
                Stage.Mixed => new LeftOutReason.LoadCrowded(At(p.LoadLatest[job])),
                _ => new LeftOutReason.Crowded(At(p.ReadClose[job])),
            };
        }

        return new LeftOut(day.Requests[job].Id, why);
    }
}
