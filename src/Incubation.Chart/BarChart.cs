using System.Xml.Linq;

namespace Incubation.Chart;

/// <summary>What stands beside the bars of a bar chart.</summary>
public enum BarBeside
{
    /// <summary>Nothing.</summary>
    Nothing,

    /// <summary>A thin line from the bar's end to a greater value, with a stroke at its end.</summary>
    Reach,

    /// <summary>A second bar, outlined.</summary>
    Outline,

    /// <summary>A line of parts of all, up to 1, from bar to bar: a Pareto chart.</summary>
    Sum,
}

/// <summary>One bar.</summary>
/// <param name="Name">What it is.</param>
/// <param name="Value">How long it is; null leaves it out.</param>
/// <param name="Text">What stands at its end.</param>
/// <param name="Beside">What stands beside it, or null.</param>
/// <param name="BesideText">What stands at the end of that.</param>
public sealed record Bar(string Name, double? Value, string Text, double? Beside = null, string BesideText = "");

/// <summary>Bars from the left, each with its name and figure. Drawn with the pages' stylesheet.</summary>
public static class BarChart
{
    private const double Left = 230, Right = 130, Row = 34, Top = 12, Bottom = 12, AxisHeight = 22;

    /// <summary>Draws the bars.</summary>
    /// <param name="key">Unique in the page.</param>
    /// <param name="title">What it says.</param>
    /// <param name="bars">The bars from the top.</param>
    /// <param name="beside">What stands beside them.</param>
    /// <param name="axis">What the figures are; stands under the axis.</param>
    public static string Render(string key, string title, IReadOnlyList<Bar> bars, BarBeside beside, string axis)
    {
        ArgumentNullException.ThrowIfNull(bars);
        var row = beside == BarBeside.Outline ? Row + 14 : Row;
        var floor = Top + (row * bars.Count);
        var root = FigureFrame.Root(key, title, bars.Select(bar => $"{bar.Name}: {Spoken(bar)}."),
            floor + AxisHeight + Bottom + 14);
        var (step, top) =
            FigureFrame.Scale(bars.SelectMany(bar => new[] { bar.Value, beside == BarBeside.Sum ? null : bar.Beside })
                .Max() ?? 0);
        var perUnit = (FigureFrame.Width - Left - Right) / top;
        for (var value = 0.0; value <= top + (step / 2); value += step)
        {
            root.Add(Svg.Line("fc-grid", Left + (value * perUnit), Top, Left + (value * perUnit), floor));
            root.Add(FigureFrame.Text("fc-soft", FigureFrame.Round(value), Left + (value * perUnit), floor + 16,
                "middle"));
        }

        root.Add(FigureFrame.Text("fc-soft", axis, Left, floor + 34));
        for (var at = 0; at < bars.Count; at++)
            root.Add(Draw(bars[at], beside, Top + (row * at), row, perUnit));
        if (beside == BarBeside.Sum)
            root.Add(Sum(bars, row));
        root.Add(Svg.Line("fc-base", Left, Top, Left, floor));
        return Svg.Write(root);
    }

    private static XElement Draw(Bar bar, BarBeside beside, double y, double row, double perUnit)
    {
        var group = Svg.Element("g");
        group.Add(Svg.Text("title", $"{bar.Name}: {Spoken(bar)}"));
        group.Add(FigureFrame.Text("fc-name", Phrase.Short(bar.Name, 30), Left - 10, y + (row / 2) + 5, "end"));
        var end = Left + ((bar.Value ?? 0) * perUnit);
        var (top, thick) = beside == BarBeside.Outline ? (y + 5, 18.0) : (y + 7, 20.0);
        if (bar.Value is not null)
            group.Add(Svg.Box("fc-bar", Left, top, end - Left, thick, 2));
        var textAt = end;
        if (beside == BarBeside.Reach && bar.Beside is { } reach && reach >= (bar.Value ?? 0))
        {
            textAt = Left + (reach * perUnit);
            group.Add(Svg.Line("fc-reach", end, y + 17, textAt, y + 17));
            group.Add(Svg.Line("fc-reach", textAt, y + 10, textAt, y + 24));
        }
        else if (beside == BarBeside.Outline && bar.Beside is { } other)
        {
            group.Add(Svg.Box("fc-outline", Left, y + 25, other * perUnit, 14, 2));
            group.Add(FigureFrame.Text("fc-soft", bar.BesideText, Left + (other * perUnit) + 6, y + 36));
        }

        var text = beside == BarBeside.Reach && bar.BesideText.Length > 0 ? $"{bar.Text} · {bar.BesideText}" : bar.Text;
        group.Add(FigureFrame.Text("fc-text", text, textAt + 6, top + 14));
        return group;
    }

    private static XElement Sum(IReadOnlyList<Bar> bars, double row)
    {
        var group = Svg.Element("g");
        // From the end of the longest bar to the right edge, so that the line never covers a figure.
        double X(double part) => FigureFrame.Width - Right + 20 + ((Right - 80) * part);
        for (var at = 0; at < bars.Count; at++)
        {
            if (bars[at].Beside is not { } part)
                continue;
            var y = Top + (row * at) + 17;
            if (at > 0 && bars[at - 1].Beside is { } before)
                group.Add(Svg.Line("fc-sum", X(before), y - row, X(part), y));
            group.Add(Svg.Element("circle", ("class", "fc-dot"), ("cx", X(part)), ("cy", y), ("r", 4.0)));
            group.Add(FigureFrame.Text("fc-soft", bars[at].BesideText, X(part) + 8, y + 4));
        }

        return group;
    }

    private static string Spoken(Bar bar) => bar.BesideText.Length > 0 ? $"{bar.Text}, {bar.BesideText}" : bar.Text;
}
