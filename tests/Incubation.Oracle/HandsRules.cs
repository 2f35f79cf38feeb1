using Google.OrTools.Sat;
using Incubation.Model;

namespace Incubation.Oracle;

/// <summary>Rule 7 for hands: each pair does one thing at a time, and nothing while it is away.</summary>
internal sealed class HandsRules
{
    private readonly Modelling modelling;
    private readonly Problem problem;
    private readonly IReadOnlyList<HandsTask> tasks;
    private readonly List<Closed> away;
    private readonly Dictionary<HandsTask, ILiteral[]> whose = [];

    public HandsRules(Modelling modelling, Problem problem, IReadOnlyList<HandsTask> tasks)
    {
        this.modelling = modelling;
        this.problem = problem;
        this.tasks = tasks;
        away = [.. problem.Calendar.Where(entry => entry.Resource == ResourceKind.Hands)];
        if (problem.Hands == 1)
            OnePair();
        else if (away.Count == 0)
            AnyPair();
        else
            EachPair();
    }

    /// <summary>
    /// Which pair does a task, from 0; -1 where any that is free may. Then, and only then, none is ever away.
    /// </summary>
    public int PairOf(HandsTask task, CpSolver solver) =>
        whose.TryGetValue(task, out var pairs) ? Array.FindIndex(pairs, solver.BooleanValue) : problem.Hands == 1
            ? 0 : -1;

    /// <summary>Hints which pair does a task.</summary>
    public void Hint(HandsTask task, int pair)
    {
        if (whose.TryGetValue(task, out var pairs))
            for (var k = 0; k < pairs.Length; k++)
                modelling.Hint(pairs[k], k == pair);
    }

    private void OnePair()
    {
        modelling.Model.AddNoOverlap([.. Blocks(0), .. tasks.Where(task => task.Length > 0).Select(Interval)]);
        foreach (var task in tasks.Where(task => task.Length == 0))
            foreach (var entry in away)
                NotInside(task, entry, task.Is);
    }

    /// <summary>
    /// Pairs are alike but for what they are doing now, so that counting is enough: whoever is free takes the next
    /// step.
    /// </summary>
    private void AnyPair()
    {
        var counting = modelling.Model.AddCumulative(problem.Hands);
        foreach (var interval in Enumerable.Range(0, problem.Hands).SelectMany(Blocks))
            counting.AddDemand(interval, 1);
        foreach (var task in tasks.Where(task => task.Length > 0))
            counting.AddDemand(Interval(task), 1);
    }

    private void EachPair()
    {
        foreach (var task in tasks)
        {
            whose[task] =
                [.. Enumerable.Range(0, problem.Hands).Select(k => modelling.Bool($"{task.Start.Name()} by {k}"))];
            modelling.Model.Add(LinearExpr.Sum(whose[task]) == task.Is.AsExpr());
        }
        for (var k = 0; k < problem.Hands; k++)
        {
            modelling.Model.AddNoOverlap([.. Blocks(k), .. tasks.Where(task => task.Length > 0).Select(task =>
                modelling.Model.NewOptionalFixedSizeIntervalVar(task.Start, task.Length, whose[task][k],
                    task.Start.Name() + k))]);
            foreach (var task in tasks.Where(task => task.Length == 0))
                foreach (var entry in away.Where(entry => entry.Number == k))
                    NotInside(task, entry, whose[task][k]);
        }
    }

    private IntervalVar Interval(HandsTask task) =>
        modelling.Model.NewOptionalFixedSizeIntervalVar(task.Start, task.Length, task.Is, task.Start.Name());

    private void NotInside(HandsTask task, Closed entry, ILiteral does)
    {
        var before = modelling.Bool($"{task.Start.Name()} before {entry.From}");
        modelling.When(task.Start < entry.From, before, does);
        modelling.When(task.Start >= entry.To, before.Not(), does);
    }

    /// <summary>
    /// When a pair can do nothing new: its step in progress and its times away, overlapping ones as one.
    /// </summary>
    private List<IntervalVar> Blocks(int pair)
    {
        var spans = away.Where(entry => entry.Number == pair).Select(entry => new Span(entry.From, entry.To))
            .Concat((problem.Day.MidRun?.Steps ?? []).Where(step => step.Hands.Value - 1 == pair)
                .Select(step => new Span(problem.Now, problem.EndOf(step))))
            .Where(span => span.From < span.To).OrderBy(span => span.From);
        var blocks = new List<Span>();
        foreach (var span in spans)
        {
            if (blocks.Count > 0 && span.From <= blocks[^1].To)
                blocks[^1] = blocks[^1] with { To = Math.Max(blocks[^1].To, span.To) };
            else
                blocks.Add(span);
        }
        return [
            .. blocks.Select(block =>
                modelling.Model.NewFixedSizeIntervalVar(block.From, block.To - block.From, $"away {pair}"))];
    }
}
