using Incubation.Model.Terms;
using Xunit;

namespace Incubation.Model.Tests.Terms;

public sealed class LoincCodeTest
{
    /// <summary>
    /// CRP and HbA1c as loinc.org lists them, and the codes of HL7 FHIR R4's examples Observation/f001 and
    /// ServiceRequest/ft4; the last three from memory.
    /// </summary>
    [Theory]
    [InlineData("1988-5")]
    [InlineData("4548-4")]
    [InlineData("15074-8")]
    [InlineData("3024-7")]
    [InlineData("3016-3")]
    [InlineData("33959-8")]
    [InlineData("2276-4")]
    public void IsValid_PublishedCode_IsTrue(string code)
    {
        Assert.True(LoincCode.IsValid(code));
        Assert.Equal(code, new LoincCode(code).ToString());
    }

    [Theory]
    [InlineData("1988-4", LoincFault.CheckDigit)]
    [InlineData("1998-5", LoincFault.CheckDigit)]
    [InlineData("9188-5", LoincFault.CheckDigit)]
    [InlineData("19885", LoincFault.Form)]
    [InlineData("1988-55", LoincFault.Form)]
    [InlineData("1988-", LoincFault.Form)]
    [InlineData("-5", LoincFault.Form)]
    [InlineData("12345678-4", LoincFault.Form)]
    [InlineData(" 1988-5", LoincFault.Form)]
    [InlineData("1988-5-5", LoincFault.Form)]
    [InlineData("١٩٨٨-5", LoincFault.Form)]
    [InlineData("", LoincFault.Form)]
    [InlineData(null, LoincFault.Form)]
    public void FaultOf_Mistyped_SaysWhich(string? text, LoincFault expected)
    {
        Assert.Equal(expected, LoincCode.FaultOf(text));
        Assert.Throws<ArgumentException>(() => new LoincCode(text!));
    }

    /// <summary>
    /// Of the nine other check digits none is right, and so of any one digit mistyped: the rule is a bijection of each
    /// digit.
    /// </summary>
    [Fact]
    public void FaultOf_AnyOneDigitMistyped_IsFound()
    {
        const string Code = "33959-8";
        for (var place = 0; place < Code.Length; place++)
            for (var digit = '0'; digit <= '9'; digit++)
                if (Code[place] != '-' && Code[place] != digit)
                    Assert.Equal(LoincFault.CheckDigit, LoincCode.FaultOf(Code[..place] + digit + Code[(place + 1)..]));
    }
}
