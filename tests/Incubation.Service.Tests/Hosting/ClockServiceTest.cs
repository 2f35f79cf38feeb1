using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Hosting;
using Microsoft.Extensions.Time.Testing;
using NodaTime;

namespace Incubation.Service.Tests.Hosting;

/// <summary>A start with a real log whose last event may lie after the server's time.</summary>
public sealed class ClockServiceTest : IDisposable
{
    private static readonly Instant Start = Instant.FromUtc(2026, 3, 2, 8, 0);
    private static readonly PersonId Aide = new("aide");
    private static readonly DeviceId Tablet = new("tablet-1");
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-clockdesk-").FullName;
    private readonly DataFile file;
    private int reports;

    public ClockServiceTest()
    {
        file = DataFile.Open(Path.Combine(folder, "incubation.db"));
        Record(new ClinicEvent.ClinicOpened("Invented clinic", "UTC"), Start);
    }

    public void Dispose()
    {
        file.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public void CompareWithLog_ServerWasOff_Agreed() => Assert.Null(StartAt(Start + Duration.FromDays(3)).Guard.Doubt);

    [Fact]
    public void CompareWithLog_AnyStreamAhead_InDoubt()
    {
        var open = new BenchEvent.BenchOpened(new BenchId("bench-1"), "Bench 1",
            new BenchSetup(1, 4, 1, Duration.Zero, Duration.Zero, 0), Duration.Zero);
        new BenchStreams(file)
            .Append(new BenchId("bench-1"), 0, [new BenchEntry(open, TouchAt(Start + Duration.FromMinutes(10)))]);
        var doubt = StartAt(Start + Duration.FromMinutes(5)).Guard.Doubt;
        Assert.Equal(Duration.FromMinutes(5), doubt?.Difference);
    }

    [Fact]
    public void Confirm_ServersTime_RecordedAndNotAskedAgainAtTheNextStart()
    {
        var bench = new BenchId("bench-1");
        var open = new BenchEvent.BenchOpened(bench, "Bench 1",
            new BenchSetup(1, 4, 1, Duration.Zero, Duration.Zero, 0), Duration.Zero);
        new BenchStreams(file).Append(bench, 0, [new BenchEntry(open, TouchAt(Start + Duration.FromHours(9)))]);
        var first = StartAt(Start + Duration.FromMinutes(5));
        Assert.NotNull(first.Guard.Doubt);

        Assert.Null(first.Desk.Confirm(Aide, Tablet, machine: false));

        Assert.Null(first.Guard.Doubt);
        var confirmed = Assert.IsType<ClinicEvent.ClockConfirmed>(ClinicLog.Open(file).Entries().Last().Event);
        Assert.Equal(new ClinicEvent.ClockConfirmed(Start + Duration.FromMinutes(5), Start + Duration.FromHours(9)),
            confirmed);
        Assert.Null(StartAt(Start + Duration.FromMinutes(6)).Guard.Doubt);
        // But a clock that runs behind even the confirmation is doubted.
        Assert.NotNull(StartAt(Start + Duration.FromMinutes(1)).Guard.Doubt);
    }

    [Fact]
    public void Confirm_MachineSlept_GoesOnFromTheMachinesTime()
    {
        var (desk, guard, machine) = StartAt(Start + Duration.FromMinutes(5));
        machine.Slept = TimeSpan.FromMinutes(30);
        guard.CompareWithMachine(desk.MachineAhead);
        Assert.NotNull(guard.Doubt);

        Assert.Null(desk.Confirm(Aide, Tablet, machine: true));

        Assert.Equal(Duration.Zero, desk.MachineAhead);
        Assert.Equal(Start + Duration.FromMinutes(35), desk.MachineTime);
        Assert.Null(guard.Doubt);
    }

    [Fact]
    public void Confirm_MachineSetBack_CannotBecomeTheServersTime()
    {
        var (desk, guard, machine) = StartAt(Start + Duration.FromMinutes(5));
        machine.Slept = TimeSpan.FromMinutes(-30);
        guard.CompareWithMachine(desk.MachineAhead);

        Assert.NotNull(desk.Confirm(Aide, Tablet, machine: true));

        Assert.NotNull(guard.Doubt);
    }

    private (ClockService Desk, ClockGuard Guard, Machine Machine) StartAt(Instant now)
    {
        var machine = new Machine(new FakeTimeProvider(now.ToDateTimeOffset()));
        var time = new PacedTimeProvider(machine, ClockLine.RealTime(now.ToDateTimeOffset()));
        var clock = new BenchClock(time, 1);
        var guard = new ClockGuard(clock, () => DateTimeZone.Utc, isRealTime: true);
        var desk = new ClockService(guard, new ClinicHost(file), clock, file, time);
        desk.CompareWithLog();
        return (desk, guard, machine);
    }

    private void Record(ClinicEvent happened, Instant at) => ClinicLog.Open(file).Record(happened, TouchAt(at));

    private Provenance TouchAt(Instant at) => new(new ReportId($"report-{++reports}"), at, at, Aide, Tablet);

    /// <summary>A machine that can sleep: its wall clock goes on, its monotonic one does not.</summary>
    private sealed class Machine(TimeProvider inner) : TimeProvider
    {
        public TimeSpan Slept { get; set; }

        public override DateTimeOffset GetUtcNow() => inner.GetUtcNow() + Slept;

        public override long GetTimestamp() => inner.GetTimestamp();

        public override long TimestampFrequency => inner.TimestampFrequency;
    }
}
