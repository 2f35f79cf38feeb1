using System.Xml.Linq;

namespace Incubation.Chart;

/// <summary>What every drawing begins with: its root, its words for those who hear it, its hatching.</summary>
internal static class Drawing
{
    /// <summary>The root of a drawing.</summary>
    public static XElement Root(Scene scene, Geometry geometry, double height, string key)
    {
        var root = Svg.Element("svg",
            ("class", $"lanes lanes-{geometry.Name}"),
                ("viewBox", $"0 0 {Svg.Number(geometry.Width)} {Svg.Number(height)}"),
            ("width", geometry.Width), ("height", height), ("preserveAspectRatio", "xMinYMin meet"), ("role", "img"),
            ("aria-labelledby", $"{key}-title"), ("aria-describedby", $"{key}-desc"));
        root.Add(Svg.Text("title", scene.Title, ("id", $"{key}-title")));
        root.Add(Svg.Text("desc", string.Join(' ', scene.Lanes.Select(lane => lane.Spoken).Concat(scene.Notes)),
            ("id", $"{key}-desc")));
        return root;
    }

    /// <summary>The hatching of read windows, and where given the area beyond which nothing is drawn.</summary>
    public static XElement Definitions(string key, XElement? clip = null)
    {
        var definitions = Svg.Element("defs");
        var hatch = Svg.Element("pattern", ("id", Hatch(key)), ("width", 9.0), ("height", 9.0),
            ("patternUnits", "userSpaceOnUse"), ("patternTransform", "rotate(45)"));
        hatch.Add(Svg.Element("rect", ("class", "ln-hatch-ground"), ("width", 9.0), ("height", 9.0)));
        hatch.Add(Svg.Element("rect", ("class", "ln-hatch-stripe"), ("width", 4.5), ("height", 9.0)));
        definitions.Add(hatch);
        if (clip is not null)
        {
            var area = Svg.Element("clipPath", ("id", Clip(key)));
            area.Add(clip);
            definitions.Add(area);
        }
        return definitions;
    }

    /// <summary>The axis above the lanes and its lines down through them.</summary>
    public static XElement Axis(IEnumerable<AxisMark> marks, double top, double bottom)
    {
        var group = Svg.Element("g", ("class", "ln-axis"));
        foreach (var mark in marks)
        {
            group.Add(Svg.Line("ln-grid", mark.X, top, mark.X, bottom));
            if (mark.Text.Length > 0)
                group.Add(Svg.Text("text", mark.Text, ("class", "ln-axis-text"), ("x", mark.X), ("y", top - 8)));
        }
        return group;
    }

    public static string Hatch(string key) => $"{key}-hatch";

    public static string Clip(string key) => $"{key}-clip";

    /// <summary>
    /// A name as an identifier: a letter first, then letters, digits and hyphens; different names stay different.
    /// </summary>
    public static string Key(string name) =>
        "ln-"
            + string.Concat(name.Select(letter => char.IsAsciiLetterOrDigit(letter)
                ? letter.ToString() : $"-{(int)letter:x}-"));
}
