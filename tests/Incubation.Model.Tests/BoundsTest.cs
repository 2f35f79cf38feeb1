using NodaTime;
using Xunit;

namespace Incubation.Model.Tests;

/// <summary>What may be said at most.</summary>
public sealed class BoundsTest
{
    private static readonly Instant Now = Instant.FromUtc(2026, 3, 2, 8, 0);

    [Theory]
    [InlineData("R01", true)]
    [InlineData("Größe 1", true)]
    [InlineData("液体", true)]
    [InlineData("", false)]
    [InlineData(" R01", false)]
    [InlineData("R\u000001", false)]
    [InlineData("R\u200D01", false)]
    [InlineData("R\uFEFF01", false)]
    [InlineData("R\U0001F9EA", true)]
    [InlineData("R\U000E0041", false)]
    public void IsIdentifier_TakesNoControlOrFormatCharacter(string text, bool isOne) =>
        Assert.Equal(isOne, Bounds.IsIdentifier(text));

    [Fact]
    public void IsIdentifier_CountsUpToItsLengthInUnits()
    {
        Assert.True(Bounds.IsIdentifier(new string('x', TextId.MaximumLength)));
        Assert.False(Bounds.IsIdentifier(new string('x', TextId.MaximumLength + 1)));
        // One character that becomes three when it is normalized (U+0958 is excluded from composition).
        Assert.False(Bounds.IsIdentifier(new string('\u0958', 40)));
    }

    [Theory]
    [InlineData("a\u200Cb\u200Dc", true)]
    [InlineData("a\u202Eb", false)]
    [InlineData("a\u2067b", false)]
    [InlineData("a\nb", false)]
    public void IsWords_TakesJoinersButNothingThatTurnsTheDirection(string text, bool isOne) =>
        Assert.Equal(isOne, Bounds.IsWords(text));

    [Fact]
    public void IsWords_CountsUpToItsLength()
    {
        Assert.True(Bounds.IsWords(new string('x', Bounds.MaxWords)));
        Assert.False(Bounds.IsWords(new string('x', Bounds.MaxWords + 1)));
    }

    [Fact]
    public void IsIdentifierAndIsWords_HalfOfAPair_AreFalse()
    {
        Assert.False(Bounds.IsIdentifier("R\uD83D"));
        Assert.False(Bounds.IsIdentifier("\uDC00R"));
        Assert.False(Bounds.IsWords("a\uDC00"));
    }

    [Theory]
    [InlineData(14, 0, true)]
    [InlineData(14, 1, false)]
    [InlineData(-14, 0, true)]
    [InlineData(-14, -1, false)]
    public void IsPlannable_LiesWithinFourteenDaysOfNow(int days, int milliseconds, bool isOne) =>
        Assert.Equal(isOne,
            Bounds.IsPlannable(Now + Duration.FromDays(days) + Duration.FromMilliseconds(milliseconds), Now));

    [Fact]
    public void KebabCase_OfEveryCase_FindsIt()
    {
        Assert.Equal("tomorrow-noon", KebabCase.Of("TomorrowNoon"));
        Assert.All(Enum.GetValues<Priority>(), one => Assert.Equal(one, KebabCase.Find<Priority>(KebabCase.Of(one))));
        Assert.Null(KebabCase.Find<Priority>("Urgent"));
        Assert.Null(KebabCase.Find<Priority>(null));
    }
}
