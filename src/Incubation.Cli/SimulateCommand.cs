using System.CommandLine;
using System.Globalization;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Simulation;

namespace Incubation.Cli;

/// <summary>`simulate FILE`: plays a bench day many times, by this program and by two plain habits.</summary>
internal static class SimulateCommand
{
    private const int MaxDays = 1_000_000;
    private const int MaxThreads = 1024;

    /// <summary>For the one plan with mean times, which is worth a good search.</summary>
    private const long MeanPlanIterations = 20_000;

    public static Command Build(TextWriter output, TextWriter error)
    {
        var file = new Argument<string>("FILE") { Description = Words.FileDescription };
        var days = Number("--days", Words.DaysDescription, 1000, MaxDays, Words.DaysNotUnderstood);
        var threads = Number("--threads", Words.ThreadsDescription, Environment.ProcessorCount, MaxThreads,
            Words.ThreadsNotUnderstood);
        var seed = new Option<ulong>("--seed")
        {
            Description = Words.SimulateSeedDescription,
            HelpName = "N",
            DefaultValueFactory = _ => 1,
            CustomParser = PlanCommand.Seed
        };
        var chart = new Option<string?>("--chart") { Description = Words.SimulateChartDescription, HelpName = "SVG" };
        var command = new Command("simulate", Words.SimulateDescription) { file, days, seed, threads, chart };
        // On a thread of its own: Ctrl-C is heard only once the action has been handed over.
        command.SetAction((parsed, stopped) => Task.Run(() => Run(
            new Order(parsed.GetRequiredValue(file), parsed.GetValue(days), parsed.GetValue(seed),
                parsed.GetValue(threads), parsed.GetValue(chart)),
            output, error, stopped), CancellationToken.None));
        return command;
    }

    private sealed record Order(string File, int Days, ulong Seed, int Threads, string? Chart);

    private static int Run(Order order, TextWriter output, TextWriter error, CancellationToken stopped)
    {
        if (order.Chart is { } path && OutputFiles.Objection("--chart", path, order.File) is { } objection)
        {
            error.WriteLine(objection);
            return ExitCode.NotUnderstood;
        }
        if (InputFile.Read(order.File, BenchDayFile.Parse, error) is not { } read || !CanPlay(order.File, read, error))
            return ExitCode.NotUnderstood;
        var times = new RandomStepLengths();
        var (day, left) = WithoutUnplaced(read, order.Seed);
        if (day.Requests.Count == 0)
        {
            error.WriteLine(Say.Text(Words.NothingToSimulate, order.File));
            return ExitCode.NotUnderstood;
        }
        var mean = Planner.Plan(DispatchedDay.WithMeanTimes(day, times), order.Seed,
            new IterationBudget(MeanPlanIterations)).Plan;
        var progress = new DayProgress(order.Days, ReferenceEquals(error, Console.Error) && !Console.IsErrorRedirected
            ? error : null);
        if (ManyDays.Play(day, order.Days, order.Seed, order.Threads, times, progress, stopped) is not { } figures)
        {
            error.WriteLine(Say.Text(Words.SimulateInterrupted, progress.Done, order.Days));
            return ExitCode.Interrupted;
        }
        var report = new SimulationReport(day, order.Days, order.Seed, times, mean, figures);
        if (order.Chart is { } chart && !OutputFiles.Write([(chart, report.Chart())], error))
            return ExitCode.NotUnderstood;
        report.Write(output);
        foreach (var request in left)
            output.WriteLine(Say.Text(Words.SimulateUnplaced, request.Request, LeftOutText.Of(request.Why)));
        return left.Count > 0 ? ExitCode.LeftOut : ExitCode.Done;
    }

    private static bool CanPlay(string file, BenchDay day, TextWriter error)
    {
        if (DispatchedDay.CanPlay(day))
            return true;
        error.WriteLine(Say.Text(day.MidRun is null ? Words.CannotSimulateCalendar : Words.CannotSimulateMidRun, file));
        return false;
    }

    /// <summary>
    /// The day without the requests that no plan can place: they would count against every dispatch alike.
    /// </summary>
    private static (BenchDay Day, IReadOnlyList<LeftOut> Left) WithoutUnplaced(BenchDay day, ulong seed)
    {
        var left = Planner.Plan(day, seed, new IterationBudget(0)).Plan.Unplaced;
        var gone = left.Select(omitted => omitted.Request).ToHashSet();
        return (gone.Count == 0
            ? day : day with { Requests = [.. day.Requests.Where(request => !gone.Contains(request.Id))] },
            left);
    }

    private static Option<int> Number(string name, string description, int usual, int most, string complaint) =>
        new(name)
        {
            Description = description,
            HelpName = "N",
            DefaultValueFactory = _ => usual,
            CustomParser = result =>
            {
                var text = string.Join(' ', result.Tokens.Select(token => token.Value));
                if (int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var number) && number >= 1
                    && number <= most)
                    return number;
                result.AddError(Say.Text(complaint, text, most));
                return usual;
            },
        };
}
