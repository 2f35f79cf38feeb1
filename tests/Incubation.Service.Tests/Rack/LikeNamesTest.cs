using Incubation.Service.Rack;

namespace Incubation.Service.Tests.Rack;

/// <summary>Which numbers of specimens are easily taken for each other.</summary>
public sealed class LikeNamesTest
{
    [Theory]
    [InlineData("SP-001", "sp-001", true)]
    [InlineData("SP-001", "Sp-001", true)]
    [InlineData("SP-0O1", "SP-001", true)]
    [InlineData("SP-001", "SQ-001", true)]
    [InlineData("SP-001", "SP-0001", true)]
    [InlineData("SP-001", "SP001", true)]
    [InlineData("SP-001", "SP-001A", true)]
    [InlineData("SP-001", "sq-001", true)]
    [InlineData("SP-001", "SP-001", false)]
    [InlineData("SP-001", "SP-002", false)]
    [InlineData("SP-9", "SP-90", false)]
    [InlineData("4711", "47110", false)]
    [InlineData("SP-001", "ST-002", false)]
    [InlineData("SP-001", "SP-00111", false)]
    [InlineData("", "A", true)]
    public void AreAlike_EitherWay(string one, string other, bool expected)
    {
        Assert.Equal(expected, LikeNames.AreAlike(one, other));
        Assert.Equal(expected, LikeNames.AreAlike(other, one));
    }
}
