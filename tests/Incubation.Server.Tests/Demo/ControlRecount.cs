namespace Incubation.Server.Tests.Demo;

/// <summary>
/// Controls judged again from their file alone: by the rules as J. O. Westgard and others, Clin Chem 1981;27:493, has
/// them (westgard.com lesson 12), with arithmetic of its own.
/// </summary>
internal static class ControlRecount
{
    /// <summary>What a line of the file should say.</summary>
    /// <param name="Line">The line.</param>
    /// <param name="Z">How many standard deviations it lies above its mean.</param>
    /// <param name="Verdict">What became of it.</param>
    /// <param name="Rules">The rules that it breaks, with the requests of those by which it does.</param>
    internal sealed record Judged(CsvLine Line, double? Z, string Verdict, string Rules)
    {
        /// <summary>What was counted is what the file says.</summary>
        public void AssertAsInFile()
        {
            var rules = Rules.Split(' ');
            Assert.Equal(
                (Line["request"], Verdict, string.Join(' ', rules.Select(rule => rule.Split(':')[0])),
                    string.Join(' ', rules.Where(rule => rule.Contains(':', StringComparison.Ordinal)))),
                (Line["request"], Line["verdict"], Line["rules"], Line["with"]));
            Assert.Equal(Z is null, !Line.Has("z"));
            Assert.Equal(Z ?? 0, Line.Number("z") ?? 0, 1e-8);
        }
    }

    /// <summary>Every judgement of a file that has every control of its kit lots on its benches.</summary>
    public static List<Judged> Of(IEnumerable<CsvLine> file) =>
    [
        .. file.GroupBy(line => line["kitLot"] + "\n" + line["bench"])
            .SelectMany(lot => Judge([.. lot.OrderBy(line => int.Parse(line["order"], Invariant))])),
    ];

    /// <summary>The latest line of each control, without those set aside.</summary>
    public static IEnumerable<CsvLine> Standing(IEnumerable<CsvLine> file) => file
        .GroupBy(line => line["request"]).Select(one => one.MaxBy(line => int.Parse(line["revision"], Invariant))!)
        .Where(line => line["verdict"] != "set-aside");

    private static readonly System.Globalization.CultureInfo Invariant =
        System.Globalization.CultureInfo.InvariantCulture;

    private static IEnumerable<Judged> Judge(List<CsvLine> lot)
    {
        var places = new List<string>();
        var latest = new Dictionary<string, CsvLine>();
        foreach (var line in lot)
        {
            if (!places.Contains(line["request"]))
                places.Add(line["request"]);
            // Before it: what was run before it, since the last corrective action, as it stood then.
            var before = places.TakeWhile(request => request != line["request"]).Select(request => latest[request])
                .Where(other => other["actionsBefore"] == line["actionsBefore"] && other["verdict"] != "set-aside"
                    && Deviations(other, 0) is not null).ToList();
            yield return Judge(line, before);
            latest[line["request"]] = line;
        }
    }

    private static Judged Judge(CsvLine line, List<CsvLine> before)
    {
        double? z = Deviations(line, 0) is not { } far ? null
            : (double)(far / decimal.Parse(line["deviation"], Invariant));
        if (line["verdict"] == "set-aside")
            return new Judged(line, z, "set-aside", "");
        if (!line.Has("mean") || !line.Has("shown"))
            return new Judged(line, z, "not-judged", "");
        if (z is null)
            return new Judged(line, z, line["shown"][0] is '<' or '>' ? "rejected" : "not-judged", "");
        var broken = new List<string>();
        foreach (var rule in line["rulesOn"].Split(' ', StringSplitOptions.RemoveEmptyEntries))
            if (Broken(rule, line, before) is { } with)
                broken.Add(with.Count == 0 ? rule : rule + ":" + string.Join('+', with.Select(one => one["request"])));
        return new Judged(line, z,
            broken.Exists(one => !one.StartsWith("one-two-s", StringComparison.Ordinal)) ? "rejected" : "accepted",
            string.Join(' ', broken));
    }

    /// <summary>The earlier controls by which a rule is broken; null where it is not.</summary>
    private static List<CsvLine>? Broken(string rule, CsvLine line, List<CsvLine> before) => rule switch
    {
        "one-two-s" => Side(line, 2) != 0 ? [] : null,
        "one-three-s" => Side(line, 3) != 0 ? [] : null,
        "two-two-s" => InARow(line, before, 2, 2),
        "r-four-s" => before.Where(other => other["run"] == line["run"] && Side(line, 2) != 0
            && Side(other, 2) == -Side(line, 2)).ToList() is { Count: > 0 } against ? against : null,
        "four-one-s" => InARow(line, before, 4, 1),
        "ten-x" => InARow(line, before, 10, 0),
        _ => throw new ArgumentOutOfRangeException(nameof(rule), rule, "No such rule."),
    };

    private static List<CsvLine>? InARow(CsvLine line, List<CsvLine> before, int count, int limit)
    {
        foreach (var among in new[]
        {
            before.Where(other => other["controlLot"] == line["controlLot"]
                && other["controlLevel"] == line["controlLevel"]), before,
        })
        {
            var last = among.TakeLast(count - 1).ToList();
            if (last.Count == count - 1 && Side(line, limit) != 0
                && last.TrueForAll(other => Side(other, limit) == Side(line, limit)))
                return last;
        }

        return null;
    }

    /// <summary>1 above so many standard deviations, −1 below them, 0 within or on them.</summary>
    private static int Side(CsvLine line, int limit) => Math.Sign(Deviations(line, limit)!.Value);

    /// <summary>How far a value lies beyond so many standard deviations, in its unit; null without both.</summary>
    private static decimal? Deviations(CsvLine line, int limit)
    {
        if (!line.Has("value") || !line.Has("mean"))
            return null;
        var far = decimal.Parse(line["value"], Invariant) - decimal.Parse(line["mean"], Invariant);
        var bound = limit * decimal.Parse(line["deviation"], Invariant);
        return far > bound ? far - bound : -far > bound ? far + bound : 0;
    }
}
