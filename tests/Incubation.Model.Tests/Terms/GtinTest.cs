using Incubation.Model.Terms;
using Xunit;

namespace Incubation.Model.Tests.Terms;

public sealed class GtinTest
{
    /// <summary>Worked examples of the GS1 General Specifications, section 7.9.</summary>
    [Theory]
    [InlineData("730001100001", 7)]
    [InlineData("890400021003", 7)]
    public void OfGs1_PublishedNumber_IsItsCheckDigit(string digits, int expected) =>
        Assert.Equal(expected, CheckDigit.OfGs1(digits));

    /// <summary>Test vectors of the GS1 Barcode Syntax Dictionary's linter for check digits.</summary>
    [Theory]
    [InlineData("02345673", true)]
    [InlineData("416000336108", true)]
    [InlineData("1234567890128", true)]
    [InlineData("12345678901231", true)]
    [InlineData("12345673", false)]
    [InlineData("416000336109", false)]
    [InlineData("1234567890129", false)]
    [InlineData("12345678901232", false)]
    [InlineData("123", false)]
    [InlineData("1234567A", false)]
    [InlineData(null, false)]
    public void IsValid_PublishedNumber_AsPublished(string? number, bool expected) =>
        Assert.Equal(expected, Gtin.IsValid(number));

    [Fact]
    public void Value_ShorterForms_AreOneNumberOf14Digits()
    {
        Assert.Equal("00000002345673", new Gtin("02345673").Value);
        Assert.Equal(new Gtin("1234567890128"), new Gtin("01234567890128"));
        Assert.Throws<ArgumentException>(() => new Gtin("12345673"));
    }
}
