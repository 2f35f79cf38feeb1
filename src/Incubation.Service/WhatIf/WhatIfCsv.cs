using Incubation.Model;
using Incubation.Records.Export;
using Incubation.Simulation.Capacity;

namespace Incubation.Service.WhatIf;

/// <summary>
/// What played days come to, as comma-separated values (<see cref="Csv"/>): a line for each figure of each bench that
/// was played, with the seed by which the same days are played again. Times are minutes; an empty field is not known.
/// </summary>
public static class WhatIfCsv
{
    /// <summary>The names of the columns in their order.</summary>
    public static IReadOnlyList<string> Names { get; } =
        ["of", "figure", "value", "half", "low", "high", "days", "seed"];

    /// <summary>The header and the lines, each with its CRLF.</summary>
    /// <param name="answer">What was found.</param>
    /// <param name="order">How it was played.</param>
    /// <param name="past">What the bench's own record says; null where no period was filled in.</param>
    public static IEnumerable<string> Lines(CapacityAnswer answer, StudyOrder order, PastRecord? past)
    {
        ArgumentNullException.ThrowIfNull(answer);
        ArgumentNullException.ThrowIfNull(order);
        yield return Csv.Line(Names);
        foreach (var (figure, value, low, high) in past is null ? [] : Past(past))
            yield return Csv.Line(["record", figure, Rounded(value), null, Rounded(low), Rounded(high), null, null]);
        foreach (var trial in answer.Beside.Prepend(answer.AsAsked))
            foreach (var one in Of(trial))
                yield return Csv.Line([NameOf(trial), one.Figure, Rounded(one.Value), Rounded(one.Half),
                    Rounded(one.Low), Rounded(one.High), trial.Figures?.Days, order.Seed]);
        foreach (var point in answer.Sweep)
        {
            var slots = $"slots-{point.Slots}";
            yield return Csv.Line([slots, "at-full-stretch-per-hour", Rounded(point.AtFullStretch.Value),
                Rounded(point.AtFullStretch.Half), null, null, null, order.Seed]);
            yield return Csv.Line([slots, "bound-per-hour", Rounded(double.IsFinite(point.Bound)
                ? point.Bound : null), null, null, null, null, order.Seed]);
        }
    }

    private static IEnumerable<(string Figure, double? Value, double? Low, double? High)> Past(PastRecord past)
    {
        var (low, high) = past.MissedPerThousandInterval;
        return
        [
            ("median", past.Times?.Median, null, null), ("ninetieth", past.Times?.Ninth, null, null),
            ("urgent-median", past.Urgent?.Median, null, null), ("urgent-ninetieth", past.Urgent?.Ninth, null, null),
            ("missed-per-thousand", past.MissedPerThousand, low, high),
            ("interrupted-share", past.Interruptions?.Share, null, null),
        ];
    }

    private static IEnumerable<(string Figure, double? Value, double? Half, double? Low, double? High)> Of(Trial trial)
    {
        (string, double?, double?, double?, double?) Plain(string figure, double? value, double? half = null) =>
            (figure, value, half, null, null);
        (string, double?, double?, double?, double?) Time(string figure, TimeEstimate? time) =>
            Plain(figure, time?.Value.TotalMinutes, time?.Half?.TotalMinutes);
        yield return Plain("at-full-stretch-per-hour", trial.AtFullStretch.Value, trial.AtFullStretch.Half);
        yield return Plain("use-hands-at-full-stretch", trial.Use.Hands);
        yield return Plain("use-slots-at-full-stretch", trial.Use.Slots);
        yield return Plain("use-readers-at-full-stretch", trial.Use.Readers);
        yield return Plain("most-per-day", trial.MaxPerDay);
        yield return Plain("wanted-per-day", trial.Question.Demand.PerDay);
        if (trial.Figures is not { } figures)
            yield break;
        yield return Plain("per-hour", figures.PerHour.Value, figures.PerHour.Half);
        yield return Time("median", figures.Median);
        yield return Time("ninetieth", figures.Ninetieth);
        yield return Time("urgent-median", figures.UrgentMedian);
        yield return Time("urgent-ninetieth", figures.UrgentNinetieth);
        var (low, high) = figures.MissedPerThousandInterval;
        yield return ("missed-per-thousand", figures.MissedPerThousand, null, low, high);
        yield return Plain("not-run", figures.NotRun);
        yield return Plain("over", figures.Over.TotalMinutes);
        yield return Plain("use-hands", figures.Use.Hands);
        yield return Plain("use-slots", figures.Use.Slots);
        yield return Plain("use-readers", figures.Use.Readers);
        yield return Plain("waiting-and-running", figures.Little.Number);
        yield return Plain("coming-per-hour", figures.Little.PerHour);
        yield return Plain("stay", figures.Little.Stay.TotalMinutes);
    }

    private static string NameOf(Trial trial) => trial.Added is { } added ? "one-more-" + KebabCase.Of(added)
        : trial.MoreRequests > 0 ? $"{trial.MoreRequests}-more-requests" : "as-asked";

    private static double? Rounded(double? value) => value is { } known ? Math.Round(known, 6) : null;
}
