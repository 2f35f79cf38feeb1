using System.CommandLine;
using System.CommandLine.Parsing;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Simulation.Capacity;
using NodaTime;

namespace Incubation.Cli;

/// <summary>
/// `capacity FILE`: what a bench could do with a demand, what limits it, and what one more of each thing would bring.
/// </summary>
internal static class CapacityCommand
{
    private const int MaxDays = 100_000;
    private const int MaxThreads = 1024;
    private const int MaxMore = 10_000;
    private const int MaxSwept = 60;
    private static readonly Duration UsualOpen = Duration.FromHours(8);
    private static readonly Duration UsualClose = Duration.FromHours(17);

    public static Command Build(TextWriter output, TextWriter error)
    {
        var file = new Argument<string>("FILE") { Description = Words.CapacityFileDescription };
        var demand = new Option<string?>("--demand") { Description = Words.DemandDescription, HelpName = "FILE" };
        var perHour = NumberOption.Real("--per-hour", Words.PerHourDescription, 0, DemandFile.MaxPerHour);
        var urgent = NumberOption.Real("--urgent", Words.UrgentDescription, 0, 1);
        var open = Time("--open", Words.OpenDescription);
        var close = Time("--close", Words.CloseDescription);
        var hands = NumberOption.Whole("--hands", Words.HandsDescription, 1, BenchLimits.Hands);
        var slots = NumberOption.Whole("--slots", Words.SlotsDescription, 0, BenchLimits.Slots);
        var readers = NumberOption.Whole("--readers", Words.ReadersDescription, 1, BenchLimits.Readers);
        var card = new Option<Duration?>("--card-change")
        {
            Description = Words.CardChangeDescription,
            HelpName = "LENGTH",
            CustomParser = Length
        };
        var days = NumberOption.Whole("--days", Words.CapacityDaysDescription, 1, MaxDays);
        var seed = new Option<ulong>("--seed")
        {
            Description = Words.SimulateSeedDescription,
            HelpName = "N",
            DefaultValueFactory = _ => 1,
            CustomParser = PlanCommand.Seed
        };
        var threads = NumberOption.Whole("--threads", Words.ThreadsDescription, 1, MaxThreads);
        var more = NumberOption.Whole("--more", Words.MoreDescription, 1, MaxMore);
        var sweep = NumberOption.Whole("--sweep", Words.SweepDescription, 0, MaxSwept);
        var chart = new Option<string?>("--chart") { Description = Words.SweepChartDescription, HelpName = "SVG" };
        var command = new Command("capacity", Words.CapacityDescription) { file, demand, perHour, urgent, open, close,
            hands, slots, readers, card, days, seed, threads, more, sweep, chart };
        command.SetAction((parsed, stopped) => Task.Run(() => Run(
            new Order(
                parsed.GetRequiredValue(file),
                new Wanted(parsed.GetValue(demand), parsed.GetValue(perHour), parsed.GetValue(urgent),
                    parsed.GetValue(open), parsed.GetValue(close)),
                bench => bench with
                {
                    Hands = parsed.GetValue(hands) ?? bench.Hands,
                    Slots = parsed.GetValue(slots) ?? bench.Slots,
                    Readers = parsed.GetValue(readers) ?? bench.Readers,
                    CardChange = parsed.GetValue(card) ?? bench.CardChange,
                },
                new StudyOrder(parsed.GetValue(days) ?? 200, parsed.GetValue(seed), parsed.GetValue(more)
                    ?? 10, parsed.GetValue(sweep) ?? 24),
                parsed.GetValue(threads) ?? Environment.ProcessorCount, parsed.GetValue(chart)),
            output, error, stopped), CancellationToken.None));
        return command;
    }

    private sealed record Wanted(string? File, double? PerHour, double? Urgent, Duration? Open, Duration? Close);

    private sealed record Order(string File, Wanted Wanted, Func<BenchSetup, BenchSetup> Bench, StudyOrder Study,
        int Threads, string? Chart);

    private static int Run(Order order, TextWriter output, TextWriter error, CancellationToken stopped)
    {
        if (Objection(order) is { } objection)
        {
            error.WriteLine(objection);
            return ExitCode.NotUnderstood;
        }
        if (InputFile.Read(order.File, BenchDayFile.Parse, error) is not { } day
            || DemandOf(order, day, error) is not { } demand)
            return ExitCode.NotUnderstood;
        var question = new CapacityQuestion(order.Bench(day.Bench), [.. day.Assays], demand);
        if (Unfit(order, question) is { } why)
        {
            error.WriteLine(why);
            return ExitCode.NotUnderstood;
        }
        var progress = new CapacityProgress(ReferenceEquals(error, Console.Error) && !Console.IsErrorRedirected
            ? error : null);
        CapacityAnswer answer;
        try
        {
            answer = CapacityStudy.Answer(question, order.Study, order.Threads, progress.Tell, stopped);
        }
        catch (OperationCanceledException)
        {
            error.WriteLine(Words.CapacityInterrupted);
            return ExitCode.Interrupted;
        }
        finally
        {
            progress.End();
        }
        var report = new CapacityReport(answer, order.Study);
        if (order.Chart is { } chart && !OutputFiles.Write([(chart, report.Chart())], error))
            return ExitCode.NotUnderstood;
        report.Write(output);
        return answer.AsAsked.TooMany > 0 || answer.AsAsked.Figures is { NotRun: > 0 }
            ? ExitCode.LeftOut : ExitCode.Done;
    }

    /// <summary>What in the command line contradicts the rest, or null.</summary>
    private static string? Objection(Order order)
    {
        if (order.Wanted.File is not null == order.Wanted.PerHour is not null)
            return Words.DemandOneOf;
        if (order.Wanted.File is not null && (order.Wanted.Open ?? order.Wanted.Close) is not null)
            return Words.HoursStandInFile;
        if ((order.Wanted.Close ?? UsualClose) <= (order.Wanted.Open ?? UsualOpen))
            return Words.CloseNotAfterOpen;
        if (order.Chart is null)
            return null;
        return order.Study.MaxSlots == 0
            ? Words.ChartWithoutSweep : OutputFiles.Objection("--chart", order.Chart, order.File, order.Wanted.File);
    }

    private static Demand? DemandOf(Order order, BenchDay day, TextWriter error)
    {
        var wanted = order.Wanted;
        var demand = wanted.File is { } file
            ? InputFile.Read(file, text => DemandFile.Parse(text, [.. day.Assays.Select(assay => assay.Code)]), error)
            : AsTheDay(day, wanted.PerHour!.Value, wanted.Open ?? UsualOpen, wanted.Close ?? UsualClose);
        if (demand is null)
            return null;
        if (demand.PerDay > 0)
            return wanted.Urgent is { } urgent ? demand with { UrgentShare = urgent } : demand;
        error.WriteLine(Say.Text(Words.NothingWanted, wanted.File ?? "--per-hour"));
        return null;
    }

    /// <summary>
    /// So many an hour, of each assay as often as the day has it; of all alike where it has no requests.
    /// </summary>
    private static Demand AsTheDay(BenchDay day, double perHour, Duration open, Duration close)
    {
        var assays = day.Requests.Count > 0
            ? [.. day.Requests.Select(request => request.Assay)] : day.Assays.Select(assay => assay.Code).ToList();
        var urgent = day.Requests.Count > 0
            ? (double)day.Requests.Count(request => request.Priority == Priority.Urgent) / day.Requests.Count : 0;
        return new Demand(open, close, urgent, perHour > 0
            ? [.. assays.GroupBy(code => code)
                .Select(code => new DemandRate(code.Key, open, close, perHour * code.Count() / assays.Count))]
            : []);
    }

    /// <summary>Why a bench cannot run an assay that is wanted of it, or null.</summary>
    private static string? Unfit(Order order, CapacityQuestion question)
    {
        var start = Instant.FromUtc(2026, 1, 5, 0, 0);
        foreach (
            var assay in question.Assays.Where(assay => question.Demand.Rates.Any(rate => rate.Assay == assay.Code)))
        {
            var request = new Request(new RequestId("1"), new SpecimenId("1"), assay.Code, new LotCode("1"), start,
                RequestKind.Patient, true, Priority.Routine, null, null, []);
            var plan = Planner.Plan(new BenchDay(start, question.Bench, question.Assays, [request], [], null),
                order.Study.Seed, new IterationBudget(0)).Plan;
            if (plan.Unplaced.Count > 0)
                return Say.Text(Words.AssayDoesNotFit, order.File, assay.Code, LeftOutText.Of(plan.Unplaced[0].Why));
        }

        return null;
    }

    private static Option<Duration?> Time(string name, string description) => new(name)
    {
        Description = description,
        HelpName = "HH:MM",
        CustomParser = result =>
        {
            var text = string.Join(' ', result.Tokens.Select(token => token.Value));
            if (DemandFile.ParseTime(text) is { } time)
                return time;
            result.AddError(Say.Text(Words.TimeOfDayNotUnderstood, name, text));
            return null;
        },
    };

    private static Duration? Length(ArgumentResult result)
    {
        var text = string.Join(' ', result.Tokens.Select(token => token.Value));
        if (IsoDuration.TryParse(text, out var length) && length <= Duration.FromHours(1))
            return length;
        result.AddError(Say.Text(Words.CardChangeNotUnderstood, text));
        return null;
    }
}

/// <summary>Tells on a terminal how far a study has come.</summary>
/// <param name="terminal">Where it is told, or null.</param>
internal sealed class CapacityProgress(TextWriter? terminal)
{
    private readonly Lock writing = new();
    private int shown = -1;

    /// <summary>So much is done, 0 to 1.</summary>
    public void Tell(double part)
    {
        if (terminal is null)
            return;
        lock (writing)
        {
            var percent = (int)(part * 100);
            if (percent <= shown)
                return;
            shown = percent;
            terminal.Write('\r' + Say.Text(Words.CapacityProgress, percent));
        }
    }

    /// <summary>Takes the line away.</summary>
    public void End() => terminal?.Write('\r' + new string(' ', Say.Text(Words.CapacityProgress, 100).Length) + '\r');
}
