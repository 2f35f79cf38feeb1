using System.Globalization;
using System.Xml.Linq;

namespace Incubation.Chart;

/// <summary>
/// What the charts of figures have in common: the frame that is read out, and a scale from zero in round steps.
/// </summary>
internal static class FigureFrame
{
    /// <summary>Width of every chart of figures, in pixels; on paper it shrinks to the page.</summary>
    public const double Width = 1080;

    public static XElement Root(string key, string title, IEnumerable<string> says, double height)
    {
        var id = Drawing.Key(key);
        var root = Svg.Element("svg",
            ("class", "figure-chart"), ("viewBox", $"0 0 {Svg.Number(Width)} {Svg.Number(height)}"), ("width", Width),
                ("height", height),
            ("role", "img"), ("aria-labelledby", $"{id}-title"), ("aria-describedby", $"{id}-desc"));
        root.Add(Svg.Text("title", title, ("id", $"{id}-title")));
        root.Add(Svg.Text("desc", string.Join(' ', says), ("id", $"{id}-desc")));
        return root;
    }

    public static XElement Text(string css, string text, double x, double y, string anchor = "start") =>
        Svg.Text("text", text, ("class", css), ("x", x), ("y", y), ("text-anchor", anchor));

    private static readonly int[] RoundSteps = [1, 2, 5, 10];

    /// <summary>Up to six round steps from zero that reach a value: 1, 2 or 5 times a power of ten.</summary>
    public static (double Step, double Top) Scale(double most)
    {
        if (!(most > 0))
            return (1, 1);
        var power = Math.Pow(10, Math.Floor(Math.Log10(most / 5)));
        var step = power * RoundSteps.First(times => most / (power * times) <= 5 + 1e-9);
        return (step, step * Math.Ceiling((most / step) - 1e-9));
    }

    public static string Round(double value) => Math.Round(value, 6).ToString("0.######", CultureInfo.InvariantCulture);
}
