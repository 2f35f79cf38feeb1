using Incubation.Planning.Checking;

namespace Incubation.Cli;

/// <summary>Says which rules a plan breaks, and where.</summary>
internal static class FaultReport
{
    public static void Write(IReadOnlyList<PlanFault> faults, TextWriter output)
    {
        foreach (var fault in faults)
        {
            var where = fault.StepIndex is { } index ? $"$.steps[{index}]" : "$";
            output.WriteLine(fault.Rule == 0
                ? Say.Text(Words.FormBroken, where, fault.What)
                : Say.Text(Words.RuleBroken, fault.Rule, where, fault.What));
        }
    }
}
