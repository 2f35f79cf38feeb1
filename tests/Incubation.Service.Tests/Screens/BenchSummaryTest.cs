using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Alarms;
using Incubation.Service.Commands;
using Incubation.Service.Gates;
using Incubation.Service.Record;
using Incubation.Service.Requests;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.Logging.Abstractions;
using NodaTime;

namespace Incubation.Service.Tests.Screens;

/// <summary>
/// Where the benches' batches stand, for the pages that list benches: each moment is worked out once.
/// </summary>
public sealed class BenchSummaryTest
{
    [Fact]
    public async Task Summaries_OneBenchChanged_OneIsWorkedOutAnew()
    {
        await using var house = await StockHouse.OpenAsync();
        await OpenStillAsync(house, "bench-2");
        await OpenStillAsync(house, "bench-3");
        using var gates = new LotGateService(house.Clinic, house.Rig.Book,
            ControlsHouse.Closed(house.File, house.Clinic, house.Clock),
            ControlsHouse.Doubts(house.File, house.Clinic, house.Clock), house.Clock,
            NullLogger<LotGateService>.Instance);
        using var intake = new Intake(house.Clinic, house.Rig.Book, house.Clock, gates);
        var desk = new BenchService(house.Rig.Book, new SnapshotWriter(house.Clinic, house.Clock, new NoHostAlarms()),
            house.Clock, intake,
            new CarriedOver(house.Clinic, house.Clock, gates), house.Clinic,
            new WriteBudget(house.Clock, WriteBudget.UsualRate),
            new LateReportService(new CartridgeProjection(house.File, house.Clinic.Log.Amended), house.Clinic,
                house.Clock),
            new SecondLookService(new CartridgeProjection(house.File, house.Clinic.Log.Amended), house.Clinic, gates,
                house.Clock),
            NullLogger<BenchService>.Instance);
        var actor = StockHouse.Somebody(Role.Supervisor);
        var before = desk.Summaries(actor);
        Assert.Equal(3, before.Count);

        await house.Rig.Must(new BenchCommand.AddRequests([BenchRig.Request("R1")]));

        var after = desk.Summaries(actor);
        var anew = Assert.IsType<BenchSummary>(Assert.Single(after.Except(before, ReferenceEqualityComparer.Instance)));
        Assert.Equal("bench-1", anew.Id);
        Assert.Same(anew, desk.Summary(house.Rig.Runner.Present));
        Assert.Empty(desk.Summaries(actor).Except(after, ReferenceEqualityComparer.Instance));
    }

    /// <summary>A bench whose runner has ended: its moment stays the one that it is.</summary>
    private static async Task OpenStillAsync(StockHouse house, string bench)
    {
        var setup = new BenchSetup(1, 4, 1, Duration.FromSeconds(25), Duration.FromSeconds(15), 0);
        var provenance = house.Rig.Provenance();
        var opened = Assert.IsType<Decision.Accepted>(LiveBench.Decide(
            null, new BenchCommand.OpenBench(new BenchId(bench), bench, setup, Duration.FromSeconds(20)), provenance));
        Assert.True(
            house.Rig.Book.Continue(opened.Entries(provenance)));
        await house.Rig.Book.Find(bench)!.DisposeAsync();
    }
}
