using System.Globalization;
using Incubation.Chart;
using Incubation.Simulation.Capacity;
using NodaTime;

namespace Incubation.Cli;

/// <summary>
/// Says what a bench could do: what limits it, a table of what one more of each thing brings, the sweep, the methods.
/// </summary>
internal sealed class CapacityReport(CapacityAnswer answer, StudyOrder order)
{
    private Trial Asked => answer.AsAsked;

    public void Write(TextWriter output)
    {
        var (bench, demand) = (Asked.Question.Bench, Asked.Question.Demand);
        output.WriteLine(Say.Text(
            Words.CapacityHead, One(demand.PerDay), Percent(demand.UrgentShare), Clock(demand.Open),
                Clock(demand.Close), bench.Hands, bench.Slots, bench.Readers, order.Days, order.Seed));
        output.WriteLine(Limit());
        if (Asked.TooMany > 0)
            output.WriteLine(Say.Text(Words.CapacityTooMuch, One(demand.PerDay), One(Asked.MaxPerDay),
                One(Asked.TooMany), Number(demand.PerDay / Asked.MaxPerDay)));
        output.WriteLine();
        Table(output, [.. Rows()]);
        output.WriteLine();
        if (!answer.Sweep.IsEmpty)
        {
            output.WriteLine(answer.Knee is { } knee
                ? Say.Text(Words.CapacityKnee, knee, One(answer.Sweep[knee - 1].AtFullStretch.Value),
                    answer.Sweep.Length, One(answer.Sweep.Max(point => point.AtFullStretch.Value)))
                : Words.CapacityNoKnee);
            Table(output, [
                [Words.ColumnSlots,
                    .. answer.Sweep.Select(point => point.Slots.ToString(CultureInfo.InvariantCulture))],
                [Words.ColumnPerHour, .. answer.Sweep.Select(point => One(point.AtFullStretch.Value))],
                [Words.ColumnBound, .. answer.Sweep.Select(point => double.IsFinite(point.Bound)
                    ? One(point.Bound) : Words.SimulateNone)],
            ]);
            output.WriteLine();
        }

        if (Asked.Figures is { } figures)
            output.WriteLine(Say.Text(Words.CapacityLittle, Number(figures.Little.Number),
                Number(figures.Little.PerHour), Minutes(figures.Little.Stay), (figures.Little.Difference * 100)
                .ToString("0.####", CultureInfo.InvariantCulture)));
        output.WriteLine(Say.Text(Words.CapacityMethods, order.Compared));
    }

    public string Chart() => SweepChart.Render(
        [.. answer.Sweep.Select(point =>
            new SweepRow(point.Slots, point.AtFullStretch.Value, point.AtFullStretch.Half ?? 0, point.Bound))],
        answer.Knee,
            Asked.Question.Demand.PerDay / (Asked.Question.Demand.Close - Asked.Question.Demand.Open).TotalHours);

    private string Limit()
    {
        var use = Asked.Use;
        var uses = Say.Text(Words.CapacityStretchUse, Percent(use.Hands), Percent(use.Slots), Percent(use.Readers));
        return (answer.Limit switch
        {
            Resource.Hands => Words.LimitHands,
            Resource.Slots => Words.LimitSlots,
            Resource.Readers => Words.LimitReaders,
            _ => Words.LimitNone,
        }) + " " + uses;
    }

    private IEnumerable<string[]> Rows()
    {
        Trial[] trials = [Asked, .. answer.Beside];
        yield return [Words.ColumnWhat, .. trials.Select(NameOf)];
        yield return [Words.RowStretch, .. trials.Select(trial => Interval(trial.AtFullStretch))];
        yield return [Words.RowMostPerDay, .. trials.Select(trial => One(trial.MaxPerDay))];
        yield return [Words.RowWanted, .. trials.Select(trial => One(trial.Question.Demand.PerDay))];
        yield return Row(Words.RowPerHour, trials, figures => Interval(figures.PerHour));
        yield return Row(Words.RowMedian, trials, figures => Interval(figures.Median));
        yield return Row(Words.RowNinetieth, trials, figures => Interval(figures.Ninetieth));
        yield return Row(Words.RowUrgentMedian, trials, figures => Interval(figures.UrgentMedian));
        yield return Row(Words.RowUrgentNinetieth, trials, figures => Interval(figures.UrgentNinetieth));
        yield return Row(Words.RowMissed, trials, figures =>
            Say.Text(Words.SimulateInterval, Number(figures.MissedPerThousand),
                Number(figures.MissedPerThousandInterval.Low), Number(figures.MissedPerThousandInterval.High)));
        yield return Row(Words.RowNotRun, trials, figures => figures.NotRun.ToString(CultureInfo.InvariantCulture));
        yield return Row(Words.RowOver, trials, figures => Minutes(figures.Over));
        yield return Row(Words.RowUseHands, trials, figures => Percent(figures.Use.Hands));
        yield return Row(Words.RowUseSlots, trials, figures => Percent(figures.Use.Slots));
        yield return Row(Words.RowUseReaders, trials, figures => Percent(figures.Use.Readers));
    }

    private static string[] Row(string name, IEnumerable<Trial> trials, Func<CapacityFigures, string> cell) =>
        [name, .. trials.Select(trial => trial.Figures is { } figures ? cell(figures) : Words.TooMuchCell)];

    private static string NameOf(Trial trial) => trial.Added switch
    {
        Resource.Hands => Words.TrialHands,
        Resource.Slots => Words.TrialSlot,
        Resource.Readers => Words.TrialReader,
        _ => trial.MoreRequests > 0 ? Say.Text(Words.TrialMore, trial.MoreRequests) : Words.TrialAsked,
    };

    private static void Table(TextWriter output, string[][] lines)
    {
        var widths = lines[0].Select((_, column) => lines.Max(line => line[column].Length)).ToArray();
        foreach (var line in lines)
            output.WriteLine(
                string.Join("  ", line.Select((cell, column) => column == 0
                    ? cell.PadRight(widths[column]) : cell.PadLeft(widths[column]))));
    }

    private static string Interval(Estimate estimate) => estimate.Half is { } half
        ? Say.Text(Words.PlusMinus, One(estimate.Value), One(half)) : One(estimate.Value);

    private static string Interval(TimeEstimate? estimate) => estimate switch
    {
        null => Words.SimulateNone,
        { Half: { } half } => Say.Text(Words.PlusMinus, Minutes(estimate.Value), Minutes(half)),
        _ => Minutes(estimate.Value),
    };

    private static string One(double value) => value.ToString("0.0", CultureInfo.InvariantCulture);

    private static string Number(double value) => value.ToString("0.00", CultureInfo.InvariantCulture);

    private static string Percent(double part) => part.ToString("0%", CultureInfo.InvariantCulture);

    private static string Clock(Duration time) =>
        string.Create(CultureInfo.InvariantCulture, $"{(int)time.TotalHours:00}:{time.Minutes:00}");

    private static string Minutes(Duration length)
    {
        var seconds = (long)Math.Round(length.TotalSeconds);
        return string.Create(CultureInfo.InvariantCulture, $"{seconds / 60}:{seconds % 60:00}");
    }
}
