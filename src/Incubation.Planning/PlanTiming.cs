using Incubation.Model;
using NodaTime;

namespace Incubation.Planning;

/// <summary>How much later than planned a step may begin, everything after it pushed in the plan's order, before a rule breaks.</summary>
/// <param name="Step">The planned step.</param>
/// <param name="Spare">The most that it may begin later, the read guard left untouched; zero for a step in progress.</param>
/// <param name="ToWindowClose">For a move: from its planned read's start to the true close of the window; else null.</param>
public sealed record StepSpare(PlannedStep Step, Duration Spare, Duration? ToWindowClose);

/// <summary>Re-times a plan in its own order.</summary>
public static class PlanTiming
{
    /// <summary>
    /// Pulls a plan as early as its own order allows from where the day stands now: ended rows dropped, begun rows at their
    /// true start. Null when the order cannot be kept without breaking a rule. Same order on every pair of hands, slot and reader.
    /// </summary>
    public static Plan? Retime(BenchDay day, Plan plan) => throw new NotImplementedException();

    /// <summary>The spare time of every step of a valid plan, in the plan's order.</summary>
    public static IReadOnlyList<StepSpare> Spare(BenchDay day, Plan plan) => throw new NotImplementedException();
}
