namespace Incubation.Planning.Engine;

/// <summary>What the jobs left out weigh.</summary>
internal static class Left
{
    /// <summary>The part of the score that is not the decoder's.</summary>
    public static Score Of(BenchProblem p, Sequence s)
    {
        var loss = 0L;
        var unplaced = 0;
        for (var j = 0; j < p.Jobs; j++)
        {
            if (s.Mode[j] != Mode.Left)
                continue;
            if (p.Stage[j] == Stage.Fresh)
                unplaced++;
            else
                loss += p.LossKey[j];
        }

        return new Score(loss, p.GuardSpent, unplaced, 0, 0);
    }

    /// <summary>Whether something is left out that another plan might keep.</summary>
    public static bool IsByChoice(BenchProblem p, Sequence s)
    {
        for (var j = 0; j < p.Jobs; j++)
        {
            if (s.Mode[j] == Mode.Left && p.MustLeave[j] is null && p.Stage[j] != Stage.Gone)
                return true;
        }

        return false;
    }

    /// <summary>Whether something in work is given up that another plan might save.</summary>
    public static bool OfWorkByChoice(BenchProblem p, Sequence s)
    {
        for (var j = 0; j < p.Jobs; j++)
        {
            if (s.Mode[j] == Mode.Left && p.MustLeave[j] is null && p.Stage[j] is Stage.Mixed or Stage.Reacting)
                return true;
        }

        return false;
    }

    /// <summary>
    /// Which jobs a bound may count. Where something is left out by choice, another plan as good may leave out
    /// something else, and only what no plan leaves out counts.
    /// </summary>
    public static bool[] Counted(BenchProblem p, bool leavesByChoice)
    {
        var counted = new bool[p.Jobs];
        for (var j = 0; j < p.Jobs; j++)
            counted[j] = p.Stage[j] == Stage.Gone ? !p.BeingDiscarded[j] : p.MustLeave[j] is null
                && !(leavesByChoice && p.MayLeave[j]);
        return counted;
    }
}
