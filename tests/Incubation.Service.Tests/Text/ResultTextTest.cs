using System.Globalization;
using Incubation.Service.Text;

namespace Incubation.Service.Tests.Text;

/// <summary>Values as people write them: either mark is a decimal mark, and what may be two numbers is asked.</summary>
public sealed class ResultTextTest
{
    [Theory]
    [InlineData("12.3", "12.3")]
    [InlineData("12,3", "12.3")]
    [InlineData(" 0,50 ", "0.50")]
    [InlineData("< 0,5", "<0.5")]
    [InlineData(">200", ">200")]
    [InlineData("007", "007")]
    public void Read_ANumber_IsUnderstood(string typed, string value) =>
        Assert.Equal(new TypedValue(value, null), ResultText.Read(typed));

    [Theory]
    [InlineData("1,234.5", "1,234.5")]
    [InlineData("1.234,5", "1.234,5")]
    [InlineData("1,234,567", "1,234,567")]
    [InlineData("1 234", "1 234")]
    [InlineData("1'234", "1'234")]
    [InlineData("< 1_234", "<1_234")]
    public void Read_TwoMarksOrGroups_IsAsked(string typed, string asItCame)
    {
        var read = ResultText.Read(typed);
        Assert.Null(read.Value);
        Assert.Equal(asItCame, read.Doubtful);
        Assert.Contains("can be read in two ways", read.Fault, StringComparison.Ordinal);
    }

    /// <summary>A thousand times too much or too little: a comma before exactly three digits is asked.</summary>
    [Theory]
    [InlineData("1,234", "1234", "1.234")]
    [InlineData(">12,500", "12500", "12.500")]
    public void Read_PerhapsThousands_IsAsked(string typed, string one, string other)
    {
        var read = ResultText.Read(typed);
        Assert.Null(read.Value);
        Assert.Equal(typed, read.Doubtful);
        Assert.EndsWith($"can be read in two ways. Type {one} or {other}.", read.Fault, StringComparison.Ordinal);
    }

    /// <summary>A value is read as every other number is.</summary>
    [Theory]
    [InlineData("5,0")]
    [InlineData(",5")]
    [InlineData("1,000")]
    [InlineData("1.000,5")]
    [InlineData("0,125")]
    [InlineData("1½")]
    public void Read_AsEveryNumber(string typed) => Assert.Equal(TypedNumber.Read(typed).Value,
        ResultText.Read(typed).Value is { } value ? decimal.Parse(value, CultureInfo.InvariantCulture) : null);

    [Theory]
    [InlineData("١٢", "Use the digits 0 to 9.")]
    [InlineData("1²", "Use the digits 0 to 9.")]
    [InlineData("", "Type a number like 12.3, <0.5 or >200.")]
    [InlineData("-1", "Type a number like 12.3, <0.5 or >200.")]
    [InlineData("1,", "Type a number like 12.3, <0.5 or >200.")]
    [InlineData("12345678901234567", "Type a number like 12.3, <0.5 or >200.")]
    public void Read_NoNumber_SaysWhatToType(string typed, string fault) =>
        Assert.Equal(new TypedValue(null, fault), ResultText.Read(typed));

    [Fact]
    public void Understood_OnlyWhereItDiffers()
    {
        Assert.Equal("Understood: 1.2345 mg/L", ResultText.Understood("1,2345", "mg/L"));
        Assert.Null(ResultText.Understood("1.234", "mg/L"));
        Assert.Null(ResultText.Understood("high", "mg/L"));
    }
}
