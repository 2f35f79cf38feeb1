using Incubation.Model;
using NodaTime;

namespace Incubation.Planning;

/// <summary>A request that the plan leaves out, or a cartridge that it gives up, with the reason.</summary>
public sealed record LeftOut(RequestId Request, LeftOutReason Why);

/// <summary>The answer to a <see cref="BenchDay"/>.</summary>
/// <param name="Steps">All steps not yet ended, by start; those in progress with the start that they had.</param>
/// <param name="Cost">Seconds; see the cost rule in the planning room's README. Smaller is better.</param>
/// <param name="Finish">From the day's start to the latest clear's end.</param>
/// <param name="Late">The unweighted sum of the lengths by which due requests clear late.</param>
/// <param name="Bound">No plan costs less; seconds.</param>
/// <param name="Proved">Whether no better plan exists.</param>
/// <param name="GuardUsed">Cartridges already reacting, or being loaded, whose read starts inside the guard.</param>
/// <param name="Unplaced">Requests not yet mixed that no plan can place.</param>
/// <param name="Lost">Cartridges in work that no plan can save; each has a discard step.</param>
public sealed record Plan(
    IReadOnlyList<PlannedStep> Steps,
    double Cost,
    Duration Finish,
    Duration Late,
    double Bound,
    bool Proved,
    IReadOnlyList<RequestId> GuardUsed,
    IReadOnlyList<LeftOut> Unplaced,
    IReadOnlyList<LeftOut> Lost);
