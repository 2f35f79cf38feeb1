using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Settings;
using Microsoft.Extensions.Configuration;
using NodaTime;

namespace Incubation.Service.Tests.Commands;

/// <summary>What a clinic asks of the labels on its cartridges.</summary>
public sealed class LabelSettingsTest
{
    private static readonly BenchCommand.Loaded Load =
        new(new RequestId("R1"), new CartridgePlace.InSlot(new SlotNumber(1)), false);

    [Theory]
    [InlineData(null, LabelDemand.Off, 0)]
    [InlineData(" ", LabelDemand.Off, 0)]
    [InlineData("off", LabelDemand.Off, 0)]
    [InlineData("asked", LabelDemand.Asked, 0)]
    [InlineData("demanded", LabelDemand.Demanded, 0)]
    [InlineData("always", LabelDemand.Off, 1)]
    [InlineData("2", LabelDemand.Off, 1)]
    public void Read_TheSetting_IsOneOfThree(string? text, LabelDemand expected, int faulty)
    {
        var faults = new List<string>();
        var read = LabelSettings.Read(new ConfigurationBuilder().AddInMemoryCollection(
            new Dictionary<string, string?> { ["Incubation:LabelScans"] = text }).Build(), faults);

        Assert.Equal(expected, read.Demand);
        Assert.Equal(faulty, faults.Count);
    }

    [Theory]
    [InlineData(LabelDemand.Off, null, null)]
    [InlineData(LabelDemand.Asked, null, null)]
    [InlineData(LabelDemand.Demanded, null, LabelScan.NotScanned)]
    [InlineData(LabelDemand.Demanded, LabelScan.Scanned, LabelScan.Scanned)]
    [InlineData(LabelDemand.Demanded, LabelScan.OtherThanPlanned, LabelScan.OtherThanPlanned)]
    public void Said_OfAReport_IsWithoutAScanOnlyWhereOneIsDemanded(LabelDemand demand, LabelScan? said,
        LabelScan? expected)
    {
        var report = Assert.IsType<BenchCommand.Loaded>(
            new LabelSettings(demand).Said(Load with { Scan = said }, Bench()));

        Assert.Equal(expected, report.Scan);
    }

    [Theory]
    [InlineData(LabelDemand.Demanded, LabelDemand.Off, null)]
    [InlineData(LabelDemand.Demanded, LabelDemand.Asked, null)]
    [InlineData(LabelDemand.Off, LabelDemand.Demanded, LabelScan.NotScanned)]
    public void Said_WhereABenchHasItsOwn_GoesByThat(LabelDemand usual, LabelDemand own, LabelScan? expected)
    {
        var report = Assert.IsType<BenchCommand.Loaded>(new LabelSettings(usual).Said(Load, Bench(own)));

        Assert.Equal(expected, report.Scan);
    }

    [Fact]
    public void Said_OfSeveral_IsWithoutAScanForEachThatHasALabel()
    {
        BenchCommand[] reports = [new BenchCommand.Mixed(new RequestId("R1")), Load];
        var several = new BenchCommand.Several([.. reports.Select(one => new Told(default(Instant), one))]);

        var said = Assert.IsType<BenchCommand.Several>(new LabelSettings(LabelDemand.Demanded).Said(several, Bench()));

        Assert.Equal([reports[0], Load with { Scan = LabelScan.NotScanned }], said.Reports.Select(told => told.What));
    }

    private static BenchState Bench(LabelDemand? own = null)
    {
        var by = new Provenance(new ReportId("open"), default, default, new PersonId("lena"), new DeviceId("tablet-1"));
        var setup = new BenchSetup(1, 4, 1, Duration.FromSeconds(25), Duration.FromSeconds(15), 0);
        var opened = LiveBench.Apply(null, new BenchEntry(new BenchEvent.BenchOpened(new BenchId("bench-1"), "Bench 1",
            setup, Duration.FromSeconds(20)), by));
        return own is { } demand
            ? LiveBench.Apply(opened, new BenchEntry(new BenchEvent.LabelsAsked(demand), by)) : opened;
    }
}
