using System.Globalization;
using Incubation.Bench;
using Incubation.Chart;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Service.Commands;
using Incubation.Service.Screens;
using Incubation.Service.Settings;
using Incubation.Service.Snapshots;
using Microsoft.Extensions.DependencyInjection;
using NodaTime.Text;

namespace Incubation.Server.Tests.Hubs;

/// <summary>Labels are asked for as the clinic says, from the flat form to the log.</summary>
public sealed class LabelScansTest : IAsyncDisposable
{
    private readonly List<ServerFactory> servers = [];

    public async ValueTask DisposeAsync()
    {
        foreach (var server in servers)
            await server.DisposeAsync();
    }

    [Theory]
    [InlineData(LabelDemand.Off, null, "off", false, false)]
    [InlineData(LabelDemand.Asked, null, "asked", false, false)]
    [InlineData(LabelDemand.Asked, "scanned", "asked", false, true)]
    [InlineData(LabelDemand.Demanded, "scanned", "demanded", false, true)]
    // Whatever it was said through: a program, an alarm's button, an older page.
    [InlineData(LabelDemand.Demanded, null, "demanded", true, false)]
    public async Task Load_AsTheClinicAsksForLabels_StandsInTheLog(LabelDemand demand, string? scan, string shown,
        bool differs, bool isScanned)
    {
        var server = new ServerFactory { Parts = parts => parts.AddSingleton(new LabelSettings(demand)) };
        servers.Add(server);
        var desk = server.Services.GetRequiredService<BenchService>();
        await Must("start-batch");
        await Must("mixed");
        await Must("loaded", slot: 1, scan);

        var load = Recorded().OfType<BenchEvent.Loaded>().Single();
        Assert.Equal(differs, load.Deviations.Contains(Deviation.NotScanned));
        Assert.Equal(isScanned, Recorded().Contains(new BenchEvent.LabelScanned(new RequestId("R02"))));
        Assert.Equal(shown, Snapshot().LabelScans);

        BenchSnapshot Snapshot() => desk.Snapshot(ServerFactory.Administrator, "bench-1", LaneLayout.Wide)!;

        async Task Must(string kind, int? slot = null, string? label = null)
        {
            var flat = new ScreenCommand(Guid.NewGuid().ToString("N", CultureInfo.InvariantCulture), kind,
                InstantPattern.ExtendedIso.Format(Snapshot().ServerTime), false, "tablet-1", "R02", slot, null, null,
                null, null, null, null, null, null, null, null, Scan: label);
            var answer = await desk.SendAsync(ServerFactory.Administrator, "bench-1", flat);
            Assert.True(answer.Recorded, answer.Sentence);
        }

        IEnumerable<BenchEvent> Recorded() => new BenchStreams(server.Services.GetRequiredService<DataFile>())
            .Load(new BenchId("bench-1")).Select(entry => entry.Event);
    }
}
