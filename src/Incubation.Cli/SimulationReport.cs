using System.Globalization;
using Incubation.Chart;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Simulation;
using NodaTime;

namespace Incubation.Cli;

/// <summary>Says what simulated days come to: a table with its methods, and the chart.</summary>
internal sealed class SimulationReport(BenchDay day, int days, ulong seed, RandomStepLengths times, Plan mean,
    IReadOnlyList<DispatchFigures> figures)
{
    private double MeanPerHour => mean.Finish > Duration.Zero ? day.Requests.Count / mean.Finish.TotalHours : 0;

    public void Write(TextWriter output)
    {
        output.WriteLine(Say.Text(Words.SimulateHead, days, day.Requests.Count, seed, times.CoefficientOfVariation));
        output.WriteLine(Say.Text(Words.SimulateMean, Minutes(mean.Finish), Number(MeanPerHour)));
        output.WriteLine();
        string[] head = [Words.SimulateDispatch, Words.SimulateRead, Words.SimulateMissed, Words.SimulateNotRun,
            Words.SimulatePerHour, Words.SimulateShare, Words.SimulateMedian, Words.SimulateNinth];
        string[][] lines = [head, .. figures.Select((figure, i) => Cells(ManyDays.Dispatches[i], figure))];
        var widths = head.Select((_, column) => lines.Max(line => line[column].Length)).ToArray();
        foreach (var line in lines)
            output.WriteLine(
                string.Join("  ", line.Select((cell, column) => column == 0
                    ? cell.PadRight(widths[column]) : cell.PadLeft(widths[column]))));
        output.WriteLine();
        output.WriteLine(Words.SimulateMethods);
    }

    public string Chart() => DispatchChart.Render(days, day.Requests.Count, [.. figures.Select((figure, i) =>
    {
        var (low, high) = figure.MissedPerThousandInterval;
        return new DispatchRow(
            NameOf(ManyDays.Dispatches[i]), [.. figure.SecondsToResult.Select(seconds => seconds / 60)],
            figure.ToResult(0.5)?.TotalMinutes ?? 0, figure.ToResult(0.9)?.TotalMinutes
                ?? 0, figure.PerHour, figure.MissedPerThousand, low, high);
    })]);

    private string[] Cells(Dispatch dispatch, DispatchFigures figure)
    {
        var (low, high) = figure.MissedPerThousandInterval;
        return
        [
            NameOf(dispatch),
            figure.ReadInWindow.ToString(CultureInfo.InvariantCulture),
            Say.Text(Words.SimulateInterval, Number(figure.MissedPerThousand), Number(low), Number(high)),
            figure.NotRun.ToString(CultureInfo.InvariantCulture),
            Number(figure.PerHour),
            MeanPerHour > 0 ? (figure.PerHour / MeanPerHour).ToString("0.0%", CultureInfo.InvariantCulture)
                : Words.SimulateNone,
            figure.ToResult(0.5) is { } median ? Minutes(median) : Words.SimulateNone,
            figure.ToResult(0.9) is { } ninth ? Minutes(ninth) : Words.SimulateNone,
        ];
    }

    private static string NameOf(Dispatch dispatch) => dispatch switch
    {
        Dispatch.Planned => Words.DispatchPlanned,
        Dispatch.OneAtATime => Words.DispatchOneAtATime,
        _ => Words.DispatchLoadAtOnce,
    };

    private static string Number(double value) => value.ToString("0.00", CultureInfo.InvariantCulture);

    private static string Minutes(Duration length)
    {
        var seconds = (long)Math.Round(length.TotalSeconds);
        return string.Create(CultureInfo.InvariantCulture, $"{seconds / 60}:{seconds % 60:00}");
    }
}
