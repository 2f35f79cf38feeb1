namespace Incubation.Server.Tests.Demo;

/// <summary>
/// Every number of every report, counted from the lines of <c>cartridges.csv</c> alone, in plain arithmetic that shares
/// nothing with the reports. A table is its rows, a row its cells after the first column of words; null is an empty
/// cell.
/// </summary>
internal sealed class Recount
{
    private static readonly string[] Steps =
        ["waiting", "mixToLoad", "incubation", "waitingForReader", "reading", "resultEntry"];

    private readonly List<CsvLine> all;
    private readonly List<CsvLine> patients;
    private readonly List<CsvLine> batches;

    /// <summary>Of the lines asked for in a period, and the batches started in it.</summary>
    public Recount(IReadOnlyList<CsvLine> lines, DateOnly from, DateOnly to)
    {
        bool In(CsvLine line, string name) => line.Time(name) is { } at && Day(at) >= from && Day(at) <= to;
        all = [.. lines.Where(line => In(line, "asked")).OrderBy(line => line.Time("asked"))];
        patients = [.. all.Where(line => line["kind"] == "patient")];
        batches = [.. lines.Where(line => line.Has("batchWorkEnd") && In(line, "batchStarted"))
            .DistinctBy(line => (line["bench"], line["batch"]))];
    }

    public static DateOnly Day(DateTimeOffset at) => DateOnly.FromDateTime(at.DateTime);

    public List<double?[]> TimeBySteps() =>
        [.. Steps.Select(step => Spread(patients.Select(line => Minutes(line, step)))), Spread(patients.Select(Whole))];

    /// <summary>By the hour of the clinic's clock.</summary>
    public List<(int Hour, double?[] Cells)> TimeByHour() => [.. patients
        .GroupBy(line => line.Time("asked")!.Value.Hour).OrderBy(hour => hour.Key)
        .Select(hour => (hour.Key, Spread(hour.Select(Whole))))];

    public List<double?[]> TimeByPriority() => [.. new[] { "urgent", "routine" }
        .Select(priority => Spread(patients.Where(line => line["priority"] == priority).Select(Whole)))];

    public Dictionary<string, double?[]> TimeBy(string column) => patients.GroupBy(line => line[column])
        .ToDictionary(group => group.Key, group => Spread(group.Select(Whole)));

    public List<(string Reason, double?[] Cells)> Discards()
    {
        var wasted = all.Where(IsWasted).ToList();
        var sum = 0;
        return [.. wasted.GroupBy(line => line.Has("discardReason") ? line["discardReason"] : "other")
            .OrderByDescending(group => group.Count())
            .Select(group => (group.Key, new double?[]
            {
                group.Count(), (double)(sum += group.Count()) / wasted.Count,
            }))];
    }

    /// <summary>The chart of proportions, day by day: limits at three binomial standard deviations.</summary>
    public List<(DateOnly Day, double?[] Cells)> DiscardsOverTime()
    {
        var days = all.Where(IsUsed).GroupBy(line => Day(line.Time("asked")!.Value)).OrderBy(day => day.Key).ToList();
        var mean = (double)all.Count(IsWasted) / all.Count(IsUsed);
        return [.. days.Select(day =>
        {
            var (n, count) = (day.Count(), day.Count(IsWasted));
            var reach = 3 * Math.Sqrt(mean * (1 - mean) / n);
            return (day.Key, new double?[]
            {
                n, count, (double)count / n, Math.Max(0, mean - reach), Math.Min(1, mean + reach),
            });
        })];
    }

    /// <summary>The days whose proportion is outside its limits.</summary>
    public double?[] DaysBeyond() => [DiscardsOverTime().Count(day => day.Cells[2] < day.Cells[3]
        || day.Cells[2] > day.Cells[4])];

    public List<(DateOnly Day, double?[] Cells)> Requests() => [.. all
        .GroupBy(line => Day(line.Time("asked")!.Value)).OrderBy(day => day.Key)
        .Select(day =>
        {
            var discarded = day.Count(line => line["standing"] == "discarded");
            var withResult = day.Count(line => line.Has("resultEntered") && line["standing"] != "discarded");
            var withdrawn = day.Count(line => line["standing"] == "withdrawn");
            return (day.Key, new double?[]
            {
                day.Count(), day.Count(line => line["kind"] == "patient"), day.Count(line => line["kind"] == "control"),
                day.Count(line => line["priority"] == "urgent"), withResult, discarded, withdrawn,
                day.Count() - withResult - discarded - withdrawn,
            });
        })];

    /// <summary>Batches, hours worked, parts busy of hands, slots and readers, cartridges an hour.</summary>
    public Dictionary<string, double?[]> Use() => batches.Where(batch => Hours(batch) > 0)
        .GroupBy(batch => batch["bench"]).ToDictionary(bench => bench.Key, bench =>
        {
            double? Part(string what)
            {
                var there = bench.Sum(batch => Hours(batch) * batch.Number("batch" + what)!.Value);
                return there > 0 ? bench.Sum(batch => batch.Number($"batch{what}Busy")!.Value) / 3600 / there : null;
            }

            var worked = bench.Sum(Hours);
            return new double?[]
            {
                bench.Count(), worked, Part("Hands"), Part("Slots"), Part("Readers"),
                bench.Sum(batch => batch.Number("batchCartridges")) / worked,
            };
        });

    /// <summary>Reads by tenths of their windows; those before and after first and last.</summary>
    public List<double?[]> Windows() => Classes(all
        .Where(line => line.Has("windowOpens") && line.Has("windowCloses") && line.Has("moveEnd")
            && Between(line, "windowOpens", "windowCloses") > 0)
        .Select(line => Between(line, "windowOpens", "moveEnd")!.Value
            / Between(line, "windowOpens", "windowCloses")!.Value), 0, 0.1, 10);

    /// <summary>Cartridges by their least spare time, in classes of twenty seconds.</summary>
    public List<double?[]> Spare() =>
        Classes(all.Where(line => line.Has("spare")).Select(line => line.Number("spare")!.Value), 0, 20, 15);

    public List<double?[]> Planned() =>
    [
        Spread(batches.Where(batch => batch.Has("batchPlannedEnd"))
            .Select(batch => Between(batch, "batchPlannedEnd",
                batch.Time("batchWorkEnd") > batch.Time("batchStarted") ? "batchWorkEnd" : "batchStarted"))),
        .. new[] { ("mixPlannedEnd", "mixEnd"), ("loadPlannedEnd", "loadEndLatest"), ("movePlannedEnd", "moveEnd"),
            ("clearPlannedEnd", "clearEnd") }
            .Select(step => Spread(all.Select(line => Between(line, step.Item1, step.Item2)))),
    ];

    /// <summary>The day whose median is longest, of those with at least five results.</summary>
    public DateOnly LongestDay() => patients.GroupBy(line => Day(line.Time("asked")!.Value))
        .Select(day => (day.Key, Of: Spread(day.Select(Whole)))).Where(day => day.Of[0] >= 5)
        .MaxBy(day => day.Of[1]).Key;

    public List<double?[]> DaySteps(DateOnly day) => [.. Steps.Append("").Select(step =>
    {
        double?[] Of(bool own) => Spread(patients.Where(line => Day(line.Time("asked")!.Value) == day == own)
            .Select(line => step.Length == 0 ? Whole(line) : Minutes(line, step)));
        var (here, usual) = (Of(true), Of(false));
        return new[] { here[1], usual[1], here[1] - usual[1], here[0] };
    })];

    public List<(int Hour, double?[] Cells)> DayHours(DateOnly day)
    {
        var days = patients.Select(line => Day(line.Time("asked")!.Value)).Distinct().Count(one => one != day);
        return [.. patients.GroupBy(line => line.Time("asked")!.Value.Hour).OrderBy(hour => hour.Key).Select(hour =>
        {
            var of = hour.ToLookup(line => Day(line.Time("asked")!.Value) == day);
            var (here, usual) = (Spread(of[true].Select(Whole)), Spread(of[false].Select(Whole)));
            return (hour.Key, new[]
            {
                of[true].Count(), (double)of[false].Count() / days, here[1], usual[1], here[1] - usual[1],
            });
        })];
    }

    /// <summary>
    /// How long each step of each assay took beside its sheet: count, left out, 5th, 50th and 95th percentile, allowed,
    /// learned, shortest, shortest learned, parts beyond what is allowed and beyond what was learned.
    /// </summary>
    public List<double?[]> StepTimes() => [.. all.Where(IsUsed).GroupBy(line => line["assay"])
        .OrderBy(assay => assay.Key, StringComparer.Ordinal)
        .SelectMany(assay => new[] { ("mix", "mixBegin", "mixEnd"), ("load", "loadBegin", "loadEndLatest"),
            ("move", "moveBegin", "moveEnd"), ("clear", "clearBegin", "clearEnd") }
            .Select(step => StepTime([.. assay], step.Item1, step.Item2, step.Item3)))];

    private static double?[] StepTime(List<CsvLine> lines, string step, string begin, string end)
    {
        var done = lines.Where(line => line.Has(begin) && line.Has(end)).ToList();
        var kept = done.Where(line => line.Has(step + "PlannedEnd"))
            .Select(line => (Seconds: Between(line, begin, end)!.Value * 60, Allowed: line.Number(step + "Allowed")))
            .Where(one => one.Seconds > 0 && one.Seconds <= 3 * one.Allowed).Select(one => one.Seconds).Order()
            .ToList();
        var allowed = lines.MaxBy(line => line.Number("assayVersion"))!.Number(step + "Allowed")!.Value;
        var shortest = step is "mix" or "load"
            ? lines.MaxBy(line => line.Number("assayVersion"))!.Number(step + "Shortest") : null;
        double Mixed(double part, double sheet) => kept.Count == 0
            ? sheet : Math.Round(((kept.Count * At(kept, part)) + (20 * sheet)) / (kept.Count + 20), 6);
        double? Beyond(double length) => kept.Count == 0
            ? null : (double)kept.Count(seconds => seconds > length) / kept.Count;
        double? Percentile(double part) => kept.Count == 0 ? null : At(kept, part) / 60;
        var learned = Math.Ceiling(Mixed(0.95, allowed));
        return
        [
            kept.Count, done.Count - kept.Count, Percentile(0.05), Percentile(0.5), Percentile(0.95), allowed / 60,
            learned / 60, shortest / 60, shortest is { } least ? Math.Floor(Mixed(0.05, least)) / 60 : null,
            Beyond(allowed), Beyond(learned),
        ];
    }

    /// <summary>
    /// What the record's side of What if says: median and 90th percentile of all and of urgent ones, missed for every
    /// 1,000 used with its interval, which part of the steps was interrupted.
    /// </summary>
    public double?[] WhatIf()
    {
        var used = all.Where(IsUsed).ToList();
        double?[] Times(IEnumerable<CsvLine> lines) => Spread(lines
            .Where(line => line["inWindow"] != "no" && line["standing"] != "discarded")
            .Select(line => NotNegative(Between(line, "asked", "clearEnd"))));
        var missed = used.Count(line => line["inWindow"] == "no" || line["standing"] == "discarded");
        var (low, high) = Wilson(missed, used.Count);
        var steps = used.SelectMany(line => new[] { ("mix", "mixBegin", "mixEnd"),
            ("load", "loadBegin", "loadEndLatest"), ("move", "moveBegin", "moveEnd"),
            ("clear", "clearBegin", "clearEnd") }
            .Select(step => (Length: Between(line, step.Item2, step.Item3) * 60,
                Allowed: line.Number(step.Item1 + "Allowed")))).Where(step => step.Length > 0).ToList();
        var (every, urgent) = (Times(used), Times(used.Where(line => line["priority"] == "urgent")));
        return [every[1], every[2], urgent[1], urgent[2], 1000.0 * missed / used.Count, 1000 * low, 1000 * high,
            (double)steps.Count(step => step.Length > 3 * step.Allowed) / steps.Count];
    }

    /// <summary>
    /// Wilson's 95 % interval of a proportion (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927; from memory).
    /// </summary>
    private static (double Low, double High) Wilson(int count, int of)
    {
        const double Z = 1.959963984540054;
        var (part, square) = ((double)count / of, Z * Z / of);
        var reach = Z * Math.Sqrt((part * (1 - part) / of) + (square / of / 4));
        return ((part + (square / 2) - reach) / (1 + square), (part + (square / 2) + reach) / (1 + square));
    }

    /// <summary>
    /// What else happened on a day, in the batches started on it: when, on which bench, and what, from the lines of
    /// <c>happenings.csv</c>.
    /// </summary>
    public static List<(string At, string What)> Happened(IEnumerable<CsvLine> happenings, DateOnly day)
    {
        string[] explains = ["put-out-of-use", "put-back-in-use", "hands-changed", "intake-paused", "intake-resumed",
            "temperature-measured", "card-doubted", "restarted", "lot-gate-set", "ready-changed", "priority-changed",
            "specimen-rejected", "clock-doubted", "planning-noted"];
        return [.. happenings.Where(line => explains.Contains(line["event"]) && line.Has("batchStarted")
                && Day(line.Time("batchStarted")!.Value) == day && Day(line.Time("at")!.Value) == day)
            .OrderBy(line => line.Time("at")).Select(line => ($"{line.Time("at"):HH:mm}", line["what"]))];
    }

    /// <summary>Everything by which a finding may count, each as people read it.</summary>
    public static HashSet<string> Countable(IEnumerable<double?[]> cells)
    {
        var found = new HashSet<string>(StringComparer.Ordinal);
        void Add(double? number)
        {
            if (number is not { } known)
                return;
            var seconds = (long)Math.Round(Math.Abs(known) * 60);
            found.Add(seconds < 3600 ? $"{seconds / 60}:{seconds % 60:00}"
                : $"{seconds / 3600}:{seconds / 60 % 60:00}:{seconds % 60:00}");
            foreach (var one in new[] { known, 100 * known, Math.Ceiling(100 * known), Math.Round(100 * known) })
                found.Add(one.ToString("0.#", System.Globalization.CultureInfo.InvariantCulture));
        }

        foreach (var cell in cells.SelectMany(row => row))
            Add(cell);
        return found;
    }

    /// <summary>The results of all patients: how many, their median, their 90th percentile.</summary>
    public double?[] Results() => Spread(patients.Select(Whole));

    /// <summary>Used cartridges, those thrown away, and which part that is.</summary>
    public double?[] Wasted() =>
        [all.Count(IsUsed), all.Count(IsWasted), (double)all.Count(IsWasted) / all.Count(IsUsed)];

    /// <summary>Requests, days with one, the median of a day, the most.</summary>
    public double?[] RequestDays()
    {
        var days = all.CountBy(line => Day(line.Time("asked")!.Value)).Select(day => (double)day.Value).Order()
            .ToList();
        return [all.Count, days.Count, At(days, 0.5), days[^1]];
    }

    /// <summary>Reads inside their windows, all, the part, and the middle of where in them they started.</summary>
    public double?[] Reads()
    {
        var positions = all.Where(line => line.Has("windowOpens") && line.Has("windowCloses") && line.Has("moveEnd")
                && Between(line, "windowOpens", "windowCloses") > 0)
            .Select(line => Between(line, "windowOpens", "moveEnd")!.Value
                / Between(line, "windowOpens", "windowCloses")!.Value).Order().ToList();
        var inside = positions.Count(part => part is >= 0 and <= 1);
        return [inside, positions.Count, (double)inside / positions.Count, At(positions, 0.5)];
    }

    /// <summary>The least spare time of cartridges: its middle and its tenth percentile, in minutes.</summary>
    public double?[] SpareTimes()
    {
        var spare = all.Where(line => line.Has("spare")).Select(line => line.Number("spare")!.Value / 60).Order()
            .ToList();
        return [At(spare, 0.5), At(spare, 0.1)];
    }

    /// <summary>Batches that ended at most five minutes after their plan, and all that had one.</summary>
    public double?[] AsPlanned()
    {
        var later = batches.Where(batch => batch.Has("batchPlannedEnd"))
            .Select(batch => Between(batch, "batchPlannedEnd",
                batch.Time("batchWorkEnd") > batch.Time("batchStarted") ? "batchWorkEnd" : "batchStarted")!.Value)
            .ToList();
        return [later.Count(minutes => minutes <= 5), later.Count];
    }

    /// <summary>
    /// Controls taken out in a month, by assay, material, level and bench: judged, mean, standard deviation and
    /// variation of the accepted, rejected, accepted, neither.
    /// </summary>
    public static List<(string Of, double?[] Cells, string Rules)> Controls(IEnumerable<CsvLine> lines, int year,
        int month) => [.. lines
        .Where(line => line.Has("controlVerdict") && line["controlVerdict"] != "set-aside"
            && line.Time("controlAt") is { } at && at.Year == year && at.Month == month)
        .GroupBy(line => $"{line["assay"]} {line["controlLot"]} {line["controlLevel"]} {line["bench"]}")
        .OrderBy(group => group.Key, StringComparer.Ordinal)
        .Select(group =>
        {
            var values = group.Where(line => line["controlVerdict"] == "accepted")
                .Select(line => line.Number("controlValue")!.Value).ToList();
            double? mean = values.Count == 0 ? null : values.Average();
            double? deviation = values.Count < 2
                ? null : Math.Sqrt(values.Sum(value => (value - mean!.Value) * (value - mean.Value))
                    / (values.Count - 1));
            var rules = group.SelectMany(line => line["controlRules"].Split(' ', StringSplitOptions.RemoveEmptyEntries))
                .GroupBy(rule => rule).OrderBy(rule => rule.Key, StringComparer.Ordinal)
                .Select(rule => $"{rule.Key} {rule.Count()}");
            return (group.Key, new[]
            {
                group.Count(), mean, deviation, deviation / Math.Abs(mean ?? double.NaN),
                group.Count(line => line["controlVerdict"] == "rejected"), values.Count,
                group.Count(line => line["controlVerdict"] == "not-judged"),
            }, string.Join(", ", rules));
        })];

    /// <summary>Of the controls asked for in a month, in no row: those that are held, and thrown away.</summary>
    public static (int Held, int Discarded) ControlsNotCounted(IEnumerable<CsvLine> lines, int year, int month)
    {
        var controls = lines.Where(line => line["kind"] == "control"
            && line.Time("asked") is { } at && at.Year == year && at.Month == month).ToList();
        int Of(string standing) => controls.Count(line => line["standing"] == standing
            && line["controlVerdict"] is "" or "set-aside");
        return (Of("result-held"), Of("discarded"));
    }

    private static bool IsUsed(CsvLine line) => line.Has("mixEnd") || line.Has("loadEndLatest");

    private static bool IsWasted(CsvLine line) => IsUsed(line) && line["standing"] == "discarded";

    private static double? Minutes(CsvLine line, string step)
    {
        var opens = line.Has("windowOpens") ? "windowOpens" : line.Has("moveEnd") ? "windowOpens" : "readStart";
        return NotNegative(step switch
        {
            "waiting" => Between(line, "asked", line.Has("mixBegin") ? "mixBegin" : "loadBegin"),
            "mixToLoad" => Between(line, "mixBegin", "loadEndLatest"),
            "incubation" => Between(line, "loadEndLatest", opens),
            "waitingForReader" => Between(line, opens, "readStart"),
            "reading" => Between(line, "readStart", "clearEnd"),
            _ => Between(line, "clearEnd", "resultEntered"),
        });
    }

    private static double? Whole(CsvLine line) => NotNegative(Between(line, "asked", "resultEntered"));

    private static double? NotNegative(double? minutes) => minutes >= 0 ? minutes : null;

    private static double? Between(CsvLine line, string from, string to) =>
        (line.Time(to) - line.Time(from))?.TotalMinutes;

    private static double Hours(CsvLine batch) => Between(batch, "batchStarted", "batchWorkEnd")!.Value / 60;

    /// <summary>How many, their median and their 90th percentile.</summary>
    private static double?[] Spread(IEnumerable<double?> values)
    {
        var sorted = values.OfType<double>().Order().ToList();
        return sorted.Count == 0 ? [0, null, null] : [sorted.Count, At(sorted, 0.5), At(sorted, 0.9)];
    }

    /// <summary>By linear interpolation at part × (n − 1), as spreadsheets' PERCENTILE does.</summary>
    private static double At(List<double> sorted, double part)
    {
        var position = part * (sorted.Count - 1);
        var (low, high) = (sorted[(int)position], sorted[Math.Min((int)position + 1, sorted.Count - 1)]);
        return low + ((position - (int)position) * (high - low));
    }

    private static List<double?[]> Classes(IEnumerable<double> values, double from, double width, int classes)
    {
        var counts = new double?[classes + 2];
        Array.Fill(counts, 0);
        foreach (var value in values)
            counts[value < from ? 0 : value > from + (width * classes) ? classes + 1
                : 1 + Math.Min(classes - 1, (int)((value - from) / width))]++;
        return [.. counts.Select(count => new[] { count })];
    }
}
