using System.Collections.Concurrent;
using System.Diagnostics.Metrics;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Service.Tests.Benches;

/// <summary>What a bench measures about itself.</summary>
public sealed class TelemetryTest : IDisposable
{
    private readonly ConcurrentBag<(string Name, double Value)> measured = [];
    private readonly MeterListener listener = new();

    public TelemetryTest()
    {
        listener.InstrumentPublished = (instrument, own) =>
        {
            if (instrument.Meter.Name == BenchMeter.Name)
                own.EnableMeasurementEvents(instrument);
        };
        listener.SetMeasurementEventCallback<double>((instrument, value, _, _) =>
            measured.Add((instrument.Name, value)));
        listener.Start();
    }

    public void Dispose() => listener.Dispose();

    [Fact]
    public async Task Runner_BatchBegun_PlanTimeMeasured()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        Assert.Contains(measured, one => one.Name == "incubation.plan.duration" && one.Value >= 0);
    }

    [Fact]
    public async Task Runner_ShownLaterThanDue_LatenessMeasured()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"));
        // Far past the next change in one leap, as on a machine that was too busy: nothing else here is as late as
        // this.
        rig.Advance(Duration.FromSeconds(4000));
        await rig.Must(new BenchCommand.CardChanged(new ReaderNumber(1), new LotCode("DA-L1")));
        Assert.Contains(measured, one => one.Name == "incubation.prompt.lateness" && one.Value > 3000);
    }
}
