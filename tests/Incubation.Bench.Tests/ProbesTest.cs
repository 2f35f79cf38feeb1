using Incubation.Model;
using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>Probes that are expected to send what they measure, and fall silent.</summary>
public sealed class ProbesTest
{
    private static readonly DeviceId Probe = new("key-probe");
    private static readonly Duration Every = Duration.FromMinutes(5);

    [Fact]
    public void ExpectedProbe_OfWhichNothingCame_IsSilentAfterTwoInARow()
    {
        var scene = Expecting();
        // A screen without its server knows it ahead.
        Assert.Equal(At(610), Silent(scene, 20)!.From);
        Assert.False(Silent(scene, 20)!.StandsAt(At(609)));
        Assert.True(Silent(scene, 20)!.StandsAt(At(610)));
        Assert.True(Conditions.Of(AlarmKind.ProbeSilent).IsLine);
    }

    [Fact]
    public void ExpectedProbe_ThatSends_IsHeardUntilTwoInARowAreMissing()
    {
        var scene = Expecting();
        Send(scene, 300, Probe);
        Assert.Equal(At(900), Silent(scene, 301)!.From);
        // Somebody else's temperature says nothing of the probe, and one that comes late sets it not back.
        Send(scene, 500, new DeviceId("tablet-1"));
        Send(scene, 510, Probe, measured: 250);
        Assert.Equal(At(900), Silent(scene, 511)!.From);
    }

    [Fact]
    public void ExpectProbe_OfNone_EndsIt()
    {
        var scene = Expecting();
        RevisingTest.Accept(scene.Say(20, new BenchCommand.ExpectProbe(Probe, null)));
        Assert.Null(Silent(scene, 5000));
    }

    [Theory]
    [InlineData(0.5)]
    [InlineData(0)]
    [InlineData(1441)]
    public void ExpectProbe_OfATimeThatIsNone_IsRefused(double minutes) => Assert.Equal(
        new Decision.Refused(Refusal.UnreadableLength),
        Running(Request("R1")).Say(1, new BenchCommand.ExpectProbe(Probe, Duration.FromMinutes(minutes))));

    [Fact]
    public void ExpectProbe_MoreThanABenchHas_IsRefused()
    {
        var scene = Running(Request("R1"));
        for (var number = 1; number <= Probes.Most; number++)
            RevisingTest.Accept(scene.Say(number, new BenchCommand.ExpectProbe(new DeviceId($"key-{number}"), Every)));
        Assert.Equal(new Decision.Refused(Refusal.TooManyProbes, "8"),
            scene.Say(20, new BenchCommand.ExpectProbe(Probe, Every)));
        // One that is expected already can be changed.
        RevisingTest.Accept(scene.Say(21, new BenchCommand.ExpectProbe(new DeviceId("key-1"), Every * 2)));
    }

    [Fact]
    public void Course_WithAGap_SaysSinceWhenItComes()
    {
        var course = ProbeCourse.Of([At(0), At(300), At(1200), At(1500)], Every, At(1600));
        Assert.Equal(At(1200), course.Since);
        Assert.Equal([new ProbeGap(At(300), At(1200))], course.Gaps);
        Assert.False(course.IsSilent);
        Assert.Equal(new ProbeGap(At(1500), At(2100)), ProbeCourse.Of([At(1500)], Every, At(2100)).Gaps.Single());
        Assert.True(ProbeCourse.Of([At(1500)], Every, At(2100)).IsSilent);
        Assert.False(ProbeCourse.Of([At(1500)], null, At(90_000)).IsSilent);
    }

    private static Scene Expecting()
    {
        var scene = Running(Request("R1"));
        RevisingTest.Accept(scene.Say(10, new BenchCommand.ExpectProbe(Probe, Every)));
        return scene;
    }

    private static Alarm? Silent(Scene scene, double at) => scene.View(at).Alarms
        .SingleOrDefault(alarm => alarm.Key == new AlarmKey(AlarmKind.ProbeSilent, R("key-probe")));

    private static void Send(Scene scene, double at, DeviceId device, double? measured = null) =>
        RevisingTest.Accept(scene.Say(measured ?? at, new BenchCommand.TemperatureMeasured(new Celsius(25)),
            device: device, arrived: at));
}
