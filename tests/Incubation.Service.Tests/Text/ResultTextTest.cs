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
    [InlineData("1,234.5")]
    [InlineData("1.234,5")]
    [InlineData("1,234,567")]
    [InlineData("1 234")]
    [InlineData("1'234")]
    public void Read_TwoMarksOrGroups_IsAsked(string typed) =>
        Assert.Equal(new TypedValue(null, $"“{typed}” can be read in two ways. Type the number without grouping, "
            + "with at most one decimal point or comma."), ResultText.Read(typed));

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
        Assert.Equal("Understood: 1.234 mg/L", ResultText.Understood("1,234", "mg/L"));
        Assert.Null(ResultText.Understood("1.234", "mg/L"));
        Assert.Null(ResultText.Understood("high", "mg/L"));
    }
}
