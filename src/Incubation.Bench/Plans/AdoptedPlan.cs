using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>The plan that the bench follows.</summary>
/// <param name="Plan">The plan as adopted.</param>
/// <param name="Origin">Where it comes from.</param>
/// <param name="At">The instant from which it is valid.</param>
/// <param name="Remaining">Its rows that no report has ended, by start.</param>
public sealed record AdoptedPlan(Plan Plan, PlanOrigin Origin, Instant At, ImmutableArray<RemainingStep> Remaining)
{
    /// <summary>The plan without the rows that reports have ended.</summary>
    public Plan AsItStands => Plan with { Steps = [.. Remaining.Select(row => row.Step)] };

    /// <summary>The first row that a pair of hands has not ended, or null.</summary>
    public RemainingStep? NextOf(HandsNumber hands) => Remaining.FirstOrDefault(row => row.Step.Hands == hands);

    /// <summary>The row of a cartridge's move that is not ended, or null.</summary>
    public RemainingStep? MoveOf(RequestId request) =>
        Remaining.FirstOrDefault(row => row.Step.Action is StepAction.Move move && move.Request == request);

    /// <summary>The first row not ended that does this, or null.</summary>
    public RemainingStep? RowOf(StepAction action) => Remaining.FirstOrDefault(row => row.Step.Action == action);

    /// <summary>
    /// The first row not ended that does this, or else the same step of the same cartridge at another place; or null.
    /// </summary>
    internal RemainingStep? RowAnywhereOf(StepAction action) => RowOf(action)
        ?? Remaining.FirstOrDefault(row => row.Step.Action.GetType() == action.GetType()
            && action.Subject is not null && row.Step.Action.Subject == action.Subject);
}

/// <summary>A row of the adopted plan that no report has ended.</summary>
/// <param name="Step">The row.</param>
/// <param name="Spare">Its spare time, or null where nothing is at stake.</param>
public sealed record RemainingStep(PlannedStep Step, Duration? Spare);
