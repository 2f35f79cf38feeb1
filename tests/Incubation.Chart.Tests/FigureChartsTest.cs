using System.Globalization;
using System.Xml.Linq;
using Xunit;

namespace Incubation.Chart.Tests;

/// <summary>The charts of figures: bars, columns and proportions.</summary>
public sealed class FigureChartsTest
{
    private static readonly Bar[] Bars = [new("waiting <b>", 10, "10:00", 20, "90 %: 20:00"),
        new("reading", 5, "5:00", 5, "90 %: 5:00"), new("none", null, "–")];

    [Theory]
    [InlineData(BarBeside.Nothing)]
    [InlineData(BarBeside.Reach)]
    [InlineData(BarBeside.Outline)]
    [InlineData(BarBeside.Sum)]
    public void Bars_AnyWay_AreAsLongAsTheirValuesAndReadOut(BarBeside beside)
    {
        var drawn = Parse(BarChart.Render("one", "Waiting is longest", Bars, beside, "minutes"));
        var bars = Of(drawn, "rect", "fc-bar").Select(bar => Number(bar, "width")).ToList();
        Assert.Equal(2, bars.Count);
        Assert.Equal(2, bars[0] / bars[1], 3);
        Assert.Equal("Waiting is longest", drawn.Elements().First().Value);
        Assert.Contains("waiting <b>: 10:00", Spoken(drawn), StringComparison.Ordinal);
        StaysInside(drawn);
    }

    [Fact]
    public void Bars_Pareto_LineGoesFromBarToBar()
    {
        var drawn =
            Parse(BarChart.Render("p", "t", [new("a", 6, "6", 0.6, "60 %"), new("b", 4, "4", 1, "100 %")],
                BarBeside.Sum, "cartridges"));
        var dots = Of(drawn, "circle", "fc-dot").Select(dot => Number(dot, "cx")).ToList();
        Assert.True(dots[0] < dots[1]);
        Assert.Single(Of(drawn, "line", "fc-sum"));
    }

    [Fact]
    public void Bars_AllZero_AreDrawn() =>
        StaysInside(Parse(BarChart.Render("zero", "t", [new("a", 0, "0")], BarBeside.Nothing, "minutes")));

    [Fact]
    public void Columns_WithMarks_StandWhereTheyBelong()
    {
        var drawn =
            Parse(
                ColumnChart.Render("hours", "t",
                    [new("08", 4, "eight"), new("09", 8, "nine", 6), new("late", 1, "late", Stands: true),
                        new("", 0, "")], "hour", "requests", [new ColumnMark(0.5, "half")]));
        var columns = Of(drawn, "rect", "fc-bar").Select(column => Number(column, "height")).ToList();
        Assert.Equal(2, columns[1] / columns[0], 3);
        Assert.StartsWith("url(#", Assert.Single(Of(drawn, "rect", "fc-stands")).Attribute("fill")!.Value,
            StringComparison.Ordinal);
        var mark = Number(Assert.Single(Of(drawn, "line", "fc-mark")), "x1");
        var second = Of(drawn, "rect", "fc-bar").ElementAt(1);
        // Half of the way is where the second of four columns ends.
        Assert.InRange(mark, Number(second, "x") + Number(second, "width"),
            Number(Of(drawn, "rect", "fc-stands").Single(), "x"));
        Assert.Contains("nine.", Spoken(drawn), StringComparison.Ordinal);
        StaysInside(drawn);
    }

    [Fact]
    public void Proportions_BeyondTheirLimits_AreSquaresWithTheirFigure()
    {
        var drawn =
            Parse(ProportionPicture.Render("p", "t", 0.05, "mean 5 %", "limit", "%",
                [new("03-02", 0.04, 0, 0.1, false, "fine"), new("03-03", 0.2, 0.01, 0.12, true, "much")]));
        Assert.Single(Of(drawn, "circle", "fc-dot"));
        Assert.Single(Of(drawn, "rect", "fc-beyond"));
        Assert.Equal("20 %", Assert.Single(Of(drawn, "text", "fc-beyond-text")).Value);
        Assert.Equal(3, Of(drawn, "line", "fc-limit").Count());
        StaysInside(drawn);
    }

    [Fact]
    public void Proportions_NoneAtAll_AreDrawnOnTheFloor() =>
        StaysInside(
            Parse(ProportionPicture.Render("p", "t", 0, "mean", "limit", "%",
                [new("a", 0, 0, 0, false, "a"), new("b", 0, 0, 0, false, "b")])));

    private static XElement Parse(string svg) => XDocument.Parse(svg).Root!;

    private static string Spoken(XElement drawn) => drawn.Elements()
        .Single(element => element.Name.LocalName == "desc").Value;

    private static IEnumerable<XElement> Of(XElement drawn, string name, string css) =>
        drawn.Descendants()
            .Where(element => element.Name.LocalName == name && (string?)element.Attribute("class") == css);

    private static void StaysInside(XElement drawn)
    {
        var (width, height) = (Number(drawn, "width"), Number(drawn, "height"));
        foreach (var box in drawn.Descendants()
            .Where(element => element.Name.LocalName == "rect" && element.Parent!.Name.LocalName != "pattern"))
        {
            Assert.InRange(Number(box, "x"), 0, width);
            Assert.InRange(Number(box, "x") + Number(box, "width"), 0, width);
            Assert.InRange(Number(box, "y") + Number(box, "height"), 0, height);
        }

        Assert.DoesNotContain("NaN", drawn.ToString(), StringComparison.Ordinal);
    }

    private static double Number(XElement element, string name) =>
        double.Parse(element.Attribute(name)!.Value, CultureInfo.InvariantCulture);
}
