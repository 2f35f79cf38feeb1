using Xunit;

namespace Incubation.Model.Tests;

public sealed class TextIdTest
{
    [Theory]
    [InlineData("R01", true)]
    [InlineData("", false)]
    [InlineData(" R01", false)]
    [InlineData("R\n01", false)]
    public void IsValid_Text_TellsWhetherItCanBeAnIdentifier(string text, bool expected) =>
        Assert.Equal(expected, TextId.IsValid(text));
}
