using Xunit;

namespace Incubation.Architecture.Tests;

/// <summary>
/// Inside the two rooms that have features, a folder needs others one way: no circle between folders.
/// </summary>
public sealed class FoldersTest
{
    [Theory]
    [InlineData("Service")]
    [InlineData("Server")]
    public void Folders_OfARoom_FormNoCircle(string room) => Assert.Empty(Folders.Circles(Folders.Read(room)));

    /// <summary>
    /// The reading sees signatures, bodies, markup and attributes: some arrows that are known to be there.
    /// </summary>
    [Theory]
    [InlineData("Service", "Screens", "Benches")]
    [InlineData("Service", "Hosting", "Demo")]
    [InlineData("Service", "Stock", "People")]
    [InlineData("Server", "Hubs", "Doors")]
    [InlineData("Server", "Pages.Stock", "Parts")]
    [InlineData("Server", "Pages.Reports", "Doors")]
    public void Folders_Read_HaveTheArrowsThatAreThere(string room, string folder, string needed) =>
        Assert.Contains(needed, Folders.Read(room)[folder]);

    [Fact]
    public void Circles_OfAMadeUpCircle_AreNamedByTheirWay()
    {
        var arrows = Arrows("A-B", "B-C", "C-A", "D-A", "C-E", "E-F");
        Assert.Equal(["A → B → C → A"], Folders.Circles(arrows));
    }

    [Fact]
    public void Circles_OfAGraphWithout_AreNone() => Assert.Empty(Folders.Circles(Arrows("A-B", "A-C", "B-D", "C-D")));

    private static Dictionary<string, IReadOnlySet<string>> Arrows(params string[] arrows) =>
        arrows.Select(arrow => arrow.Split('-')).GroupBy(ends => ends[0], ends => ends[1])
            .ToDictionary(ends => ends.Key, IReadOnlySet<string> (ends) => ends.ToHashSet());
}
