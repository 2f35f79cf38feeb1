using System.Globalization;
using System.Xml.Linq;
using NodaTime;

namespace Incubation.Chart;

/// <summary>A temperature on the chart.</summary>
/// <param name="At">When it was measured.</param>
/// <param name="Degrees">Degrees Celsius.</param>
/// <param name="When">The time as it is said.</param>
/// <param name="Says">What is said of it.</param>
/// <param name="IsOutside">Whether it lies outside the tolerance: a crossed square, else a dot.</param>
public sealed record TemperatureDot(Instant At, double Degrees, string When, string Says, bool IsOutside);

/// <summary>
/// The incubator's temperatures over time against what it is set to and its tolerance, small. Drawn with the pages'
/// stylesheet.
/// </summary>
public static class TemperatureChart
{
    private const double Width = 640, Height = 150, Left = 72, Right = 40, Top = 16, Bottom = 32;

    /// <summary>Draws a chart.</summary>
    /// <param name="title">What it shows.</param>
    /// <param name="set">What the incubator is set to, in degrees Celsius; null where nobody has said.</param>
    /// <param name="tolerance">How far it may lie from that, in degrees.</param>
    /// <param name="dots">The temperatures in the order of their times; at least one.</param>
    public static string Render(string title, double? set, double tolerance, IReadOnlyList<TemperatureDot> dots)
    {
        ArgumentNullException.ThrowIfNull(dots);
        ArgumentOutOfRangeException.ThrowIfZero(dots.Count);
        var levels = dots.Select(dot => dot.Degrees)
            .Concat(set is { } degrees ? [degrees - tolerance, degrees + tolerance] : []).ToList();
        // A flat line still lies in the middle of something.
        var margin = Math.Max(0.5, (levels.Max() - levels.Min()) * 0.15);
        var frame = new Frame(levels.Min() - margin, levels.Max() + margin, dots[0].At, dots[^1].At);
        var root = Svg.Element("svg",
            ("class", "temperature-chart"), ("viewBox", $"0 0 {Svg.Number(Width)} {Svg.Number(Height)}"),
                ("width", Width), ("height", Height),
            ("role", "img"), ("aria-labelledby", "temperature-title"), ("aria-describedby", "temperature-desc"));
        root.Add(Svg.Text("title", title, ("id", "temperature-title")));
        root.Add(Svg.Text("desc", string.Join(' ', dots.Select(dot => $"{dot.When}: {dot.Says}.")),
            ("id", "temperature-desc")));
        if (set is { } middle)
        {
            root.Add(Svg.Box("tc-band", Left, frame.Y(middle + tolerance), Width - Left - Right,
                frame.Y(middle - tolerance) - frame.Y(middle + tolerance), 0));
            foreach (var level in new[] { middle - tolerance, middle, middle + tolerance }.Distinct())
                root.Add(Level(frame, level, level == middle));
        }

        for (var at = 1; at < dots.Count; at++)
            root.Add(Svg.Line("tc-path", frame.X(dots[at - 1].At), frame.Y(dots[at - 1].Degrees), frame.X(dots[at].At),
                frame.Y(dots[at].Degrees)));
        foreach (var dot in dots)
            root.Add(Dot(frame, dot));
        root.Add(Time(frame, dots[0], "start"));
        if (dots.Count > 1)
            root.Add(Time(frame, dots[^1], "end"));
        return Svg.Write(root);
    }

    private static XElement Level(Frame frame, double level, bool isSet)
    {
        var group = Svg.Element("g");
        group.Add(Svg.Line(isSet ? "tc-set" : "tc-limit", Left, frame.Y(level), Width - Right, frame.Y(level)));
        group.Add(Svg.Text("text", level.ToString("0.0", CultureInfo.InvariantCulture), ("class", "tc-text"),
            ("x", Left - 8), ("y", frame.Y(level) + 4), ("text-anchor", "end")));
        return group;
    }

    private static XElement Dot(Frame frame, TemperatureDot dot)
    {
        var (x, y) = (frame.X(dot.At), frame.Y(dot.Degrees));
        var group = Svg.Element("g");
        group.Add(Svg.Text("title", $"{dot.When}: {dot.Says}"));
        if (!dot.IsOutside)
        {
            group.Add(Svg.Element("circle", ("class", "tc-inside"), ("cx", x), ("cy", y), ("r", 4.0)));
            return group;
        }

        group.Add(Svg.Box("tc-outside", x - 5, y - 5, 10, 10, 0));
        group.Add(Svg.Line("tc-cross", x - 5, y - 5, x + 5, y + 5));
        group.Add(Svg.Line("tc-cross", x - 5, y + 5, x + 5, y - 5));
        return group;
    }

    private static XElement Time(Frame frame, TemperatureDot dot, string anchor) =>
        Svg.Text("text", dot.When, ("class", "tc-text"), ("x", frame.X(dot.At)), ("y", Height - 8),
            ("text-anchor", anchor));

    /// <summary>Where a temperature and a time stand.</summary>
    private sealed record Frame(double Lowest, double Highest, Instant From, Instant To)
    {
        public double Y(double degrees) => Top + ((Highest - degrees) / (Highest - Lowest) * (Height - Top - Bottom));

        public double X(Instant at) =>
            Left + 8 + (To == From ? 0 : (at - From) / (To - From) * (Width - Left - Right - 16));
    }
}
