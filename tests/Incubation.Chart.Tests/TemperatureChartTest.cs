using System.Globalization;
using System.Xml.Linq;
using NodaTime;
using Xunit;

namespace Incubation.Chart.Tests;

public sealed class TemperatureChartTest
{
    private static readonly Instant Noon = Instant.FromUtc(2026, 3, 2, 12, 0);

    [Fact]
    public void Render_InsideAndOutside_HaveTheirOwnShapes()
    {
        var drawn = Draw(25, Dot(0, 25.2), Dot(10, 27, true), Dot(20, 24.9));
        Assert.Equal(2, Of(drawn, "circle").Count());
        Assert.Single(Of(drawn, "rect"), box => Css(box) == "tc-outside");
        Assert.Equal(2, Of(drawn, "line").Count(line => Css(line) == "tc-path"));
        Assert.Equal(["24.0", "25.0", "26.0", "+0", "+20"], Of(drawn, "text").Select(text => text.Value));
    }

    /// <summary>A line over a time in which nothing came would say that it was so warm then.</summary>
    [Fact]
    public void RenderCourse_WithAGap_DrawsNoLineAcrossIt()
    {
        var gap = new Interval(Noon + Duration.FromMinutes(10), Noon + Duration.FromMinutes(60));
        var drawn = XElement.Parse(TemperatureChart.RenderCourse("p1", "Probe", "Four.", 25, 1,
            [Dot(0, 25.2), Dot(10, 25), Dot(60, 24.9), Dot(70, 25)],
            new Interval(Noon, Noon + Duration.FromMinutes(100)), [(gap, "nothing came")]));
        Assert.Equal(2, Of(drawn, "line").Count(line => Css(line) == "tc-path"));
        var box = Assert.Single(Of(drawn, "rect"), box => Css(box) == "tc-gap");
        var circles = Of(drawn, "circle").ToList();
        Assert.Equal(Number(circles[1], "cx"), Number(box, "x"), 0.1);
        Assert.Equal(Number(circles[2], "cx"), Number(box, "x") + Number(box, "width"), 0.1);
        Assert.Equal("temperature-title-p1", drawn.Attribute("aria-labelledby")!.Value);
    }

    [Fact]
    public void RenderCourse_OfADay_ShowsOutliersAndALine()
    {
        var drawn = XElement.Parse(TemperatureChart.RenderCourse("p1", "Probe", "Many.", 25, 1,
            [.. Enumerable.Range(0, 1440).Select(minute => Dot(minute, minute == 700 ? 30 : 25, minute == 700))],
            new Interval(Noon, Noon + Duration.FromMinutes(1440)), []));
        Assert.Empty(Of(drawn, "circle"));
        Assert.Single(Of(drawn, "rect"), box => Css(box) == "tc-outside");
    }

    [Fact]
    public void Render_WarmerAndLater_StandsHigherAndFartherRight()
    {
        var circles = Of(Draw(25, Dot(0, 24.8), Dot(5, 25.2), Dot(20, 25.4)), "circle").ToList();
        Assert.True(Number(circles[0], "cy") > Number(circles[1], "cy")
            && Number(circles[1], "cy") > Number(circles[2], "cy"));
        Assert.Equal(3,
            (Number(circles[2], "cx") - Number(circles[1], "cx")) / (
                Number(circles[1], "cx") - Number(circles[0], "cx")), 0.01);
    }

    [Fact]
    public void Render_OneReadingAndNothingSet_IsDrawnInsideTheFrame()
    {
        var dot = Assert.Single(Of(Draw(null, Dot(0, 25)), "circle"));
        Assert.InRange(Number(dot, "cx"), 1, 639);
        Assert.InRange(Number(dot, "cy"), 1, 149);
    }

    [Fact]
    public void Render_WithAnyName_IsEscapedAndSpoken()
    {
        var drawn = XElement.Parse(TemperatureChart.Render("<b>&", 25, 1, [Dot(0, 25)]));
        Assert.Equal("<b>&", Of(drawn, "title").First().Value);
        Assert.Equal("+0: 25.", Of(drawn, "desc").Single().Value);
    }

    private static XElement Draw(double? set, params TemperatureDot[] dots) =>
        XElement.Parse(TemperatureChart.Render("Incubator", set, 1, dots));

    private static TemperatureDot Dot(int minutes, double degrees, bool isOutside = false) =>
        new(Noon + Duration.FromMinutes(minutes), degrees, string.Create(CultureInfo.InvariantCulture, $"+{minutes}"),
            degrees.ToString(CultureInfo.InvariantCulture), isOutside);

    private static IEnumerable<XElement> Of(XElement drawn, string name) => drawn.Descendants()
        .Where(element => element.Name.LocalName == name);

    private static string Css(XElement element) => element.Attribute("class")?.Value ?? "";

    private static double Number(XElement element, string name) =>
        double.Parse(element.Attribute(name)!.Value, CultureInfo.InvariantCulture);
}
