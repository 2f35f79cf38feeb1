using Xunit;

namespace Incubation.Model.Tests;

/// <summary>
/// Which values a reader can show: "less than" only of its range's lower end, "more than" only of its upper end, and
/// nothing else outside (ISO 15189:2022, 7.4.1.6; CLSI EP34; from memory).
/// </summary>
public sealed class PossibleValueTest
{
    private static readonly ResultRule Rule = new(1, new ValueRange(0.5m, 200), ValueRange.Open,
        new ValueRange(null, 150));

    [Theory]
    [InlineData("0.5", null)]
    [InlineData("200", null)]
    [InlineData("4.25", null)]
    [InlineData("<0.5", null)]
    [InlineData("< 0.4", null)]
    [InlineData(">200", null)]
    [InlineData(">250.0", null)]
    [InlineData("<200", ValueQuestion.LessThanInside)]
    [InlineData("<0.51", ValueQuestion.LessThanInside)]
    [InlineData("<5000", ValueQuestion.LessThanInside)]
    [InlineData(">0.5", ValueQuestion.MoreThanInside)]
    [InlineData(">199.9", ValueQuestion.MoreThanInside)]
    [InlineData("0.49", ValueQuestion.BelowRange)]
    [InlineData("0", ValueQuestion.BelowRange)]
    [InlineData("200.1", ValueQuestion.AboveRange)]
    [InlineData("5000", ValueQuestion.AboveRange)]
    public void QuestionOf_ARange_AsksWhatCannotBe(string shown, ValueQuestion? question) =>
        Assert.Equal(question, PossibleValue.QuestionOf(Rule, shown));

    [Theory]
    [InlineData("<0.1", ValueQuestion.LessThanInside)]
    [InlineData(">200", null)]
    [InlineData("0", null)]
    public void QuestionOf_ARangeOpenBelow_KnowsNoLessThan(string shown, ValueQuestion? question) =>
        Assert.Equal(question, PossibleValue.QuestionOf(Rule with { Measuring = new ValueRange(null, 200) }, shown));

    [Theory]
    [InlineData("<140", null)]
    [InlineData("<200", ValueQuestion.LessThanInside)]
    [InlineData(">200", null)]
    [InlineData("5000", null)]
    public void QuestionOf_NoRange_AsksWhereItMayBeCriticalOrNot(string shown, ValueQuestion? question) =>
        Assert.Equal(question, PossibleValue.QuestionOf(Rule with { Measuring = ValueRange.Open }, shown));

    /// <summary>Whatever its assay measures: nobody knows which number it is.</summary>
    [Theory]
    [InlineData("1.000,5")]
    [InlineData("1,000")]
    [InlineData("<1 000")]
    [InlineData("1.000.000")]
    public void QuestionOf_TwoMarksOrGrouping_IsAsked(string shown)
    {
        Assert.Equal(ValueQuestion.NotOneNumber, PossibleValue.QuestionOf(Rule, shown));
        Assert.Equal(ValueQuestion.NotOneNumber, PossibleValue.QuestionOf(ResultRule.AsDisplayed, shown));
    }

    [Theory]
    [InlineData("<200")]
    [InlineData("99999999999999999999999999999999999")]
    public void QuestionOf_NothingToAskBy_IsNothing(string shown) =>
        Assert.Null(PossibleValue.QuestionOf(ResultRule.AsDisplayed, shown));
}
