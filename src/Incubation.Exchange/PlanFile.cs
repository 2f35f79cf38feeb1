using Incubation.Exchange.Json;
using Incubation.Planning;

namespace Incubation.Exchange;

/// <summary>
/// Reads and writes plan files: the answers to bench days as JSON. The README of this room describes every member.
/// </summary>
public static class PlanFile
{
    /// <summary>
    /// Reads a plan. Only its form is judged here; whether it keeps the rules on its day is for
    /// <see cref="Planning.Checking.PlanChecker"/> to say.
    /// </summary>
    /// <param name="json">The text of the file.</param>
    public static ParseResult<Plan> Parse(string json)
    {
        ArgumentNullException.ThrowIfNull(json);
        var faults = new FaultList();
        var plan = JsonText.Read(json, faults) is { } root ? PlanReader.Read(root, faults) : null;
        return faults.Result(plan);
    }

    /// <summary>Writes a plan as a file that <see cref="Parse"/> reads back as the same plan.</summary>
    public static string Write(Plan plan)
    {
        ArgumentNullException.ThrowIfNull(plan);
        return PlanWriter.Write(plan);
    }
}
