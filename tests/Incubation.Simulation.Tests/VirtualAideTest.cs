using System.Globalization;
using Incubation.Model;
using Xunit;

namespace Incubation.Simulation.Tests;

public sealed class VirtualAideTest
{
    private static readonly ValueRange Measuring = new(3.7m, 1480m);

    [Theory]
    // From 3.7 to 37 usual, above 1110 critical; an interval with a lower end; nothing said but what is measured.
    [InlineData(null, "37.0", "1110", 1, 0.73, 0.77)]
    [InlineData("6.80", "68.00", null, 2, 0.73, 0.77)]
    [InlineData(null, null, null, 0, 1, 1)]
    public void InventedResult_ForASheet_IsAsAClinicsAre(string? from, string? to, string? critical, int decimals,
        double least, double most)
    {
        var rule = new ResultRule(decimals, Measuring, new ValueRange(Of(from), Of(to)),
            new ValueRange(null, Of(critical)));
        var aide = new VirtualAide(new Random(18));
        var shown = Enumerable.Range(0, 10_000).Select(_ => aide.InventedResult(rule)).ToList();

        Assert.All(shown, text => Assert.Null(PossibleValue.QuestionOf(rule, text)));
        Assert.All(shown, text => Assert.Equal(decimals, text.Length - 1 - text.IndexOf('.', StringComparison.Ordinal)
            is var behind && text.Contains('.', StringComparison.Ordinal) ? behind : 0));
        var values = shown.Select(text => decimal.Parse(text, CultureInfo.InvariantCulture)).ToList();
        Assert.InRange(values.Count(value => !rule.Reference.IsBelow(value) && !rule.Reference.IsAbove(value))
            / 10_000.0, least, most);
        Assert.InRange(values.Count(rule.Critical.IsAbove) / 10_000.0, 0, 0.03);
        Assert.True(values.Distinct().Count() > 100);
    }

    [Fact]
    public void InventedResult_WithoutAMeasuringRange_HasTwoDecimals() =>
        Assert.Matches(@"^\d\.\d\d$", new VirtualAide(new Random(1)).InventedResult(ResultRule.AsDisplayed));

    private static decimal? Of(string? text) => text is null ? null : decimal.Parse(text, CultureInfo.InvariantCulture);
}
