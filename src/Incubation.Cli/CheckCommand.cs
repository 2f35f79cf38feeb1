using System.CommandLine;
using Incubation.Exchange;
using Incubation.Planning.Checking;

namespace Incubation.Cli;

/// <summary>`check FILE PLAN`: holds a plan against the rules on its day.</summary>
internal static class CheckCommand
{
    public static Command Build(TextWriter output, TextWriter error)
    {
        var file = new Argument<string>("FILE") { Description = Words.FileDescription };
        var plan = new Argument<string>("PLAN") { Description = Words.PlanFileDescription };
        var command = new Command("check", Words.CheckDescription) { file, plan };
        command.SetAction(parsed => Run(parsed.GetRequiredValue(file), parsed.GetRequiredValue(plan), output, error));
        return command;
    }

    private static int Run(string file, string planFile, TextWriter output, TextWriter error)
    {
        var day = InputFile.Read(file, BenchDayFile.Parse, error);
        var plan = InputFile.Read(planFile, PlanFile.Parse, error);
        if (day is null || plan is null)
            return ExitCode.NotUnderstood;
        var faults = PlanChecker.Check(day, plan);
        if (faults.Count > 0)
        {
            FaultReport.Write(faults, output);
            output.WriteLine(Say.Text(Words.PlanBreaksRules, planFile, file, faults.Count));
            return ExitCode.RuleBroken;
        }
        output.WriteLine(Say.Text(Words.PlanKeepsRules, planFile, file));
        Summary.Write(day, plan, output);
        return Summary.CodeOf(plan);
    }
}
