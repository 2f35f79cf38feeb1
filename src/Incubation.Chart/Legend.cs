using System.Xml.Linq;

namespace Incubation.Chart;

/// <summary>Says what the shapes mean, with the shapes themselves.</summary>
internal static class Legend
{
    private const double Gap = 22;
    private const double Character = 7.4;

    public static XElement Draw(Geometry geometry, double middle, string hatch)
    {
        var group = Svg.Element("g", ("class", "ln-legend"));
        var x = 4.0;
        foreach (var (shape, width, word) in Entries(middle, hatch))
        {
            group.Add(Shifted(shape, x));
            group.Add(Svg.Text("text", word, ("class", "ln-legend-text"), ("x", x + width + 7), ("y", middle),
                ("dominant-baseline", "central")));
            x += width + 7 + word.Length * Character + Gap;
            if (x > geometry.Width)
                break;
        }
        return group;
    }

    private static XElement Shifted(XElement shape, double x)
    {
        shape.SetAttributeValue("transform", $"translate({Svg.Number(x)} 0)");
        return shape;
    }

    private static IEnumerable<(XElement Shape, double Width, string Word)> Entries(double middle, string hatch)
    {
        yield return (Boxed("ln-reaction", 30, 14, middle), 30, Words.LegendReacting);
        yield return (Boxed("ln-window", 22, 18, middle, $"url(#{hatch})"), 22, Words.LegendWindow);
        var tick = Svg.Element("g", ("class", "ln-tick"));
        tick.Add(Svg.Line("ln-box", 2, middle - 9, 2, middle + 9));
        yield return (tick, 4, Words.LegendMove);
        yield return (Boxed("ln-reading", 20, 18, middle), 20, Words.LegendReading);
        yield return (Boxed("ln-card ln-planned", 18, 18, middle), 18, Words.LegendCard);
        yield return (Boxed("ln-reading ln-planned", 20, 18, middle), 20, Words.LegendPlanned);
        var free = Svg.Element("g");
        free.Add(Svg.Line("ln-free", 0, middle, 30, middle));
        yield return (free, 30, Words.Free);
    }

    private static XElement Boxed(string css, double width, double height, double middle, string? fill = null)
    {
        var group = Svg.Element("g", ("class", css));
        group.Add(Svg.Box("ln-box", 0, middle - height / 2, width, height, 4, fill));
        return group;
    }
}
