using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Alarms;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Service.Tests.Alarms;

/// <summary>A bench at which clocks run needs a screen that can be seen and heard.</summary>
public sealed class ScreenWatchTest
{
    private static readonly RequestId R1 = new("R1");

    [Fact]
    public async Task Check_NothingMixed_NoScreenNeeded()
    {
        await using var rig = await BenchRig.OpenAsync();
        using var beside = new Beside(rig: rig);
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromMinutes(1));
        beside.Screens.Check();
        Assert.Null(beside.Screens.AlarmOf(BenchRig.Id));
    }

    [Fact]
    public async Task Check_ReactingWithoutAScreen_AlarmAfterTenSecondsThatGoesOnAtOnce()
    {
        await using var rig = await Mixed();
        using var beside = new Beside(rig: rig);
        beside.Screens.Check();
        rig.Advance(Duration.FromSeconds(10));
        beside.Screens.Check();
        Assert.Null(beside.Screens.AlarmOf(BenchRig.Id));

        rig.Advance(Duration.FromSeconds(1));
        beside.Screens.Check();
        var alarm = beside.Screens.AlarmOf(BenchRig.Id)!.Alarm;
        Assert.Equal((AlarmKind.NoScreen, AlarmPriority.High, rig.Now), (alarm.Key.Kind, alarm.Priority, alarm.From));
        Assert.Equal(alarm.From, alarm.EscalatesAt);

        rig.Advance(Duration.FromSeconds(30));
        beside.Screens.Check();
        Assert.Equal(alarm.From, beside.Screens.AlarmOf(BenchRig.Id)!.Alarm.From);
    }

    [Theory]
    [InlineData(true, true, false)]
    [InlineData(false, true, true)]
    [InlineData(true, false, true)]
    public async Task Check_ScreenThatSaysHowItStands_CountsOnlySeenAndHeard(bool visible, bool sound, bool expected)
    {
        await using var rig = await Mixed();
        using var beside = new Beside(rig: rig);
        for (var second = 0; second < 30; second += 3)
        {
            beside.Screens.Attend("bench-1", visible, sound);
            beside.Screens.Check();
            rig.Advance(Duration.FromSeconds(3));
        }

        Assert.Equal(expected, beside.Screens.AlarmOf(BenchRig.Id) is not null);
        Assert.Equal(!expected, beside.Screens.IsHeard(BenchRig.Id));
    }

    [Fact]
    public async Task Attend_AfterTheAlarm_ItStandsAsPassedUntilSeen()
    {
        await using var rig = await Mixed();
        using var beside = new Beside(rig: rig);
        beside.Screens.Check();
        rig.Advance(Duration.FromSeconds(11));
        beside.Screens.Check();
        rig.Advance(Duration.FromSeconds(60));
        beside.Screens.Attend("bench-1", true, true);

        var passed = Assert.Single(beside.Host.Of(rig.State));
        Assert.Equal(rig.Now, passed.Ended);
        Assert.Contains("08:01:01 to 08:02:01", passed.Text, StringComparison.Ordinal);
        Assert.True(AlarmText.Write(passed).Passed);

        await rig.Must(new BenchCommand.AcknowledgeAlarm(passed.Alarm.Key));
        Assert.Empty(beside.Host.Of(rig.State));
        beside.Screens.Check();
        Assert.Null(beside.Screens.AlarmOf(BenchRig.Id));
    }

    [Fact]
    public async Task Check_WithoutAScreenAgain_IsAnotherAlarm()
    {
        await using var rig = await Mixed();
        using var beside = new Beside(rig: rig);
        beside.Screens.Check();
        rig.Advance(Duration.FromSeconds(11));
        beside.Screens.Check();
        var first = beside.Screens.AlarmOf(BenchRig.Id)!.Alarm.Key;
        await rig.Must(new BenchCommand.AcknowledgeAlarm(first));
        Assert.True(Assert.Single(beside.Host.Of(rig.State)).Alarm.Acknowledged);
        beside.Screens.Attend("bench-1", true, true);

        rig.Advance(Duration.FromSeconds(11));
        beside.Screens.Check();
        var second = Assert.Single(beside.Host.Of(rig.State));
        Assert.NotEqual(first, second.Alarm.Key);
        Assert.False(second.Alarm.Acknowledged);
    }

    [Fact]
    public async Task Attend_UnknownBench_Nothing()
    {
        await using var rig = await BenchRig.OpenAsync();
        using var beside = new Beside(rig: rig);
        beside.Screens.Attend("none", true, true);
        Assert.False(beside.Screens.IsHeard(new BenchId("none")));
    }

    private static async Task<BenchRig> Mixed()
    {
        var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        rig.Advance(Duration.FromSeconds(50));
        await rig.Must(new BenchCommand.Mixed(R1));
        return rig;
    }
}
