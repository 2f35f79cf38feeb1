using Incubation.Service.Controls;

namespace Incubation.Service.Tests.Controls;

/// <summary>Levels of controls as people say them.</summary>
public sealed class LevelWordsTest
{
    [Theory]
    [InlineData("level 1", 1)]
    [InlineData("level 2", 2, 2)]
    [InlineData("levels 1 and 2", 2, 1)]
    [InlineData("levels 1, 2 and 3", 1, 2, 3)]
    [InlineData("")]
    public void Levels_OneOrMany_AreSaidInOneForm(string expected, params int[] levels) =>
        Assert.Equal(expected, ControlText.Levels(levels));
}
