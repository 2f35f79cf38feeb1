using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Service.Tests.Record;

/// <summary>A temperature that is told when the batch of its time is closed.</summary>
public sealed class LateTemperatureTest
{
    /// <summary>
    /// The incubator was too warm while a cartridge of a closed batch reacted: that waits for a supervisor once, and is
    /// no temperature of now. One within the tolerance, or of another time, says nothing of it and is recorded as of
    /// its arrival.
    /// </summary>
    [Fact]
    public async Task Told_AfterTheClose_WaitsForASupervisorOnce()
    {
        await using var house = await WireHouse.OpenAsync();
        await house.House.Must(new BenchCommand.SetIncubator(
            new IncubatorRule(new Celsius(25), new Celsius(1), ImmutableArray<TemperatureRule>.Empty)));
        var before = house.House.Clock.Now;
        var request = await house.ReadAsync("SP-1");
        var read = house.House.Clock.Now;
        await house.TakeAsync(WireHouse.Message("SP-1", "5.0"));
        await house.ClearAsync(request);
        await house.House.Must(new BenchCommand.CloseBatch());
        house.House.Time.Advance(TimeSpan.FromMinutes(5));
        var desk = house.Desk();
        var revision = house.House.State.Revision;

        await Tell(45, read - Duration.FromMinutes(3));
        await Tell(46, read - Duration.FromMinutes(2));

        Assert.Equal(revision, house.House.State.Revision);
        var late = Assert.Single(house.House.Clinic.Log.LateReports.Waiting);
        Assert.Equal((1, request), (late.Report.Batch, late.Report.Request));
        var records = new CartridgeProjection(house.House.File, house.House.Clinic.Log.Amended);
        Assert.Contains("SP-1 reacted while the incubator was at 45", LateReportText.Of(late,
            records.Batch(ControlsHouse.BenchOne, 1)!.Cartridges, house.House.Clinic.Log.People),
            StringComparison.Ordinal);
        await Tell(25.4, read - Duration.FromMinutes(4));
        await Tell(45, before);
        await Tell(45, read);
        Assert.Single(house.House.Clinic.Log.LateReports.Waiting);
        Assert.True(house.House.State.Revision >= revision + 3);

        async Task Tell(double degrees, Instant at) => Assert.True((await desk.SendAsync(ControlsHouse.Ines, "bench-1",
            new CommandEnvelope(new BenchCommand.TemperatureMeasured(new Celsius(degrees)),
                house.House.Provenance() with { At = at, Person = new PersonId("ines") }))).Recorded);
    }
}
