using Incubation.Service.Clock;
using Microsoft.Extensions.Time.Testing;

namespace Incubation.Service.Tests.Clock;

public sealed class PacedTimeProviderTest : IDisposable
{
    private static readonly DateTimeOffset Start = new(2026, 3, 2, 8, 0, 0, TimeSpan.Zero);
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-clock-").FullName;

    private string ClockFile => Path.Combine(folder, "demo.clock.json");

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public void GetUtcNow_RateThirty_RunsThirtyTimesAsFast()
    {
        var real = new FakeTimeProvider(Start);
        var clock = new PacedTimeProvider(real, new ClockLine(Start, Start, 30));

        real.Advance(TimeSpan.FromSeconds(2));

        Assert.Equal(Start + TimeSpan.FromMinutes(1), clock.GetUtcNow());
    }

    [Fact]
    public void GetElapsedTime_RateThirty_InServerTime()
    {
        var real = new FakeTimeProvider(Start);
        var clock = new PacedTimeProvider(real, new ClockLine(Start, Start, 30));
        var before = clock.GetTimestamp();

        real.Advance(TimeSpan.FromSeconds(2));

        Assert.Equal(60, clock.GetElapsedTime(before).TotalSeconds, 3);
    }

    [Fact]
    public void CreateTimer_RateThirty_DueByServerTime()
    {
        var real = new FakeTimeProvider(Start);
        var clock = new PacedTimeProvider(real, new ClockLine(Start, Start, 30));
        var rung = 0;
        using var timer = clock.CreateTimer(_ => rung++, null, TimeSpan.FromMinutes(1), Timeout.InfiniteTimeSpan);

        real.Advance(TimeSpan.FromMilliseconds(1999));
        Assert.Equal(0, rung);
        real.Advance(TimeSpan.FromMilliseconds(1));
        Assert.Equal(1, rung);
        timer.Change(TimeSpan.FromSeconds(30), Timeout.InfiniteTimeSpan);
        real.Advance(TimeSpan.FromSeconds(1));
        Assert.Equal(2, rung);
    }

    [Fact]
    public void GetUtcNow_MachineClockSetBack_GoesOnByTheMonotonicClock()
    {
        var real = new FakeTimeProvider(Start);
        var machine = new SetBack(real);
        var clock = new PacedTimeProvider(machine, new ClockLine(Start, Start, 1));
        real.Advance(TimeSpan.FromMinutes(10));
        var before = clock.GetUtcNow();

        machine.By = TimeSpan.FromMinutes(5);

        Assert.Equal(before, clock.GetUtcNow());
        Assert.Equal(TimeSpan.FromMinutes(-5), clock.MachineAhead);
        real.Advance(TimeSpan.FromSeconds(30));
        Assert.Equal(before + TimeSpan.FromSeconds(30), clock.GetUtcNow());
    }

    [Fact]
    public void GoForward_MachineSlept_GoesOnFromTheMachinesTime()
    {
        var real = new FakeTimeProvider(Start);
        var machine = new SetBack(real);
        var clock = new PacedTimeProvider(machine, new ClockLine(Start, Start, 1));
        machine.By = TimeSpan.FromMinutes(-5);
        Assert.Equal(TimeSpan.FromMinutes(5), clock.MachineAhead);

        clock.GoForward(clock.MachineAhead);

        Assert.Equal(Start + TimeSpan.FromMinutes(5), clock.GetUtcNow());
        Assert.Equal(TimeSpan.Zero, clock.MachineAhead);
    }

    [Fact]
    public void Continue_RestartAtSameRate_SameLine()
    {
        var first = ClockLine.Continue(ClockFile, Start, 30);
        var later = Start + TimeSpan.FromMinutes(10);

        var second = ClockLine.Continue(ClockFile, later, 30);

        Assert.Equal(first.At(later), second.At(later));
        Assert.Equal(Start + TimeSpan.FromHours(5), second.At(later));
    }

    [Fact]
    public void Continue_RestartAtOtherRate_GoesOnFromWhereItWas()
    {
        ClockLine.Continue(ClockFile, Start, 60);
        var later = Start + TimeSpan.FromMinutes(1);

        var second = ClockLine.Continue(ClockFile, later, 1);

        Assert.Equal(Start + TimeSpan.FromHours(1), second.At(later));
        Assert.Equal(Start + TimeSpan.FromHours(1) + TimeSpan.FromMinutes(1),
            second.At(later + TimeSpan.FromMinutes(1)));
    }

    [Fact]
    public void Continue_NeverPaced_RealTimeAndNoFile()
    {
        var line = ClockLine.Continue(ClockFile, Start, 1);

        Assert.Equal(Start + TimeSpan.FromDays(3), line.At(Start + TimeSpan.FromDays(3)));
        Assert.False(File.Exists(ClockFile));
    }

    [Fact]
    public void Continue_FileDamaged_SentenceNamesIt()
    {
        File.WriteAllText(ClockFile, "{ half");

        var fault = Assert.Throws<InvalidDataException>(() => ClockLine.Continue(ClockFile, Start, 30));

        Assert.Contains(ClockFile, fault.Message, StringComparison.Ordinal);
    }

    /// <summary>A machine whose clock a person sets back.</summary>
    private sealed class SetBack(TimeProvider inner) : TimeProvider
    {
        public TimeSpan By { get; set; }

        public override DateTimeOffset GetUtcNow() => inner.GetUtcNow() - By;

        public override long GetTimestamp() => inner.GetTimestamp();

        public override long TimestampFrequency => inner.TimestampFrequency;
    }
}
