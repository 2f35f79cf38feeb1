using Incubation.Exchange.Gs1;
using NodaTime;
using Xunit;

namespace Incubation.Exchange.Tests.Gs1;

public sealed class Gs1DatesTest
{
    /// <summary>Test vectors of the GS1 syntax dictionary's linter for dates.</summary>
    [Theory]
    [InlineData("200229", true)]
    [InlineData("240229", true)]
    [InlineData("000229", true)]
    [InlineData("200600", true)]
    [InlineData("210229", false)]
    [InlineData("240230", false)]
    [InlineData("200431", false)]
    [InlineData("201310", false)]
    [InlineData("200132", false)]
    [InlineData("200000", false)]
    [InlineData("20060", false)]
    [InlineData("2006AA", false)]
    public void Read_PublishedDate_AsPublished(string text, bool expected) =>
        Assert.Equal(expected, Gs1Dates.Read(text, 2026) is not null);

    /// <summary>GS1 General Specifications, section 3.4.2: day 00 is the last of the month.</summary>
    [Theory]
    [InlineData("130200", 2013, 2, 28)]
    [InlineData("160200", 2016, 2, 29)]
    public void Read_DayUnstated_IsTheLastOfTheMonthAndSaysSo(string text, int year, int month, int day) =>
        Assert.Equal(new Gs1Day(new LocalDate(year, month, day), true), Gs1Dates.Read(text, 2026));

    /// <summary>
    /// GS1 General Specifications, section 7.12, worked out for 2026; the last from the rule at the end of a century.
    /// </summary>
    [Theory]
    [InlineData(75, 2026, 2075)]
    [InlineData(76, 2026, 2076)]
    [InlineData(77, 2026, 1977)]
    [InlineData(99, 2026, 1999)]
    [InlineData(0, 2026, 2000)]
    [InlineData(26, 2026, 2026)]
    [InlineData(3, 2099, 2103)]
    public void YearOf_LastTwoDigits_FollowsTheRule(int lastTwo, int currentYear, int expected) =>
        Assert.Equal(expected, Gs1Dates.YearOf(lastTwo, currentYear));
}
