using Xunit;

namespace Incubation.Architecture.Tests;

/// <summary>The core does no I/O, reads no clock and takes every chance as an argument.</summary>
public sealed class PurityTest
{
    private static readonly string[] Impure =
    [
        "System.DateTime.get_Now", "System.DateTime.get_UtcNow", "System.DateTimeOffset.get_Now",
            "System.DateTimeOffset.get_UtcNow",
        "System.TimeProvider.get_System", "System.Environment.get_TickCount", "System.Environment.get_TickCount64",
        "System.Guid.NewGuid", "System.Guid.CreateVersion7", "System.Random.get_Shared",
            "NodaTime.SystemClock.get_Instance",
    ];

    private static readonly string[] ImpureTypes =
    [
        "System.IO.File.", "System.IO.FileStream.", "System.IO.Directory.", "System.Console.",
            "System.Diagnostics.Stopwatch.",
        "System.Threading.Thread.", "System.Threading.Tasks.Task.", "System.Net.",
            "System.Security.Cryptography.RandomNumberGenerator.",
    ];

    public static TheoryData<string> PureRooms => ["Model", "Planning", "Bench", "Clinic", "Simulation", "Chart",
        "Exchange"];

    [Theory]
    [MemberData(nameof(PureRooms))]
    public void PureRoom_Members_ReadNoClockDrawNoChanceAndDoNoIo(string room) =>
        Assert.DoesNotContain(Room.Named(room).Members, IsImpure);

    /// <summary>The check itself can fail: the server does read a clock or do I/O somewhere.</summary>
    [Fact]
    public void Server_Members_AreNotPure() =>
        Assert.Contains(Room.Named("Server").Members.Concat(Room.Named("Cli").Members)
            .Concat(Room.Named("Records").Members), IsImpure);

    private static bool IsImpure(string member) =>
        Impure.Contains(member) || ImpureTypes.Any(type => member.StartsWith(type, StringComparison.Ordinal));
}
