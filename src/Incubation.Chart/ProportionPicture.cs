using System.Globalization;
using System.Xml.Linq;

namespace Incubation.Chart;

/// <summary>One sample on a chart of proportions.</summary>
/// <param name="Name">When it was taken, as the axis says it.</param>
/// <param name="Part">Its proportion, a part of 1.</param>
/// <param name="Low">Its lower limit.</param>
/// <param name="High">Its upper limit.</param>
/// <param name="IsBeyond">Whether it lies beyond a limit.</param>
/// <param name="Says">What is said of it.</param>
public sealed record ProportionDot(string Name, double Part, double Low, double High, bool IsBeyond, string Says);

/// <summary>
/// A control chart for proportions: samples over time, their mean, and for each its own limits. Drawn with the pages'
/// stylesheet.
/// </summary>
public static class ProportionPicture
{
    private const double Left = 56, Right = 90, Top = 30, Height = 200, Bottom = 44, NameWidth = 52;

    /// <summary>Draws the chart.</summary>
    /// <param name="key">Unique in the page.</param>
    /// <param name="title">What it says.</param>
    /// <param name="mean">The mean proportion.</param>
    /// <param name="meanText">What stands at its line.</param>
    /// <param name="limitText">What stands at the last upper limit.</param>
    /// <param name="up">What the heights are.</param>
    /// <param name="dots">The samples, the first first; at least one.</param>
    public static string Render(string key, string title, double mean, string meanText, string limitText, string up,
        IReadOnlyList<ProportionDot> dots)
    {
        ArgumentNullException.ThrowIfNull(dots);
        ArgumentOutOfRangeException.ThrowIfZero(dots.Count);
        var floor = Top + Height;
        var root = FigureFrame.Root(key, title, dots.Select(dot => dot.Says + "."), floor + Bottom);
        // Limits of very small samples reach far: they are cut off rather than flatten everything.
        var (step, top) =
            FigureFrame.Scale(
                100 * Math.Min(1,
                    Math.Max(dots.Max(dot => dot.Part),
                        Math.Min(dots.Max(dot => dot.High), 4 * Math.Max(mean, 0.02)))));
        double Y(double part) => floor - (Math.Min(100 * part, top) * Height / top);
        for (var value = 0.0; value <= top + (step / 2); value += step)
        {
            root.Add(Svg.Line("fc-grid", Left, Y(value / 100), FigureFrame.Width - Right, Y(value / 100)));
            root.Add(FigureFrame.Text("fc-soft", FigureFrame.Round(value), Left - 8, Y(value / 100) + 4, "end"));
        }

        root.Add(FigureFrame.Text("fc-soft", up, 4, 14));
        var each = (FigureFrame.Width - Left - Right) / dots.Count;
        double X(double at) => Left + (each * at);
        for (var at = 0; at < dots.Count; at++)
            foreach (var limit in new[] { dots[at].Low, dots[at].High })
                if (100 * limit <= top && limit > 0)
                    root.Add(Svg.Line("fc-limit", X(at), Y(limit), X(at + 1), Y(limit)));
        root.Add(Svg.Line("fc-mean", Left, Y(mean), FigureFrame.Width - Right, Y(mean)));
        root.Add(FigureFrame.Text("fc-text", meanText, FigureFrame.Width - Right + 6, Y(mean) + 4));
        if (100 * dots[^1].High <= top && Y(mean) - Y(dots[^1].High) > 14)
            root.Add(FigureFrame.Text("fc-soft", limitText, FigureFrame.Width - Right + 6, Y(dots[^1].High) + 4));
        for (var at = 1; at < dots.Count; at++)
            root.Add(Svg.Line("fc-path", X(at - 0.5), Y(dots[at - 1].Part), X(at + 0.5), Y(dots[at].Part)));
        var every = (int)Math.Ceiling(NameWidth / each);
        for (var at = 0; at < dots.Count; at++)
            root.Add(Draw(dots[at], X(at + 0.5), Y(dots[at].Part), floor, at % every == 0));
        root.Add(Svg.Line("fc-base", Left, floor, FigureFrame.Width - Right, floor));
        return Svg.Write(root);
    }

    private static XElement Draw(ProportionDot dot, double x, double y, double floor, bool isNamed)
    {
        var group = Svg.Element("g");
        group.Add(Svg.Text("title", dot.Says));
        if (dot.IsBeyond)
        {
            group.Add(Svg.Box("fc-beyond", x - 6, y - 6, 12, 12, 0));
            group.Add(FigureFrame.Text("fc-beyond-text", (100 * dot.Part).ToString("0.#", CultureInfo.InvariantCulture)
                + " %", x, y - 11, "middle"));
        }
        else
            group.Add(Svg.Element("circle", ("class", "fc-dot"), ("cx", x), ("cy", y), ("r", 4.0)));
        if (isNamed)
            group.Add(FigureFrame.Text("fc-soft", dot.Name, x, floor + 18, "middle"));
        return group;
    }
}
