using System.Globalization;
using System.Xml.Linq;
using Xunit;

namespace Incubation.Chart.Tests;

public sealed class ControlChartTest
{
    private static readonly string[] Lines = ["188", "192", "196", "200", "204", "208", "212"];

    [Fact]
    public void Render_EachVerdict_HasAShapeAndItsRules()
    {
        var drawn = Draw(Dot(0.5), Dot(2.25, "1-2s", ControlMark.Warning), Dot(3.25, "1-3s", ControlMark.Rejected));
        Assert.Single(Of(drawn, "circle"));
        Assert.Single(Of(drawn, "polygon"));
        Assert.Single(Of(drawn, "rect"));
        Assert.Equal(2, Of(drawn, "line").Count(line => Css(line) == "cc-cross"));
        Assert.Equal(["1-2s", "1-3s"], Of(drawn, "text").Where(text => Css(text) == "cc-rules")
            .Select(text => text.Value));
    }

    [Fact]
    public void Render_TheSevenLines_AreNamedWithTheirValues()
    {
        var drawn = Draw(Dot(0));
        Assert.Equal(7, Of(drawn, "line").Count(line => Css(line).StartsWith("cc-mean", StringComparison.Ordinal)
            || Css(line).StartsWith("cc-limit", StringComparison.Ordinal)));
        var words = Of(drawn, "text").Select(text => text.Value).ToList();
        Assert.All(Lines, line => Assert.Contains(line, words));
        Assert.Contains("+3 SD", words);
        Assert.Contains("−3 SD", words);
        Assert.Contains("mean", words);
    }

    [Fact]
    public void Render_HigherValues_StandHigher()
    {
        var circles = Of(Draw(Dot(-1), Dot(0), Dot(1)), "circle")
            .Select(circle => double.Parse(circle.Attribute("cy")!.Value, CultureInfo.InvariantCulture)).ToList();
        Assert.True(circles[0] > circles[1] && circles[1] > circles[2]);
        Assert.Equal(circles[0] - circles[1], circles[1] - circles[2], 0.01);
    }

    [Fact]
    public void Render_FarBeyond_StandsAtTheEdgeWithAnArrow()
    {
        var drawn = Draw(Dot(40, "1-3s", ControlMark.Rejected));
        Assert.Contains("▲", Of(drawn, "text").Select(text => text.Value));
        Assert.True(double.Parse(Of(drawn, "rect").Single().Attribute("y")!.Value, CultureInfo.InvariantCulture) > 0);
    }

    [Fact]
    public void Render_WhereTheRulesBeginAnew_TheLineIsBroken()
    {
        Assert.Equal(2, Paths(Draw(Dot(0), Dot(1), Dot(0))));
        Assert.Equal(1, Paths(Draw(Dot(0), Dot(1) with { Breaks = true }, Dot(0))));
        static int Paths(XElement drawn) => Of(drawn, "line").Count(line => Css(line) == "cc-path");
    }

    [Fact]
    public void Render_WithAnyName_IsEscapedAndSpoken()
    {
        var drawn = Draw(Dot(0) with { Says = "<b>&\"209" });
        Assert.Contains("<b>&\"209", Of(drawn, "desc").Single().Value, StringComparison.Ordinal);
        Assert.Equal("img", drawn.Attribute("role")!.Value);
        Assert.Empty(drawn.DescendantsAndSelf().Attributes("style"));
    }

    [Fact]
    public void Render_WithoutATarget_IsAHollowTriangle() =>
        Assert.Equal("cc-unjudged", Css(Of(Draw(Dot(0.5, mark: ControlMark.NotJudged)), "polygon").Single()));

    private static ControlDot Dot(double z, string rules = "", ControlMark mark = ControlMark.Accepted) =>
        new("03-02", z, "said", rules, mark, false);

    private static XElement Draw(params ControlDot[] dots) =>
        XElement.Parse(ControlChart.Render("A <control>", Lines, dots));

    private static List<XElement> Of(XElement drawn, string name) =>
        [.. drawn.Descendants().Where(element => element.Name.LocalName == name)];

    private static string Css(XElement element) => element.Attribute("class")?.Value ?? "";
}
