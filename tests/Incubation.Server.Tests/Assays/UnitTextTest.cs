using System.Text.Json;
using Incubation.Bench;
using Incubation.Model.Terms;
using Incubation.Service.Text;

namespace Incubation.Server.Tests.Assays;

/// <summary>Units as people read them, and those of the demo.</summary>
public sealed class UnitTextTest
{
    [Theory]
    [InlineData("[arb'U]", "arb. units")]
    [InlineData("mg/L", "mg/L")]
    [InlineData("", "")]
    public void Of_Unit_IsSaidInWordsWhereItsCodeIsNone(string unit, string said) =>
        Assert.Equal(said, UnitText.Of(unit));

    [Fact]
    public void Of_Measured_SaysItsUnit() =>
        Assert.Equal("37.0 arb. units", UnitText.Of(new ReadResult.Measured("37.0", "[arb'U]")));

    /// <summary>Nobody may take a figure of the demo for a real assay's.</summary>
    [Theory]
    [InlineData("assays.json")]
    [InlineData("clinic.json")]
    public void Demo_EveryAssay_HasTheArbitraryUnit(string file)
    {
        using var read = JsonDocument.Parse(File.ReadAllText(Path.Combine(ServerFactory.DemoFolder, file)));
        var units = read.RootElement.GetProperty("assays").EnumerateArray()
            .Select(assay => assay.GetProperty("unit").GetString());
        Assert.All(units, unit => Assert.Equal("[arb'U]", unit));
        Assert.True(UcumUnit.IsValid("[arb'U]"));
    }
}
