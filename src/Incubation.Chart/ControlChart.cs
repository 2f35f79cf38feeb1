using System.Globalization;
using System.Xml.Linq;

namespace Incubation.Chart;

/// <summary>How a value stands out on a control chart: by its shape and word, not by colour alone.</summary>
public enum ControlMark
{
    /// <summary>A dot.</summary>
    Accepted,

    /// <summary>A diamond with its rule.</summary>
    Warning,

    /// <summary>A crossed square with its rules.</summary>
    Rejected,

    /// <summary>A hollow dot, struck through: judged anew since, or set aside.</summary>
    Superseded,

    /// <summary>A hollow triangle: no target was in force.</summary>
    NotJudged,
}

/// <summary>A value on a control chart.</summary>
/// <param name="When">When it was measured, as the axis says it.</param>
/// <param name="Z">How many standard deviations it lies above its mean.</param>
/// <param name="Says">What is said of it: its value and rules.</param>
/// <param name="Rules">The rules that it breaks, short: "1-3s"; "" for none.</param>
/// <param name="Mark">How it stands out.</param>
/// <param name="Breaks">Whether the line to it is broken: a corrective action lies between it and the value
/// before.</param>
public sealed record ControlDot(string When, double Z, string Says, string Rules, ControlMark Mark, bool Breaks);

/// <summary>
/// A control chart after S. Levey and E. R. Jennings, Am J Clin Pathol 1950;20:1059 (from memory): values over time
/// against their mean and 1, 2 and 3 standard deviations. Drawn with the pages' stylesheet.
/// </summary>
public static class ControlChart
{
    private const double Left = 96, Right = 40, Top = 40, Bottom = 48, PerZ = 44, Reach = 4, Gap = 34, LeastWidth = 760;

    /// <summary>Draws a chart.</summary>
    /// <param name="title">What it shows.</param>
    /// <param name="lines">What stands beside the lines, from −3 to +3 standard deviations: seven texts.</param>
    /// <param name="dots">The values, the first first.</param>
    public static string Render(string title, IReadOnlyList<string> lines, IReadOnlyList<ControlDot> dots)
    {
        ArgumentNullException.ThrowIfNull(lines);
        ArgumentNullException.ThrowIfNull(dots);
        ArgumentOutOfRangeException.ThrowIfNotEqual(lines.Count, 7);
        var width = Math.Max(LeastWidth, Left + Right + (Gap * dots.Count));
        var height = Top + Bottom + (2 * Reach * PerZ);
        var root = Svg.Element("svg",
            ("class", "control-chart"), ("viewBox", $"0 0 {Svg.Number(width)} {Svg.Number(height)}"), ("width", width),
                ("height", height),
            ("role", "img"), ("aria-labelledby", "control-title"), ("aria-describedby", "control-desc"));
        root.Add(Svg.Text("title", title, ("id", "control-title")));
        root.Add(Svg.Text("desc", string.Join(' ', dots.Select(dot => $"{dot.When}: {dot.Says}.")),
            ("id", "control-desc")));
        for (var z = -3; z <= 3; z++)
            root.Add(Limit(z, lines[z + 3], width));
        AddPath(root, dots);
        for (var at = 0; at < dots.Count; at++)
            root.Add(Dot(dots, at));
        return Svg.Write(root);
    }

    /// <summary>The line from value to value; what is superseded does not lie on it.</summary>
    private static void AddPath(XElement root, IReadOnlyList<ControlDot> dots)
    {
        var before = (int?)null;
        for (var at = 0; at < dots.Count; at++)
        {
            if (dots[at].Mark == ControlMark.Superseded)
                continue;
            if (before is { } from && !dots[at].Breaks)
                root.Add(Svg.Line("cc-path", X(from), Y(dots[from].Z), X(at), Y(dots[at].Z)));
            before = at;
        }
    }

    private static XElement Limit(int z, string text, double width)
    {
        var group = Svg.Element("g");
        var css = Math.Abs(z) switch
        {
            0 => "cc-mean",
            3 => "cc-limit cc-three",
            2 => "cc-limit cc-two",
            _ => "cc-limit cc-one"
        };
        group.Add(Svg.Line(css, Left, Y(z), width - Right, Y(z)));
        var name = z == 0
            ? Words.ControlMean : Phrase.Of(Words.ControlDeviations, z.ToString("+0;−0", CultureInfo.InvariantCulture));
        group.Add(Svg.Text("text", name, ("class", "cc-text"), ("x", Left - 8), ("y", Y(z) - 2),
            ("text-anchor", "end")));
        group.Add(Svg.Text("text", text, ("class", "cc-soft"), ("x", Left - 8), ("y", Y(z) + 12),
            ("text-anchor", "end")));
        return group;
    }

    private static XElement Dot(IReadOnlyList<ControlDot> dots, int at)
    {
        var dot = dots[at];
        var (x, y) = (X(at), Y(dot.Z));
        var group = Svg.Element("g", ("class", "cc-dot"));
        group.Add(Svg.Text("title", $"{dot.When}: {dot.Says}"));
        switch (dot.Mark)
        {
            case ControlMark.Rejected:
                group.Add(Svg.Box("cc-rejected", x - 7, y - 7, 14, 14, 0));
                group.Add(Svg.Line("cc-cross", x - 7, y - 7, x + 7, y + 7));
                group.Add(Svg.Line("cc-cross", x - 7, y + 7, x + 7, y - 7));
                break;
            case ControlMark.Warning:
                group.Add(Svg.Element("polygon", ("class", "cc-warning"), ("points",
                    string.Join(' ',
                        new[] { (x, y - 8), (x + 8, y), (x, y + 8), (x - 8, y) }.Select(corner =>
                            $"{Svg.Number(corner.Item1)},{Svg.Number(corner.Item2)}")))));
                break;
            case ControlMark.Superseded:
                group.Add(Svg.Element("circle", ("class", "cc-superseded"), ("cx", x), ("cy", y), ("r", 5.0)));
                group.Add(Svg.Line("cc-strike", x - 10, y, x + 10, y));
                break;
            case ControlMark.NotJudged:
                group.Add(Svg.Element("polygon", ("class", "cc-unjudged"), ("points",
                    $"{Svg.Number(x - 7)},{Svg.Number(y - 6)} {Svg.Number(x + 7)},{Svg.Number(y - 6)} "
                    + $"{Svg.Number(x)},{Svg.Number(y + 7)}")));
                break;
            default:
                group.Add(Svg.Element("circle", ("class", "cc-accepted"), ("cx", x), ("cy", y), ("r", 5.0)));
                break;
        }

        if (Math.Abs(dot.Z) > Reach)
            group.Add(Svg.Text("text", dot.Z > 0 ? "▲" : "▼", ("class", "cc-text"), ("x", x + 10), ("y", y + 4)));
        if (dot.Rules.Length > 0)
            group.Add(Svg.Text("text", dot.Rules, ("class", "cc-rules"), ("x", x), ("y", dot.Z < 0 ? y + 24 : y - 12),
                ("text-anchor", "middle")));
        // Days stand under every value; where the same day comes again it is left out.
        if (at == 0 || dots[at - 1].When != dot.When)
            group.Add(Svg.Text("text", dot.When, ("class", "cc-soft"), ("x", x),
                ("y", Top + (2 * Reach * PerZ) + (at % 2 == 0 ? 18 : 34)), ("text-anchor", "middle")));
        return group;
    }

    private static double X(int at) => Left + (Gap * (at + 0.5));

    /// <summary>What lies beyond the chart stands at its edge.</summary>
    private static double Y(double z) => Top + ((Reach - Math.Clamp(z, -Reach, Reach)) * PerZ);
}
