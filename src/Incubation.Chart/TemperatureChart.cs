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
    private const double RoomForTimes = 120;
    private const int MostDots = 100;

    /// <summary>Draws a chart.</summary>
    /// <param name="title">What it shows.</param>
    /// <param name="set">What the incubator is set to, in degrees Celsius; null where nobody has said.</param>
    /// <param name="tolerance">How far it may lie from that, in degrees.</param>
    /// <param name="dots">The temperatures in the order of their times; at least one.</param>
    public static string Render(string title, double? set, double tolerance, IReadOnlyList<TemperatureDot> dots)
    {
        ArgumentNullException.ThrowIfNull(dots);
        ArgumentOutOfRangeException.ThrowIfZero(dots.Count);
        var frame = FrameOf(set, tolerance, dots, dots[0].At, dots[^1].At);
        var root = Root(title, string.Join(' ', dots.Select(dot => $"{dot.When}: {dot.Says}.")), "");
        AddBand(root, frame, set, tolerance);
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

    /// <summary>Draws what came in over a time of which both ends are known: no line crosses a gap.</summary>
    /// <param name="id">Tells it from others on the page.</param>
    /// <param name="title">What it shows.</param>
    /// <param name="says">What is seen in it, in sentences.</param>
    /// <param name="set">What the incubator is set to, in degrees Celsius; null where nobody has said.</param>
    /// <param name="tolerance">How far it may lie from that, in degrees.</param>
    /// <param name="dots">The temperatures in the order of their times; at least one.</param>
    /// <param name="span">The time that is shown.</param>
    /// <param name="gaps">The times in which nothing came, each with what is said of it.</param>
    public static string RenderCourse(string id, string title, string says, double? set, double tolerance,
        IReadOnlyList<TemperatureDot> dots, Interval span, IReadOnlyList<(Interval When, string Says)> gaps)
    {
        ArgumentNullException.ThrowIfNull(dots);
        ArgumentNullException.ThrowIfNull(gaps);
        ArgumentOutOfRangeException.ThrowIfZero(dots.Count);
        var frame = FrameOf(set, tolerance, dots, span.Start, span.End);
        var root = Root(title, says, "-" + id);
        AddBand(root, frame, set, tolerance);
        if (set is null)
            foreach (var level in new[] { dots.Min(dot => dot.Degrees), dots.Max(dot => dot.Degrees) }.Distinct())
                root.Add(Level(frame, level, isSet: false));
        foreach (var (when, gap) in gaps)
        {
            var group = Svg.Element("g");
            group.Add(Svg.Text("title", gap));
            group.Add(Svg.Box("tc-gap", frame.X(when.Start), Top, frame.X(when.End) - frame.X(when.Start),
                Height - Top - Bottom, 0));
            root.Add(group);
        }

        foreach (var (one, next) in dots.Zip(dots.Skip(1)))
            if (!gaps.Any(gap => gap.When.Start <= one.At && next.At <= gap.When.End))
                root.Add(Svg.Line("tc-path", frame.X(one.At), frame.Y(one.Degrees), frame.X(next.At),
                    frame.Y(next.Degrees)));
        // More would be a bar: the line says it.
        foreach (var dot in dots.Count <= MostDots ? dots : [.. dots.Where(dot => dot.IsOutside).TakeLast(MostDots)])
            root.Add(Dot(frame, dot));
        root.Add(Time(frame, dots[0], "start"));
        if (dots.Count > 1 && frame.X(dots[^1].At) - frame.X(dots[0].At) > RoomForTimes)
            root.Add(Time(frame, dots[^1], "end"));
        return Svg.Write(root);
    }

    private static Frame FrameOf(double? set, double tolerance, IReadOnlyList<TemperatureDot> dots, Instant from,
        Instant to)
    {
        var levels = dots.Select(dot => dot.Degrees)
            .Concat(set is { } degrees ? [degrees - tolerance, degrees + tolerance] : []).ToList();
        // A flat line still lies in the middle of something.
        var margin = Math.Max(0.5, (levels.Max() - levels.Min()) * 0.15);
        return new Frame(levels.Min() - margin, levels.Max() + margin, from, to);
    }

    private static XElement Root(string title, string says, string id)
    {
        var root = Svg.Element("svg",
            ("class", "temperature-chart"), ("viewBox", $"0 0 {Svg.Number(Width)} {Svg.Number(Height)}"),
                ("width", Width), ("height", Height),
            ("role", "img"), ("aria-labelledby", "temperature-title" + id),
                ("aria-describedby", "temperature-desc" + id));
        root.Add(Svg.Text("title", title, ("id", "temperature-title" + id)));
        root.Add(Svg.Text("desc", says, ("id", "temperature-desc" + id)));
        return root;
    }

    private static void AddBand(XElement root, Frame frame, double? set, double tolerance)
    {
        if (set is not { } middle)
            return;
        root.Add(Svg.Box("tc-band", Left, frame.Y(middle + tolerance), Width - Left - Right,
            frame.Y(middle - tolerance) - frame.Y(middle + tolerance), 0));
        foreach (var level in new[] { middle - tolerance, middle, middle + tolerance }.Distinct())
            root.Add(Level(frame, level, level == middle));
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
