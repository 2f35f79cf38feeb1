using System.Globalization;

namespace Incubation.Chart;

/// <summary>A moving mean on its chart.</summary>
/// <param name="When">When its newest result was read, as the axis says it.</param>
/// <param name="Mean">The mean.</param>
/// <param name="IsBeyond">Whether it lies outside its limits.</param>
/// <param name="Says">What is said of it.</param>
public sealed record MeanDot(string When, double Mean, bool IsBeyond, string Says);

/// <summary>What a chart of moving means is drawn between.</summary>
/// <param name="Low">The lower limit.</param>
/// <param name="Center">Where the mean should be.</param>
/// <param name="High">The upper limit.</param>
/// <param name="LowText">The lower limit as people read it.</param>
/// <param name="CenterText">The middle as people read it.</param>
/// <param name="HighText">The upper limit as people read it.</param>
public sealed record MeanLines(double Low, double Center, double High, string LowText, string CenterText,
    string HighText);

/// <summary>
/// A moving mean over its results, between its limits: a line, and a crossed square where it lies outside. Drawn with
/// the pages' stylesheet of control charts.
/// </summary>
public static class MovingMeanChart
{
    private const double Left = 96, Right = 40, Top = 28, Height = 240, Bottom = 44, Gap = 12, LeastWidth = 760;

    /// <summary>So far beyond the limits, in parts of their distance, the chart reaches.</summary>
    private const double Beyond = 0.5;

    /// <summary>Draws a chart.</summary>
    /// <param name="title">What it shows.</param>
    /// <param name="lines">The limits and the middle; the lower limit lies below the upper one.</param>
    /// <param name="dots">The means, the first first.</param>
    public static string Render(string title, MeanLines lines, IReadOnlyList<MeanDot> dots)
    {
        ArgumentNullException.ThrowIfNull(lines);
        ArgumentNullException.ThrowIfNull(dots);
        var span = lines.High - lines.Low;
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(span, nameof(lines));
        double X(int at) => Left + (Gap * (at + 0.5));
        // What lies beyond the chart stands at its edge.
        double Y(double mean) => Top + (Height * (1 - ((Math.Clamp(mean, lines.Low - (Beyond * span),
            lines.High + (Beyond * span)) - lines.Low + (Beyond * span)) / (span * (1 + (2 * Beyond))))));
        var width = Math.Max(LeastWidth, Left + Right + (Gap * dots.Count));
        var height = Top + Height + Bottom;
        var root = Svg.Element("svg",
            ("class", "control-chart"), ("viewBox", $"0 0 {Svg.Number(width)} {Svg.Number(height)}"), ("width", width),
            ("height", height), ("role", "img"), ("aria-labelledby", "mean-title"), ("aria-describedby", "mean-desc"));
        root.Add(Svg.Text("title", title, ("id", "mean-title")));
        root.Add(Svg.Text("desc", dots.Count == 0 ? title : dots[^1].Says, ("id", "mean-desc")));
        foreach (var (value, text, css) in new[]
        {
            (lines.Low, lines.LowText, "cc-limit cc-three"), (lines.Center, lines.CenterText, "cc-mean"),
            (lines.High, lines.HighText, "cc-limit cc-three"),
        })
        {
            root.Add(Svg.Line(css, Left, Y(value), width - Right, Y(value)));
            root.Add(Svg.Text("text", text, ("class", "cc-text"), ("x", Left - 8), ("y", Y(value) + 4),
                ("text-anchor", "end")));
        }

        for (var at = 0; at < dots.Count; at++)
        {
            if (at > 0)
                root.Add(Svg.Line("cc-path", X(at - 1), Y(dots[at - 1].Mean), X(at), Y(dots[at].Mean)));
            if (at == 0 || dots[at - 1].When != dots[at].When)
                root.Add(Svg.Text("text", dots[at].When, ("class", "cc-soft"), ("x", X(at)),
                    ("y", Top + Height + (Days(dots, at) % 2 == 0 ? 18 : 34)), ("text-anchor", "middle")));
        }

        for (var at = 0; at < dots.Count; at++)
            root.Add(Dot(dots[at], X(at), Y(dots[at].Mean)));
        return Svg.Write(root);
    }

    private static System.Xml.Linq.XElement Dot(MeanDot dot, double x, double y)
    {
        var group = Svg.Element("g", ("class", "cc-dot"));
        group.Add(Svg.Text("title", string.Create(CultureInfo.InvariantCulture, $"{dot.When}: {dot.Says}")));
        if (!dot.IsBeyond)
        {
            group.Add(Svg.Element("circle", ("class", "cc-accepted"), ("cx", x), ("cy", y), ("r", 3.0)));
            return group;
        }

        group.Add(Svg.Box("cc-rejected", x - 5, y - 5, 10, 10, 0));
        group.Add(Svg.Line("cc-cross", x - 5, y - 5, x + 5, y + 5));
        group.Add(Svg.Line("cc-cross", x - 5, y + 5, x + 5, y - 5));
        return group;
    }

    /// <summary>How many days came before a dot: their names stand in two lines by turns.</summary>
    private static int Days(IReadOnlyList<MeanDot> dots, int at) =>
        dots.Take(at + 1).Select(dot => dot.When).Distinct().Count();
}
