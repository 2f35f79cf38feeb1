using System.Globalization;
using System.Xml.Linq;

namespace Incubation.Chart;

/// <summary>One row of the chart: how many days went under one dispatch.</summary>
/// <param name="Name">The dispatch, as people read it.</param>
/// <param name="MinutesToResult">Of every cartridge with a result, the smallest first.</param>
/// <param name="Median">Its median, minutes.</param>
/// <param name="Ninth">Its 90th percentile, minutes.</param>
/// <param name="PerHour">Results an hour.</param>
/// <param name="Missed">Windows missed per 1,000 cartridges.</param>
/// <param name="MissedLow">The lower end of its 95 % interval.</param>
/// <param name="MissedHigh">The upper end.</param>
public sealed record DispatchRow(
    string Name, IReadOnlyList<double> MinutesToResult, double Median, double Ninth, double PerHour, double Missed,
        double MissedLow, double MissedHigh);

/// <summary>
/// Compares dispatches: how long results take, how many come in an hour, how many windows are missed. A file of its
/// own.
/// </summary>
public static class DispatchChart
{
    private const double Width = 1130, Left = 150, RowHeight = 132, Top = 86, Bottom = 34;
    private const double TimeWidth = 520, PerHourX = 715, PerHourWidth = 130, MissedX = 905, MissedWidth = 190;
    private const int Bins = 60;

    private const string Style =
        ".paper{fill:#F6F7F4} text{font-family:system-ui,'Noto Sans',"
        + "'DejaVu Sans',sans-serif;font-size:14px;fill:#14212A} "
        + ".title{font-size:18px;font-weight:600} .head{font-weight:600} .soft{fill:#4B5A64;font-size:12px} "
        + ".name{font-weight:600;font-size:15px} "
        + ".bar{fill:#4F8F8A} .bar-first{fill:#0A625D} .grid{stroke:#C6CFD3} .base{stroke:#6F7F88} "
        + ".mark{stroke:#14212A;stroke-width:2} .span{stroke:#14212A;stroke-width:2}";

    /// <summary>Draws the comparison.</summary>
    /// <param name="days">How many days were played.</param>
    /// <param name="cartridges">How many cartridges each had.</param>
    /// <param name="rows">The dispatches, the one to hold the others against first.</param>
    public static string Render(int days, int cartridges, IReadOnlyList<DispatchRow> rows)
    {
        ArgumentNullException.ThrowIfNull(rows);
        var height = Top + (RowHeight * rows.Count) + Bottom;
        var title = Phrase.Of(Words.DaysTitle, days, cartridges);
        var root = Svg.Element("svg", ("viewBox", $"0 0 {Svg.Number(Width)} {Svg.Number(height)}"), ("width", Width),
            ("height", height),
            ("role", "img"), ("aria-labelledby", "days-title"), ("aria-describedby", "days-desc"));
        root.Add(Svg.Text("title", title, ("id", "days-title")));
        root.Add(Svg.Text("desc", string.Join(' ', rows.Select(Spoken)), ("id", "days-desc")));
        root.Add(Svg.Text("style", Style));
        root.Add(Svg.Box("paper", 0, 0, Width, height, 0));
        root.Add(Text("title", title, 16, 30));
        root.Add(Text("head", Words.DaysToResult, Left, 64));
        root.Add(Text("head", Words.DaysPerHour, PerHourX, 64));
        root.Add(Text("head", Words.DaysMissed, MissedX, 64));

        var longest =
            Round(rows.SelectMany(row => row.MinutesToResult.Count > 0
                ? [row.MinutesToResult[^1]] : Array.Empty<double>())
                .DefaultIfEmpty(1).Max());
        var most = Math.Max(1, rows.Max(row => row.PerHour));
        var worst = Math.Max(1, rows.Max(row => row.MissedHigh));
        root.Add(TimeAxis(longest, height - Bottom));
        for (var i = 0; i < rows.Count; i++)
        {
            var floor = Top + (RowHeight * (i + 1)) - 22;
            var bar = i == 0 ? "bar-first" : "bar";
            root.Add(Text("name", rows[i].Name, 16, floor - 34));
            root.Add(Distribution(rows[i], longest, floor, bar));
            root.Add(Svg.Box(bar, PerHourX, floor - 50, PerHourWidth * rows[i].PerHour / most, 24, 2));
            root.Add(Text("", One(rows[i].PerHour), PerHourX, floor - 8));
            root.Add(MissedBar(rows[i], worst, floor, bar));
        }

        return Svg.Write(root);
    }

    private static XElement TimeAxis(double longest, double bottom)
    {
        var group = Svg.Element("g");
        var step = longest switch
        {
            <= 30 => 5,
            <= 60 => 10,
            <= 160 => 20,
            <= 300 => 60,
            _ => Math.Ceiling(longest / 300) * 60
        };
        for (var minutes = 0.0; minutes <= longest; minutes += step)
        {
            var x = Left + (TimeWidth * minutes / longest);
            group.Add(Svg.Line("grid", x, Top - 8, x, bottom));
            group.Add(Svg.Text("text", minutes.ToString("0", CultureInfo.InvariantCulture), ("class", "soft"),
                ("x", x), ("y", bottom + 16), ("text-anchor", "middle")));
        }

        return group;
    }

    /// <summary>How many results took how long, each row to its own height: its shape is what it says.</summary>
    private static XElement Distribution(DispatchRow row, double longest, double floor, string bar)
    {
        var group = Svg.Element("g");
        var counts = new int[Bins];
        foreach (var minutes in row.MinutesToResult)
            counts[Math.Clamp((int)(minutes / longest * Bins), 0, Bins - 1)]++;
        var highest = Math.Max(1, counts.Max());
        const double each = TimeWidth / Bins;
        for (var bin = 0; bin < Bins; bin++)
        {
            var tall = 72.0 * counts[bin] / highest;
            if (tall > 0)
                group.Add(Svg.Box(bar, Left + (bin * each), floor - tall, each - 1, tall, 0));
        }

        group.Add(Svg.Line("base", Left, floor, Left + TimeWidth, floor));
        if (row.MinutesToResult.Count == 0)
            return group;
        foreach (var (value, words, anchor, shift) in new[] { (row.Median, Words.DaysMedian, "end", -4.0),
            (row.Ninth, Words.DaysNinth, "start", 4.0) })
        {
            var x = Left + (TimeWidth * value / longest);
            group.Add(Svg.Line("mark", x, floor - 82, x, floor));
            group.Add(Svg.Text("text", Phrase.Of(words, One(value)), ("class", "soft"), ("x", x + shift),
                ("y", floor - 76), ("text-anchor", anchor)));
        }

        return group;
    }

    private static XElement MissedBar(DispatchRow row, double worst, double floor, string bar)
    {
        var group = Svg.Element("g");
        double X(double value) => MissedX + (MissedWidth * value / worst);
        group.Add(Svg.Box(bar, MissedX, floor - 50, X(row.Missed) - MissedX, 24, 2));
        group.Add(Svg.Line("span", X(row.MissedLow), floor - 38, X(row.MissedHigh), floor - 38));
        group.Add(Text("", One(row.Missed), MissedX, floor - 8));
        group.Add(Text("soft", Phrase.Of(Words.DaysInterval, One(row.MissedLow), One(row.MissedHigh)), MissedX + 52,
            floor - 8));
        return group;
    }

    private static string Spoken(DispatchRow row) => Phrase.Of(
        Words.DaysSpoken, row.Name, One(row.Median), One(row.Ninth), One(row.PerHour), One(row.Missed),
            One(row.MissedLow), One(row.MissedHigh));

    private static XElement Text(string css, string text, double x, double y) =>
        Svg.Text("text", text, ("class", css.Length == 0 ? null : css), ("x", x), ("y", y));

    private static double Round(double minutes) => Math.Max(10, Math.Ceiling(minutes / 10) * 10);

    private static string One(double value) => value.ToString("0.0", CultureInfo.InvariantCulture);
}
