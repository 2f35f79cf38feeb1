using Incubation.Model.Terms;
using Xunit;

namespace Incubation.Model.Tests.Terms;

public sealed class UcumUnitTest
{
    /// <summary>
    /// The first nine and "m" as the functional tests of UCUM implementations have them (ucum.org); the others are
    /// common in laboratories, from memory.
    /// </summary>
    [Theory]
    [InlineData("ng/mL")]
    [InlineData("pg/mL")]
    [InlineData("ug/L")]
    [InlineData("mg/L")]
    [InlineData("mg/dL")]
    [InlineData("mmol/L")]
    [InlineData("m[IU]/L")]
    [InlineData("u[IU]/mL")]
    [InlineData("%")]
    [InlineData("m")]
    [InlineData("1")]
    [InlineData("/min")]
    [InlineData("10*3/uL")]
    [InlineData("10*-6.mol")]
    [InlineData("{cells}/uL")]
    [InlineData("ng{FEU}/mL")]
    [InlineData("mL/min/(173.10*-2.m2)")]
    [InlineData("mm[Hg]")]
    [InlineData("[pH]")]
    [InlineData("k[IU]/L")]
    [InlineData("[arb'U]/mL")]
    [InlineData("U/L")]
    [InlineData("g%")]
    [InlineData("s-1")]
    [InlineData("mmol/(12.h)")]
    [InlineData("dag")]
    public void IsValid_Unit_IsTrue(string unit)
    {
        Assert.Null(UcumUnit.FaultOf(unit));
        Assert.Equal(unit, new UcumUnit(unit).ToString());
    }

    /// <summary>
    /// The first three as the functional tests of UCUM implementations have them (ucum.org); bare mIU/L from memory.
    /// </summary>
    [Theory]
    [InlineData("[iIU]/L", UcumFaultKind.UnknownUnit, "[iIU]")]
    [InlineData("mmol/12h", UcumFaultKind.NumberBeforeUnit, "12h")]
    [InlineData("m/", UcumFaultKind.UnitMissing, "m/")]
    [InlineData("mIU/L", UcumFaultKind.UnknownUnit, "mIU")]
    [InlineData("NG/ML", UcumFaultKind.UnknownUnit, "NG")]
    [InlineData("mg/Dl", UcumFaultKind.UnknownUnit, "Dl")]
    [InlineData("m%", UcumFaultKind.UnknownUnit, "m%")]
    [InlineData("mg//L", UcumFaultKind.UnitMissing, "mg/")]
    [InlineData("mg..L", UcumFaultKind.UnitMissing, "mg.")]
    [InlineData("(mg/L", UcumFaultKind.Bracket, "(mg/L")]
    [InlineData("mg/L)", UcumFaultKind.Bracket, ")")]
    [InlineData("()", UcumFaultKind.UnitMissing, "(")]
    [InlineData("mg{a{b}}/L", UcumFaultKind.Bracket, "{a{b}}/L")]
    [InlineData("mg}", UcumFaultKind.Bracket, "}")]
    [InlineData("m[IU", UcumFaultKind.Bracket, "m[IU")]
    [InlineData("m2-1", UcumFaultKind.UnknownUnit, "m2-1")]
    [InlineData("mg L", UcumFaultKind.Character, " ")]
    [InlineData("µg/L", UcumFaultKind.Character, "µ")]
    [InlineData("", UcumFaultKind.Empty, "")]
    [InlineData(null, UcumFaultKind.Empty, "")]
    public void FaultOf_NoUnit_SaysWhatAndWhere(string? text, UcumFaultKind kind, string part)
    {
        Assert.Equal(new UcumFault(kind, part), UcumUnit.FaultOf(text));
        Assert.Throws<ArgumentException>(() => new UcumUnit(text!));
    }

    [Fact]
    public void FaultOf_TooLong_SaysSo() =>
        Assert.Equal(UcumFaultKind.TooLong, UcumUnit.FaultOf("m" + string.Concat(Enumerable.Repeat(".m", 40)))!.Kind);

    /// <summary>Whatever is typed, the reader ends and says yes or no.</summary>
    [Fact]
    public void FaultOf_AnyShortText_Ends()
    {
        const string Letters = "m1/.()[]{}-+*%L\0";
        for (var seed = 0; seed < 20_000; seed++)
        {
            var random = new Random(seed);
            var text = string.Concat(Enumerable.Range(0, random.Next(1, 9))
                .Select(_ => Letters[random.Next(Letters.Length)]));
            _ = UcumUnit.FaultOf(text);
        }
    }
}
