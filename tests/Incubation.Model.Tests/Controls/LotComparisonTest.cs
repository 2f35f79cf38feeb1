using Incubation.Model.Controls;
using Xunit;

namespace Incubation.Model.Tests.Controls;

/// <summary>Two lots on the same specimens: each difference, their mean, and the verdict at its edges.</summary>
public sealed class LotComparisonTest
{
    private static readonly LotPair[] Pairs = [new(10, 10.5m), new(20, 19), new(40, 44), new(80, 80), new(100, 103)];

    /// <summary>By hand: +5, −5, +10, 0 and +3 %, in all +13 %, so their mean is +2.6 %.</summary>
    [Fact]
    public void Percent_OfTheOldLot_AreEachPairs_AndTheirMeanIsJudged()
    {
        var found = LotComparison.Of(new LotCriterion(DifferenceUnit.Percent, 2.6m, 5), Pairs);
        Assert.Equal([5, -5, 10, 0, 3], found.Differences);
        Assert.Equal(2.6m, found.Mean);
        Assert.Equal(LotVerdict.Within, found.Verdict);
        Assert.Equal(LotVerdict.Beyond,
            LotComparison.Of(new LotCriterion(DifferenceUnit.Percent, 2.59m, 5), Pairs).Verdict);
    }

    /// <summary>By hand: +0.5, −1, +4, 0 and +3, in all +6.5, so their mean is +1.3.</summary>
    [Fact]
    public void Units_AreDifferencesAsTheyAre()
    {
        var found = LotComparison.Of(new LotCriterion(DifferenceUnit.Units, 1.3m, 5), Pairs);
        Assert.Equal((1.3m, LotVerdict.Within), (found.Mean, found.Verdict));
        Assert.Equal(LotVerdict.Beyond, LotComparison.Of(new LotCriterion(DifferenceUnit.Units, 1.29m, 5),
            Pairs.Select(pair => new LotPair(pair.New, pair.Old))).Verdict);
    }

    [Fact]
    public void TooFew_AreNotJudged()
    {
        var found = LotComparison.Of(new LotCriterion(DifferenceUnit.Percent, 50, 6), Pairs);
        Assert.Equal((2.6m, LotVerdict.TooFew), (found.Mean, found.Verdict));
        Assert.Equal((null, LotVerdict.TooFew), LotComparison.Of(new LotCriterion(DifferenceUnit.Units, 1, 1), []) is
            var none ? (none.Mean, none.Verdict) : default);
    }

    [Fact]
    public void OfNothing_ThereIsNoPercentage()
    {
        Assert.False(new LotPair(0, 1).IsComparable(DifferenceUnit.Percent));
        Assert.True(new LotPair(0, 1).IsComparable(DifferenceUnit.Units));
        Assert.False(new LotPair(1, -1).IsComparable(DifferenceUnit.Units));
        Assert.Empty(LotComparison.Of(new LotCriterion(DifferenceUnit.Percent, 5, 1), [new LotPair(0, 1)]).Differences);
    }

    [Theory]
    [InlineData(DifferenceUnit.Percent, 0, 5, false)]
    [InlineData(DifferenceUnit.Percent, 101, 5, false)]
    [InlineData(DifferenceUnit.Units, 101, 5, true)]
    [InlineData(DifferenceUnit.Percent, 10, 0, false)]
    [InlineData(DifferenceUnit.Percent, 10, 101, false)]
    public void Criterion_AtItsEdges_IsPossibleOrNot(DifferenceUnit unit, int largest, int specimens, bool possible) =>
        Assert.Equal(possible, new LotCriterion(unit, largest, specimens).IsPossible);
}
