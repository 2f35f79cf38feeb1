using System.Globalization;
using System.Xml.Linq;
using Xunit;

namespace Incubation.Chart.Tests;

public sealed class MovingMeanChartTest
{
    private static readonly MeanLines Lines = new(48, 50, 52, "48", "50", "52");

    [Fact]
    public void Render_OutsideItsLimits_IsACrossedSquare()
    {
        var drawn = Draw(new MeanDot("03-02", 51, false, "51"), new MeanDot("03-02", 53, true, "53"));
        Assert.Single(Of(drawn, "circle"));
        Assert.Single(Of(drawn, "rect"));
        Assert.Single(Of(drawn, "line"), line => line.Attribute("class")!.Value == "cc-path");
        Assert.Equal("53", Of(drawn, "desc").Single().Value);
    }

    [Fact]
    public void Render_HigherMeans_StandHigher_AndFarOnesAtTheEdge()
    {
        var heights = Of(Draw([.. new[] { 49.0, 50, 51, 500 }.Select(mean => new MeanDot("d", mean, false, "m"))]),
            "circle").Select(circle => double.Parse(circle.Attribute("cy")!.Value, CultureInfo.InvariantCulture))
            .ToList();
        Assert.Equal(heights.OrderDescending(), heights);
        Assert.True(heights[^1] > 0);
    }

    [Fact]
    public void Render_WithoutMeans_HasItsLimits() =>
        Assert.Equal(["48", "50", "52"], Of(Draw(), "text").Select(text => text.Value));

    private static XElement Draw(params MeanDot[] dots) =>
        XElement.Parse(MovingMeanChart.Render("A <mean>", Lines, dots));

    private static List<XElement> Of(XElement drawn, string name) =>
        [.. drawn.Descendants().Where(element => element.Name.LocalName == name)];
}
