using System.Globalization;
using System.Xml.Linq;

namespace Incubation.Chart;

/// <summary>One number of slots in a sweep.</summary>
/// <param name="Slots">So many slots.</param>
/// <param name="PerHour">Cartridges an hour with them, at full stretch.</param>
/// <param name="Half">Half the width of its 95 % confidence interval.</param>
/// <param name="Bound">The most that so many slots can do; infinite where they do not matter.</param>
public sealed record SweepRow(int Slots, double PerHour, double Half, double Bound);

/// <summary>
/// What more and more slots bring: cartridges an hour over slots, the knee marked. A file of its own, or part of a
/// page.
/// </summary>
public static class SweepChart
{
    private const double Width = 760, Height = 400, Left = 64, Right = 24, Top = 66, Bottom = 56;

    private const string Style =
        ".paper{fill:#F6F7F4} text{font-family:system-ui,'Noto Sans',"
        + "'DejaVu Sans',sans-serif;font-size:14px;fill:#14212A} "
        + ".title{font-size:18px;font-weight:600} .soft{fill:#4B5A64;font-size:12px} .bar{fill:#4F8F8A} "
        + ".bar-knee{fill:#0A625D} "
        + ".grid{stroke:#C6CFD3} .base{stroke:#6F7F88} .span{stroke:#14212A;stroke-width:2} "
        + ".bound{stroke:#4B5A64;stroke-width:2;stroke-dasharray:3 4;fill:none} "
        + ".demand{stroke:#14212A;stroke-width:2;stroke-dasharray:10 5} .head{font-weight:600}";

    /// <summary>Draws the sweep.</summary>
    /// <param name="rows">The numbers of slots, the fewest first; at least one.</param>
    /// <param name="knee">From which number on more bring little; null where that is not clear.</param>
    /// <param name="wanted">Cartridges wanted an hour while the bench is open.</param>
    public static string Render(IReadOnlyList<SweepRow> rows, int? knee, double wanted)
    {
        ArgumentNullException.ThrowIfNull(rows);
        ArgumentOutOfRangeException.ThrowIfZero(rows.Count, nameof(rows));
        var most = NiceAbove(Math.Max(wanted, rows.Max(row => row.PerHour + row.Half)) * 1.08);
        var root = Svg.Element("svg", ("viewBox", $"0 0 {Svg.Number(Width)} {Svg.Number(Height)}"), ("width", Width),
            ("height", Height),
            ("role", "img"), ("aria-labelledby", "sweep-title"), ("aria-describedby", "sweep-desc"));
        var at = rows.FirstOrDefault(row => row.Slots == knee);
        root.Add(Svg.Text("title", Words.SweepTitle, ("id", "sweep-title")));
        root.Add(
            Svg.Text("desc", at is null
                ? Phrase.Of(Words.SweepSpokenNoKnee, rows[0].Slots, One(rows[0].PerHour), rows[^1].Slots,
                    One(rows[^1].PerHour), One(wanted))
                : Phrase.Of(Words.SweepSpoken, rows[0].Slots, One(rows[0].PerHour), rows[^1].Slots,
                    One(rows[^1].PerHour), at.Slots, One(at.PerHour), One(wanted)), ("id", "sweep-desc")));
        root.Add(Svg.Text("style", Style));
        root.Add(Svg.Box("paper", 0, 0, Width, Height, 0));
        root.Add(Text("title", Words.SweepTitle, 16, 30));
        root.Add(Grid(most));
        root.Add(Bars(rows, knee, most));
        root.Add(Bound(rows, most));
        root.Add(Svg.Line("demand", Left, Y(wanted, most), Width - Right, Y(wanted, most)));
        root.Add(Svg.Text("text", Phrase.Of(Words.SweepWanted, One(wanted)), ("class", "soft"), ("x", Width - Right),
            ("y", Y(wanted, most) - 5), ("text-anchor", "end")));
        root.Add(Svg.Text("text", Words.SweepSlots, ("class", "soft"), ("x", (Left + Width - Right) / 2),
            ("y", Height - 10), ("text-anchor", "middle")));
        return Svg.Write(root);
    }

    private static XElement Grid(double most)
    {
        var group = Svg.Element("g");
        for (var line = 0; line <= 5; line++)
        {
            var value = most * line / 5;
            group.Add(Svg.Line(line == 0 ? "base" : "grid", Left, Y(value, most), Width - Right, Y(value, most)));
            group.Add(Svg.Text("text", value.ToString("0.#", CultureInfo.InvariantCulture), ("class", "soft"),
                ("x", Left - 8), ("y", Y(value, most) + 4), ("text-anchor", "end")));
        }

        return group;
    }

    private static XElement Bars(IReadOnlyList<SweepRow> rows, int? knee, double most)
    {
        var group = Svg.Element("g");
        var each = Each(rows);
        for (var index = 0; index < rows.Count; index++)
        {
            var (row, x) = (rows[index], Left + (each * index));
            group.Add(Svg.Box(row.Slots == knee ? "bar-knee" : "bar", x + (each * 0.15), Y(row.PerHour, most),
                each * 0.7, Y(0, most) - Y(row.PerHour, most), 2));
            group.Add(Svg.Line("span", x + (each / 2), Y(row.PerHour - row.Half, most), x + (each / 2),
                Y(row.PerHour + row.Half, most)));
            group.Add(Svg.Text("text", row.Slots.ToString(CultureInfo.InvariantCulture),
                ("class", row.Slots == knee ? "head" : "soft"), ("x", x + (each / 2)), ("y", Height - Bottom + 18),
                ("text-anchor", "middle")));
            if (row.Slots == knee)
                group.Add(Svg.Text("text", Phrase.Of(Words.SweepKnee, One(row.PerHour)), ("class", "head"),
                    ("x", Math.Clamp(x + (each / 2), Left + 60, Width - Right - 60)),
                    ("y", Y(row.PerHour + row.Half, most) - 10), ("text-anchor", "middle")));
        }

        return group;
    }

    /// <summary>The most that slots can do, as far as it lies inside the picture.</summary>
    private static XElement Bound(IReadOnlyList<SweepRow> rows, double most)
    {
        var each = Each(rows);
        var points = rows.Select((row, index) => (X: Left + (each * (index + 0.5)), row.Bound))
            .TakeWhile(point => point.Bound <= most).ToList();
        var group = Svg.Element("g");
        if (points.Count == 0)
            return group;
        group.Add(
            Svg.Element("polyline", ("class", "bound"),
                ("points",
                    string.Join(' ',
                        points.Select(point => $"{Svg.Number(point.X)},{Svg.Number(Y(point.Bound, most))}")))));
        group.Add(Text("soft", Words.SweepBound, Left + 8, Top - 10));
        return group;
    }

    private static double Each(IReadOnlyList<SweepRow> rows) => (Width - Left - Right) / rows.Count;

    private static double Y(double value, double most) =>
        Height - Bottom - ((Height - Top - Bottom) * Math.Clamp(value, 0, most) / most);

    /// <summary>A round number above one: 1, 2 or 5 times a power of ten, times five lines.</summary>
    private static double NiceAbove(double value)
    {
        var step = Math.Max(value, 0.1) / 5;
        var power = Math.Pow(10, Math.Floor(Math.Log10(step)));
        double[] nice = [1, 2, 2.5, 5, 10];
        return 5 * power * nice.First(times => times * power >= step - 1e-9);
    }

    private static XElement Text(string css, string text, double x, double y) =>
        Svg.Text("text", text, ("class", css), ("x", x), ("y", y));

    private static string One(double value) => value.ToString("0.0", CultureInfo.InvariantCulture);
}
