using Xunit;

namespace Incubation.Architecture.Tests;

/// <summary>
/// The rooms and the arrows between them, as DEVELOPERS.md draws them: Server → Service → Records, Exchange, Chart,
/// Simulation → Clinic, Bench → Planning → Model; Cli beside Server. An arrow that is not listed here is a fault, in
/// whichever
/// direction.
/// </summary>
public sealed class ArrowsTest
{
    public static TheoryData<string, string[]> Arrows => new()
    {
        { "Model", [] },
        { "Planning", ["Model"] },
        { "Bench", ["Planning", "Model"] },
        { "Clinic", ["Bench", "Planning", "Model"] },
        { "Simulation", ["Bench", "Planning", "Model"] },
        { "Chart", ["Bench", "Planning", "Model"] },
        { "Exchange", ["Planning", "Model"] },
        { "Records", ["Clinic", "Bench", "Planning", "Model"] },
        { "Cli", ["Records", "Exchange", "Chart", "Simulation", "Clinic", "Bench", "Planning", "Model"] },
        { "Service", ["Records", "Exchange", "Chart", "Simulation", "Clinic", "Bench", "Planning", "Model"] },
        { "Server", ["Service", "Records", "Exchange", "Chart", "Simulation", "Clinic", "Bench", "Planning", "Model"] },
    };

    [Theory]
    [MemberData(nameof(Arrows))]
    public void Room_RefersToOtherRooms_OnlyAlongItsArrows(string room, string[] allowed)
    {
        ArgumentNullException.ThrowIfNull(allowed);
        var referred = Room.Named(room).Assemblies.Where(a => a.StartsWith("Incubation.", StringComparison.Ordinal));
        Assert.Subset(allowed.Select(a => "Incubation." + a).ToHashSet(), referred.ToHashSet());
    }

    [Fact]
    public void Rooms_AllOfThem_AreInTheListOfArrows() =>
        Assert.Equal(
            Arrows.Select(row => "Incubation." + row.Data.Item1).Order(StringComparer.Ordinal),
            Room.All.Select(r => r.Name).Order(StringComparer.Ordinal));

    [Theory]
    [InlineData("Model")]
    [InlineData("Planning")]
    [InlineData("Bench")]
    [InlineData("Clinic")]
    [InlineData("Simulation")]
    [InlineData("Chart")]
    [InlineData("Exchange")]
    [InlineData("Records")]
    [InlineData("Service")]
    [InlineData("Cli")]
    public void Room_BelowTheServer_DoesNotKnowAspNet(string room) =>
        Assert.DoesNotContain(Room.Named(room).Assemblies,
            a => a.StartsWith("Microsoft.AspNetCore", StringComparison.Ordinal));

    [Theory]
    [InlineData("Model")]
    [InlineData("Planning")]
    [InlineData("Bench")]
    [InlineData("Clinic")]
    [InlineData("Simulation")]
    [InlineData("Chart")]
    [InlineData("Exchange")]
    public void Room_BelowRecords_DoesNotKnowADatabase(string room) =>
        Assert.DoesNotContain(Room.Named(room).Assemblies, a =>
            a.Contains("EntityFramework", StringComparison.Ordinal)
                || a.Contains("Sqlite", StringComparison.OrdinalIgnoreCase));
}
