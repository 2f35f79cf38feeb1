using Xunit;

namespace Incubation.Model.Tests;

/// <summary>
/// Values as they are reported and marked (common practice: outside the measuring range as below or above its end;
/// against interval and limits strictly).
/// </summary>
public sealed class MarkedResultTest
{
    private static readonly ResultRule Rule = new(1, new ValueRange(0.5m, 200), new ValueRange(1, 5),
        new ValueRange(0.6m, 150));

    [Theory]
    [InlineData("4.2", "4.2", ResultFlag.None, false)]
    [InlineData("4.25", "4.3", ResultFlag.None, false)]
    [InlineData("4", "4.0", ResultFlag.None, false)]
    [InlineData("1.0", "1.0", ResultFlag.None, false)]
    [InlineData("5.0", "5.0", ResultFlag.None, false)]
    [InlineData("0.99", "1.0", ResultFlag.Low, false)]
    [InlineData("5.01", "5.0", ResultFlag.High, false)]
    [InlineData("150", "150.0", ResultFlag.High, false)]
    [InlineData("150.1", "150.1", ResultFlag.High, true)]
    [InlineData("0.59", "0.6", ResultFlag.Low, true)]
    [InlineData("0.4", "< 0.5", ResultFlag.Low, true)]
    [InlineData("200.1", "> 200.0", ResultFlag.High, true)]
    [InlineData("<0.5", "< 0.5", ResultFlag.Low, true)]
    [InlineData("> 300", "> 300.0", ResultFlag.High, true)]
    [InlineData("<20", "< 20.0", ResultFlag.None, false)]
    public void Of_AValue_IsReportedAndMarked(string shown, string reported, ResultFlag flag, bool critical) =>
        Assert.Equal(new MarkedResult(reported, flag, critical), MarkedResult.Of(Rule, shown));

    [Theory]
    [InlineData("4.25")]
    [InlineData("0004")]
    public void Of_NoRule_IsAsTheReaderShowsIt(string shown) =>
        Assert.Equal(new MarkedResult(shown, ResultFlag.None, false), MarkedResult.Of(ResultRule.AsDisplayed, shown));

    [Fact]
    public void Of_ANumberBeyondAllNumbers_IsKeptAsShownAndNotJudged() =>
        Assert.Equal(new MarkedResult("99999999999999999999999999999999999", ResultFlag.None, false),
            MarkedResult.Of(Rule, "99999999999999999999999999999999999"));
}
