using System.Xml.Linq;

namespace Incubation.Chart;

/// <summary>One column.</summary>
/// <param name="Name">What stands under it; "" for nothing.</param>
/// <param name="Value">How high it is.</param>
/// <param name="Says">What is said of it.</param>
/// <param name="Other">A second value, a stroke across the column; or null.</param>
/// <param name="Stands">Whether it stands out from the others, hatched.</param>
public sealed record Column(string Name, double Value, string Says, double? Other = null, bool Stands = false);

/// <summary>A line down through the columns.</summary>
/// <param name="At">Where: 0 at the left edge of the first column, 1 at its right one.</param>
/// <param name="Text">What it is.</param>
public sealed record ColumnMark(double At, string Text);

/// <summary>Columns side by side: a histogram, or hours of a day. Drawn with the pages' stylesheet.</summary>
public static class ColumnChart
{
    private const double Left = 56, Right = 24, Top = 26, Height = 190, Bottom = 46, MarkHeight = 18;

    /// <summary>Draws the columns.</summary>
    /// <param name="key">Unique in the page.</param>
    /// <param name="title">What it says.</param>
    /// <param name="columns">The columns from the left; at least one.</param>
    /// <param name="across">What the names under the columns are.</param>
    /// <param name="up">What the heights are.</param>
    /// <param name="marks">Lines down through the columns.</param>
    /// <param name="edges">Whether the names are those of the columns' left edges: of a histogram's classes.</param>
    public static string Render(string key, string title, IReadOnlyList<Column> columns, string across, string up,
        IReadOnlyList<ColumnMark>? marks = null, bool edges = false)
    {
        ArgumentNullException.ThrowIfNull(columns);
        ArgumentOutOfRangeException.ThrowIfZero(columns.Count);
        marks ??= [];
        var ceiling = Top + (MarkHeight * marks.Count);
        var floor = ceiling + Height;
        var root = FigureFrame.Root(key, title, columns.Where(column => column.Says.Length > 0)
            .Select(column => column.Says + ".").Concat(marks.Select(mark => mark.Text + ".")), floor + Bottom);
        var id = Drawing.Key(key);
        root.Add(Hatched(id));
        var (step, top) = FigureFrame.Scale(columns.Max(column => Math.Max(column.Value, column.Other ?? 0)));
        var perUnit = Height / top;
        for (var value = 0.0; value <= top + (step / 2); value += step)
        {
            root.Add(Svg.Line("fc-grid", Left, floor - (value * perUnit), FigureFrame.Width - Right,
                floor - (value * perUnit)));
            root.Add(FigureFrame.Text("fc-soft", FigureFrame.Round(value), Left - 8, floor - (value * perUnit) + 4,
                "end"));
        }

        root.Add(FigureFrame.Text("fc-soft", up, 4, 14));
        root.Add(FigureFrame.Text("fc-soft", across, FigureFrame.Width - Right, floor + 38, "end"));
        var each = (FigureFrame.Width - Left - Right) / columns.Count;
        for (var at = 0; at < columns.Count; at++)
            root.Add(Draw(columns[at], Left + (each * at), each, floor, perUnit, id, edges));
        root.Add(Svg.Line("fc-base", Left, floor, FigureFrame.Width - Right, floor));
        // First the lines, then the words: a line never crosses a word.
        double X(ColumnMark mark) =>
            Math.Clamp(Left + (each * columns.Count * mark.At), Left, FigureFrame.Width - Right);
        for (var at = 0; at < marks.Count; at++)
            root.Add(Svg.Line("fc-mark", X(marks[at]), Top + (MarkHeight * at) - 8, X(marks[at]), floor));
        for (var at = 0; at < marks.Count; at++)
            root.Add(TextOf(marks[at].Text, X(marks[at]), Top + (MarkHeight * at) + 4));
        return Svg.Write(root);
    }

    private static XElement Draw(Column column, double x, double each, double floor, double perUnit, string id,
        bool edges)
    {
        var group = Svg.Element("g");
        if (column.Says.Length > 0)
            group.Add(Svg.Text("title", column.Says));
        var gap = Math.Min(6, each * 0.12);
        if (column.Value > 0)
            group.Add(Svg.Box(column.Stands ? "fc-stands" : "fc-bar", x + gap, floor - (column.Value * perUnit),
                each - (2 * gap), column.Value * perUnit, 1, column.Stands ? $"url(#{Drawing.Hatch(id)})" : null));
        if (column.Other is { } other)
            group.Add(Svg.Line("fc-other", x + 1, floor - (other * perUnit), x + each - 1, floor - (other * perUnit)));
        if (column.Name.Length > 0)
            group.Add(FigureFrame.Text("fc-soft", column.Name, edges && !column.Stands
                ? x : x + (each / 2), floor + 18, "middle"));
        return group;
    }

    private static XElement TextOf(string text, double x, double y) =>
        x > FigureFrame.Width * 0.7
            ? FigureFrame.Text("fc-text", text, x - 5, y, "end") : FigureFrame.Text("fc-text", text, x + 5, y);

    private static XElement Hatched(string id)
    {
        var definitions = Svg.Element("defs");
        var hatch = Svg.Element("pattern", ("id", Drawing.Hatch(id)), ("width", 7.0), ("height", 7.0),
            ("patternUnits", "userSpaceOnUse"), ("patternTransform", "rotate(45)"));
        hatch.Add(Svg.Element("rect", ("class", "fc-hatch-ground"), ("width", 7.0), ("height", 7.0)));
        hatch.Add(Svg.Element("rect", ("class", "fc-hatch-stripe"), ("width", 3.0), ("height", 7.0)));
        definitions.Add(hatch);
        return definitions;
    }
}
