using Incubation.Planning.Engine;

namespace Incubation.Planning.Moments;

/// <summary>
/// The beginning of a plan by an order that saves what can be saved of what is in work, found by going through every
/// order: where a plan built step by step gives something up.
/// </summary>
internal static class SavedStart
{
    /// <summary>Steps that each search may look at, as for the last useful moments.</summary>
    private const int EffortMost = 40_000;

    /// <summary>
    /// The order as a sequence, with the discards of what is in its way; null where nothing can be saved. What it says
    /// nothing of is absent.
    /// </summary>
    public static Sequence? Of(BenchProblem p)
    {
        var found = SavedSet.Of(p, new SavingSearch(p, false, EffortMost), new SavingSearch(p, true, EffortMost), []);
        if (found.Order.Length == 0)
            return null;
        var s = Builder.Empty(p);
        for (var i = 0; i < found.Order.Length; i++)
            Take(s, found.Order, i);
        // What is read stays in its reader until that is needed, or everything else is done.
        for (var j = 0; j < p.Jobs; j++)
            if (found.Jobs[j] && s.IndexOf(Op.Of(j, Op.Clear)) < 0)
                s.Insert(s.Count, Op.Of(j, Op.Clear));
        return s;
    }

    private static void Take(Sequence s, SavingStep[] order, int index)
    {
        var step = order[index];
        switch (step.Kind)
        {
            case SavingKind.Clear or SavingKind.Discard:
                s.Mode[step.Job] = step.Kind == SavingKind.Discard ? Mode.Left : Mode.Placed;
                s.Insert(s.Count, Op.Of(step.Job, Op.Clear));
                break;
            case SavingKind.Card:
                // A card change belongs to what is put into its reader next.
                var next = Array.FindIndex(order, index, later => later.Place == step.Place
                    && later.Kind is SavingKind.Move or SavingKind.LoadReader);
                if (next >= 0)
                    s.Insert(s.Count, Op.Of(order[next].Job, Op.Card));
                break;
            case SavingKind.LoadSlot:
                s.Mode[step.Job] = Mode.Placed;
                s.Insert(s.Count, Op.Of(step.Job, Op.Load));
                break;
            default:
                s.Mode[step.Job] = Mode.Placed;
                (s.Reader[step.Job], s.InReader[step.Job]) = (step.Place, step.Kind == SavingKind.LoadReader);
                s.Insert(s.Count, Op.Of(step.Job, step.Kind == SavingKind.Move ? Op.Move : Op.Load));
                break;
        }
    }
}
