using NodaTime;

namespace Incubation.Planning.Checking;

/// <summary>Rule 8: what a plan says of itself.</summary>
internal static class CostRule
{
    private const double CostTolerance = 0.0010001; // one millisecond, and what doubles lose
    private static readonly Duration TimeTolerance = Duration.FromMilliseconds(1);

    /// <summary>Rule 8: cost, finish and lateness are those of the rows, and no bound lies above the cost.</summary>
    public static IEnumerable<PlanFault> FiguresAgree(PlanReading plan)
    {
        var figures = PlanFigures.Of(plan);
        var says = plan.Plan;
        if (!(Math.Abs(says.Cost - figures.Cost) <= CostTolerance))
            yield return Say.Fault(8, null, Words.WrongCost, says.Cost, figures.Cost);
        if (Differ(says.Finish, figures.Finish))
            yield return Say.Fault(8, null, Words.WrongFinish, says.Finish, figures.Finish);
        if (Differ(says.Late, figures.Late))
            yield return Say.Fault(8, null, Words.WrongLate, says.Late, figures.Late);
        if (!(double.IsFinite(says.Bound) && says.Bound <= figures.Cost + CostTolerance))
            yield return Say.Fault(8, null, Words.BoundAboveCost, says.Bound, figures.Cost);

        static bool Differ(Duration one, Duration other) => Duration.Max(one - other, other - one) > TimeTolerance;
    }
}
