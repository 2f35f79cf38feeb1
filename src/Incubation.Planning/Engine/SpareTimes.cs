using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Engine;

/// <summary>
/// Spare time of each step of a plan. A step is begun later by some length, and the plan is decoded again with no other step
/// earlier than planned: what stands after it is pushed as far as it must be. That holds when no rule breaks, no step planned
/// before it has to move, and no more guard is used than before; the longest length for which it holds is found by halving.
/// </summary>
internal sealed class SpareTimes
{
    private readonly BenchProblem p;
    private readonly PlanReader plan;
    private readonly Decoder decoder;
    private readonly long[] planned;
    private readonly Score left;
    private readonly long guard;
    private readonly long horizon;
    private readonly Dictionary<int, long> known = [];

    private SpareTimes(BenchProblem p, PlanReader plan)
    {
        this.p = p;
        this.plan = plan;
        planned = new long[p.Jobs << 3];
        foreach (var (op, start) in plan.Starts)
            planned[op] = start;
        decoder = new Decoder(p) { FixedHands = plan.Hands, FixedSlots = plan.Slots, NotBefore = (long[])planned.Clone(), Patient = true };
        left = Left.Of(p, plan.Sequence);
        IsKept = decoder.Decode(plan.Sequence, left) && plan.Starts.All(s => decoder.Start[s.Key] == s.Value);
        guard = IsKept ? decoder.Score.Guard : 0;
        horizon = Horizon();
    }

    private bool IsKept { get; }

    /// <summary>Spare times of a plan, or null where the plan is not valid.</summary>
    public static SpareTimes? Of(BenchProblem p, PlanReader plan) => new SpareTimes(p, plan) is { IsKept: true } spare ? spare : null;

    /// <summary>A delay that nothing but an unlimited step survives: longer than all that is planned, every closing and every window.</summary>
    private long Horizon()
    {
        var length = 24L * 3600 * 1000;
        foreach (var (op, start) in plan.Starts)
            length = Math.Max(length, start) + p.Length[op];
        for (var j = 0; j < p.Jobs; j++)
        {
            length += p.LoadToReadMost[j] + p.MixToLoadMost[j];
            length = Math.Max(length, p.ReadClose[j] < BenchProblem.Never ? p.ReadClose[j] : 0);
            length = Math.Max(length, p.LoadLatest[j] < BenchProblem.Never ? p.LoadLatest[j] : 0);
        }

        foreach (var closed in p.HandClosed.Concat(p.SlotClosed).Concat(p.ReaderClosed))
            length = Math.Max(length, closed.LastEnd);
        return length * 2;
    }

    public StepSpare OfStep(PlannedStep step)
    {
        var op = OpOf(step);
        if (op < 0 || !plan.Starts.ContainsKey(op))
            return new StepSpare(step, Duration.Zero, null);
        if (!known.TryGetValue(op, out var spare))
            known[op] = spare = Longest(op);
        return new StepSpare(
            step,
            spare >= BenchProblem.Never ? StepSpare.Unlimited : Duration.FromMilliseconds(spare),
            step.Action is StepAction.Move ? Duration.FromMilliseconds(ToClose(Op.Job(op))) : null);
    }

    /// <summary>The operation that a row is, or for a read the one that starts it.</summary>
    private int OpOf(PlannedStep step)
    {
        if (step.Action is StepAction.CardChange change)
            return plan.Cards.GetValueOrDefault((change.Reader, step.Start), -1);
        if (step.Action.Subject is not { } subject || plan.JobOf(subject) is not { } job)
            return -1;
        return step.Action switch
        {
            StepAction.Mix => Op.Of(job, Op.Mix),
            StepAction.Load => Op.Of(job, Op.Load),
            StepAction.Move => Op.Of(job, Op.Move),
            StepAction.Read => Op.Of(job, plan.Sequence.InReader[job] ? Op.Load : Op.Move),
            _ => Op.Of(job, Op.Clear),
        };
    }

    private long ToClose(int job)
    {
        var read = planned[Op.Of(job, Op.Move)] + p.Length[Op.Of(job, Op.Move)];
        var close = p.Stage[job] == Stage.Reacting
            ? p.ReadClose[job]
            : LoadStart(job) + p.LoadToReadMost[job] + ProblemCompiler.Ms(p.Day.Bench.ReadGuard);
        return close - read;
    }

    private long LoadStart(int job) => planned[Op.Of(job, Op.Load)];

    private long Longest(int op)
    {
        if (Holds(op, horizon))
            return BenchProblem.Never;
        var (holds, breaks) = (0L, horizon);
        while (breaks - holds > 1)
        {
            var middle = holds + ((breaks - holds) / 2);
            if (Holds(op, middle))
                holds = middle;
            else
                breaks = middle;
        }

        return holds;
    }

    private bool Holds(int op, long delay)
    {
        var start = planned[op] + delay;
        decoder.NotBefore![op] = start;
        var holds = decoder.Decode(plan.Sequence, left) && decoder.Score.Guard == guard && StandsBefore(planned[op]);
        decoder.NotBefore[op] = planned[op];
        return holds;
    }

    private bool StandsBefore(long time)
    {
        foreach (var (op, start) in plan.Starts)
        {
            if (start < time && decoder.Start[op] != start)
                return false;
        }

        return true;
    }
}
