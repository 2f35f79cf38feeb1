using System.Globalization;
using System.Net;
using System.Net.Sockets;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Instruments;
using Incubation.Exchange.Lis;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Snapshots;
using Incubation.Simulation;
using NodaTime;

namespace Incubation.Service.Demo;

/// <summary>
/// The readers of a demo's bench: each sends an invented result over a port of this machine when its read ends, by the
/// protocol of a real one.
/// </summary>
public sealed class DemoReaders(ClinicHost clinic, BenchRegistry benches, BenchClock clock,
    [FromKeyedServices(Sessions.RealTime)] TimeProvider real, ILogger<DemoReaders> logger)
{
    private static readonly DeviceId Server = new("server");
    private static readonly TimeSpan RetryAfter = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan Least = TimeSpan.FromMilliseconds(1);

    /// <summary>Plays the readers of a bench until stopped.</summary>
    /// <param name="bench">The bench.</param>
    /// <param name="seed">Of the invented results.</param>
    /// <param name="stop">Ends it.</param>
    public async Task PlayAsync(BenchId bench, int seed, CancellationToken stop)
    {
        if (benches.Find(bench.Value) is not { } runner)
            return;
        var ports = Enumerable.Range(1, runner.Present.State.Setup.Readers).ToDictionary(
            reader => new ReaderNumber(reader), reader => SetUp(bench, new ReaderNumber(reader)));
        var aide = new VirtualAide(new Random(seed));
        var sent = new HashSet<RequestId>();
        using var changed = new SemaphoreSlim(0);
        void Note(BenchMoment view) => changed.Release();
        runner.Changed += Note;
        try
        {
            while (true)
            {
                var next = runner.Present.State.Cartridges.Where(one => !sent.Contains(one.Id)
                        && one.Result is null && one.Phase is CartridgePhase.Reading).Select(one => (Cartridge: one,
                        End: ReaderMatching.ReadEndOf(runner.Present.State, one.Id)!.Value))
                    .OrderBy(one => one.End).FirstOrDefault();
                if (next.Cartridge is null)
                    await changed.WaitAsync(stop);
                else if (next.End > clock.Now)
                    await changed.WaitAsync(((next.End - clock.Now) / clock.Rate).ToTimeSpan() + Least, stop);
                else if (await SendAsync(ports[next.Cartridge.Phase!.FindReader()!.Value], next.Cartridge, next.End,
                    aide.InventedResult(next.Cartridge.Wanted.Facts?.Results ?? ResultRule.AsDisplayed), stop))
                    sent.Add(next.Cartridge.Id);
                stop.ThrowIfCancellationRequested();
            }
        }
        finally
        {
            runner.Changed -= Note;
        }
    }

    /// <summary>Sets the link of a reader, on a port that is free now; the same link each time the demo is played.
    /// </summary>
    private int SetUp(BenchId bench, ReaderNumber reader)
    {
        var port = FreePort();
        var known = clinic.Log.Instruments.InUse.FirstOrDefault(one => one.Link.Bench == bench
            && one.Link.Reader == reader);
        var link = new InstrumentLink(string.Create(CultureInfo.InvariantCulture, $"Demo reader {reader}"), bench,
            reader, new WireTransport.Tcp("127.0.0.1", port, ["127.0.0.1"]), WireEncoding.Ascii,
            [.. clinic.Catalogue.Assays().Select(assay => new ReaderTest(assay.Assay.Code.Value, assay.Assay.Code,
                assay.Unit))], OnlyListens: false);
        var id = known?.Id ?? Instrument.IdOf(clinic.Log.Instruments.All.Count + 1);
        if (clinic.Log.Record(new ClinicEvent.InstrumentSet(id, link), Provenances.Of(DemoDay.Person, Server, clock))
            is ClinicOutcome.Refused refused)
            logger.LogWarning("The demo's reader could not be set up: {Why}", refused.Why);
        return port;
    }

    private async Task<bool> SendAsync(int port, Cartridge cartridge, Instant end, string value, CancellationToken stop)
    {
        var zone = clinic.Facts.Zone;
        var message = LisWriter.Write(ReaderMessageWriter.Write(new ReaderMessage("Demo reader",
        [
            new ReaderResult(0, cartridge.Wanted.Request.Specimen.Value, cartridge.Wanted.Request.Assay.Value,
                ReaderValue.Of(value), cartridge.Wanted.Unit, ReaderResultStatus.Final)
            {
                ReadAt = ReaderTime.Of(end, zone),
            },
        ])
        {
            ControlId = cartridge.Id.Value,
            SentAt = ReaderTime.Of(clock.Now, zone),
        }), LisEncoding.Ascii);
        try
        {
            using var client = new TcpClient();
            await client.ConnectAsync(IPAddress.Loopback, port, stop);
            await using var reader = new DemoReader(client.GetStream(), real);
            return message is null || await reader.SendAsync(message, stop);
        }
        catch (Exception fault) when (fault is SocketException or IOException)
        {
            await Task.Delay(RetryAfter, real, stop);
            return false;
        }
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}
