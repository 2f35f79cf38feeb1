using Incubation.Model;

namespace Incubation.Planning.Checking;

/// <summary>A rule that a plan breaks.</summary>
/// <param name="Rule">Number of the rule, 1 to 8, as the planning room's README lists them; 0 for the form of the plan itself.</param>
/// <param name="What">What is wrong, in words, with the request, the times and the limit.</param>
/// <param name="StepIndex">Place of the row in <see cref="Plan.Steps"/>, or null.</param>
public sealed record PlanFault(int Rule, string What, int? StepIndex);

/// <summary>Holds a plan against every rule, one rule a method, sharing no code with the planner.</summary>
public static class PlanChecker
{
    /// <summary>The rules that the plan breaks; empty when it is valid.</summary>
    public static IReadOnlyList<PlanFault> Check(BenchDay day, Plan plan) => throw new NotImplementedException();
}
