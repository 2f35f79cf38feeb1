using System.Xml.Linq;
using Xunit;

namespace Incubation.Chart.Tests;

public sealed class DispatchChartTest
{
    private static readonly DispatchRow Good = new("this <program>", [10, 20, 30], 20, 28, 18.7, 0.1, 0, 0.5);
    private static readonly DispatchRow Empty = new("nothing", [], 0, 0, 0, 1000, 998, 1000);

    [Fact]
    public void Render_TwoRows_NamesThemAndSaysTheirFigures()
    {
        var svg = XDocument.Parse(DispatchChart.Render(100, 12, [Good, Empty]));
        var texts = svg.Descendants().Where(e => e.Name.LocalName == "text").Select(e => e.Value).ToList();
        Assert.Contains("this <program>", texts);
        Assert.Contains("median 20.0", texts);
        Assert.Contains("90 % within 28.0", texts);
        Assert.Contains("18.7", texts);
        Assert.Contains("95 %: 0.0 to 0.5", texts);
        var spoken = svg.Descendants().Single(e => e.Name.LocalName == "desc").Value;
        Assert.Contains("this <program>: median 20.0 minutes", spoken, StringComparison.Ordinal);
    }

    [Fact]
    public void Render_AnyRow_StaysInsideTheDrawing()
    {
        var svg = XDocument.Parse(DispatchChart.Render(100, 12, [Good, Empty])).Root!;
        var width = double.Parse(svg.Attribute("width")!.Value, System.Globalization.CultureInfo.InvariantCulture);
        Assert.All(svg.Descendants().Where(e => e.Name.LocalName == "rect"), box =>
        {
            var (x, wide) = (Number(box, "x"), Number(box, "width"));
            Assert.InRange(x, 0, width);
            Assert.InRange(x + wide, 0, width);
        });
    }

    private static double Number(XElement element, string name) =>
        double.Parse(element.Attribute(name)!.Value, System.Globalization.CultureInfo.InvariantCulture);
}
