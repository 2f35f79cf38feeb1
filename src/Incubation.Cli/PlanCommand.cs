using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Planning.Checking;
using NodaTime;

namespace Incubation.Cli;

/// <summary>`plan FILE --out PLAN`: plans a bench day.</summary>
internal static class PlanCommand
{
    private const long MaxIterations = 1_000_000_000_000;

    private static readonly Duration DefaultTime = Duration.FromSeconds(1);
    private static readonly Duration LongestTime = Duration.FromHours(1);

    public static Command Build(TextWriter output, TextWriter error, TimeProvider time)
    {
        var file = new Argument<string>("FILE") { Description = Words.FileDescription };
        var outFile = new Option<string>("--out")
        {
            Description = Words.OutDescription,
            HelpName = "PLAN",
            Required = true
        };
        var timeLimit = new Option<Duration?>("--time")
        {
            Description = Words.TimeDescription,
            HelpName = "PT1S",
            CustomParser = Time
        };
        var iterations = new Option<long?>("--iterations")
        {
            Description = Words.IterationsDescription,
            HelpName = "N",
            CustomParser = Iterations
        };
        var seed = new Option<ulong>("--seed")
        {
            Description = Words.SeedDescription,
            HelpName = "N",
            DefaultValueFactory = _ => 1,
            CustomParser = Seed
        };
        var chart = new Option<string?>("--chart") { Description = Words.ChartDescription, HelpName = "SVG" };
        var command = new Command("plan", Words.PlanDescription) { file, outFile, timeLimit, iterations, seed, chart };
        command.Validators.Add(result =>
        {
            if (result.GetResult(timeLimit) is not null && result.GetResult(iterations) is not null)
                result.AddError(Words.TimeAndIterations);
        });
        command.SetAction(parsed => Run(
            new Order(
                parsed.GetRequiredValue(file), parsed.GetRequiredValue(outFile), parsed.GetValue(chart),
                parsed.GetValue(timeLimit), parsed.GetValue(iterations), parsed.GetValue(seed)),
            output, error, time));
        return command;
    }

    private sealed record Order(string File, string Out, string? Chart, Duration? Time, long? Iterations, ulong Seed);

    private static int Run(Order order, TextWriter output, TextWriter error, TimeProvider time)
    {
        var objection = OutputFiles.Objection("--out", order.Out, order.File)
            ?? (order.Chart is { } path ? OutputFiles.Objection("--chart", path, order.File, order.Out) : null);
        if (objection is not null)
        {
            error.WriteLine(objection);
            return ExitCode.NotUnderstood;
        }
        if (InputFile.Read(order.File, BenchDayFile.Parse, error) is not { } day)
            return ExitCode.NotUnderstood;
        ISearchBudget budget = order.Iterations is { } most
            ? new IterationBudget(most)
            : new TimeBudget(time, (order.Time ?? DefaultTime).ToTimeSpan());
        var result = Planner.Plan(day, order.Seed, budget);
        var faults = PlanChecker.Check(day, result.Plan);
        if (faults.Count > 0)
        {
            FaultReport.Write(faults, error);
            error.WriteLine(Say.Text(Words.OwnPlanBreaksRules, order.Seed, result.Iterations));
            return ExitCode.RuleBroken;
        }
        if (!OutputFiles.Write([.. Files(order, day, result.Plan)], error))
            return ExitCode.NotUnderstood;
        Summary.Write(day, result.Plan, output);
        output.WriteLine(Say.Text(order.Iterations is null ? Words.SummaryByTime : Words.SummaryByIterations,
            result.Iterations, order.Seed));
        return Summary.CodeOf(result.Plan);
    }

    private static IEnumerable<(string Path, string Text)> Files(Order order, BenchDay day, Plan plan)
    {
        yield return (order.Out, PlanFile.Write(plan));
        if (order.Chart is { } chart)
            yield return (chart, ChartOutput.Render(day, plan));
    }

    private static Duration? Time(ArgumentResult result)
    {
        if (IsoDuration.TryParse(Only(result), out var length) && length <= LongestTime)
            return length;
        result.AddError(Say.Text(Words.TimeNotUnderstood, Only(result), LongestTime));
        return null;
    }

    private static long? Iterations(ArgumentResult result)
    {
        if (long.TryParse(Only(result), NumberStyles.None, CultureInfo.InvariantCulture, out var count)
            && count <= MaxIterations)
            return count;
        result.AddError(Say.Text(Words.IterationsNotUnderstood, Only(result), MaxIterations));
        return null;
    }

    internal static ulong Seed(ArgumentResult result)
    {
        if (ulong.TryParse(Only(result), NumberStyles.None, CultureInfo.InvariantCulture, out var seed))
            return seed;
        result.AddError(Say.Text(Words.SeedNotUnderstood, Only(result), ulong.MaxValue));
        return 0;
    }

    private static string Only(ArgumentResult result) => string.Join(' ', result.Tokens.Select(token => token.Value));
}
