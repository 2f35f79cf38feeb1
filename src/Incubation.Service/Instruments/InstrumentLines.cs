using System.Globalization;
using System.Net;
using System.Net.Sockets;
using Incubation.Clinic.Instruments;
using Incubation.Model;
using Incubation.Records.Instruments;
using Incubation.Records.Log;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;

namespace Incubation.Service.Instruments;

/// <summary>
/// Keeps a door open for each instrument as it is set now, judges what was taken, and erases what was kept long enough.
/// One instrument's trouble is no other's.
/// </summary>
public sealed class InstrumentLines(ClinicHost clinic, WireTaker taker, WireJudge judge, WireStore store, LineBook book,
    BenchRegistry benches, BenchClock clock, [FromKeyedServices(Sessions.RealTime)] TimeProvider time,
    ILogger<InstrumentLines> logger) : BackgroundService
{
    private static readonly TimeSpan RetryAfter = TimeSpan.FromSeconds(5);
    private static readonly TimeSpan EraseEvery = TimeSpan.FromHours(1);
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId Through = new("server");

    private readonly Dictionary<string, (CancellationTokenSource Stop, Task Runs)> doors = [];
    private readonly SemaphoreSlim settings = new(0);
    private readonly SemaphoreSlim messages = new(0);
    private InstrumentsState? seen;

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        clinic.Log.Changed += Note;
        taker.Taken += Came;
        try
        {
            await Task.WhenAll(KeepDoorsAsync(stoppingToken), JudgeAsync(stoppingToken), EraseAsync(stoppingToken));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
        finally
        {
            clinic.Log.Changed -= Note;
            taker.Taken -= Came;
            await Task.WhenAll(doors.Keys.ToList().Select(CloseAsync));
        }
    }

    /// <inheritdoc/>
    public override void Dispose()
    {
        base.Dispose();
        settings.Dispose();
        messages.Dispose();
    }

    private void Note()
    {
        if (!ReferenceEquals(clinic.Log.Instruments.All, seen?.All))
            settings.Release();
    }

    private void Came() => messages.Release();

    private async Task KeepDoorsAsync(CancellationToken stop)
    {
        while (true)
        {
            var now = clinic.Log.Instruments;
            seen = now;
            var wanted = Wanted(now);
            foreach (var gone in doors.Keys.Except(wanted.Keys).ToList())
                await CloseAsync(gone);
            foreach (var (key, run) in wanted.Where(one => !doors.ContainsKey(one.Key)))
            {
                var closing = CancellationTokenSource.CreateLinkedTokenSource(stop);
                doors[key] = (closing, Task.Run(() => KeepOpenAsync(run.Of, run.RunAsync, closing.Token), stop));
            }

            await settings.WaitAsync(stop);
        }
    }

    private async Task CloseAsync(string key)
    {
        if (!doors.Remove(key, out var door))
            return;
        await door.Stop.CancelAsync();
        try
        {
            await door.Runs;
        }
        catch (OperationCanceledException)
        {
            // As asked.
        }

        door.Stop.Dispose();
    }

    /// <summary>Every door that there should be, by what would make it another.</summary>
    private Dictionary<string, (IReadOnlyList<InstrumentId> Of, Func<CancellationToken, Task> RunAsync)> Wanted(
        InstrumentsState now)
    {
        var wanted = new Dictionary<string, (IReadOnlyList<InstrumentId>, Func<CancellationToken, Task>)>();
        foreach (var line in now.InUse.Where(one => one.Link.Transport is WireTransport.Serial))
        {
            var serial = (WireTransport.Serial)line.Link.Transport;
            wanted[$"{line.Id} {serial.Device} {serial.Speed.ToString(CultureInfo.InvariantCulture)}"] =
                ([line.Id], new SerialDoor(line.Id, serial, RunSessionAsync, book).RunAsync);
        }

        foreach (var port in now.InUse.Where(one => one.Link.Transport is WireTransport.Tcp)
            .GroupBy(one => (((WireTransport.Tcp)one.Link.Transport).Address,
                ((WireTransport.Tcp)one.Link.Transport).Port)))
        {
            // An address that is none was refused when it was set; one that stands in an old log leaves the others be.
            var peers = port.SelectMany(one => ((WireTransport.Tcp)one.Link.Transport).Peers
                    .Select(peer => (Peer: peer, one.Id)))
                .Where(one => IPAddress.TryParse(one.Peer, out _)).DistinctBy(one => IPAddress.Parse(one.Peer))
                .ToDictionary(one => IPAddress.Parse(one.Peer), one => one.Id);
            if (!IPAddress.TryParse(port.Key.Address, out var address))
                continue;
            wanted[$"{address} {port.Key.Port.ToString(CultureInfo.InvariantCulture)} "
                + string.Join(' ', peers.Select(one => $"{one.Key}={one.Value}").Order(StringComparer.Ordinal))] =
                ([.. port.Select(one => one.Id)],
                    new TcpDoor(new IPEndPoint(address, port.Key.Port), peers, RunSessionAsync, book).RunAsync);
        }

        return wanted;
    }

    private Task RunSessionAsync(InstrumentId instrument, Stream stream, CancellationToken stop) =>
        new WireSession(instrument, stream, taker, book, time, logger).RunAsync(stop);

    /// <summary>Opens a door again and again: a line that is not there yet may come.</summary>
    private async Task KeepOpenAsync(IReadOnlyList<InstrumentId> of, Func<CancellationToken, Task> run,
        CancellationToken stop)
    {
        while (!stop.IsCancellationRequested)
        {
            try
            {
                await run(stop);
                Trouble(of, InstrumentWords.LineEnded);
            }
            catch (Exception fault) when (fault is SocketException or IOException or UnauthorizedAccessException
                or InvalidOperationException or ArgumentException or NotSupportedException)
            {
                Trouble(of, Say.Of(InstrumentWords.LineTrouble, fault.Message));
                logger.LogWarning("The line of {Instruments} cannot be used: {Fault}", string.Join(", ", of),
                    fault.Message);
            }

            if (!stop.IsCancellationRequested)
                await Task.Delay(RetryAfter, time, stop);
        }
    }

    private void Trouble(IReadOnlyList<InstrumentId> of, string sentence)
    {
        foreach (var one in of)
            book.Note(one, line => line with { Trouble = sentence });
    }

    private async Task JudgeAsync(CancellationToken stop)
    {
        var tookLeftOver = false;
        while (true)
        {
            var isDone = false;
            try
            {
                if (!tookLeftOver)
                    taker.TakeLeftOver();
                tookLeftOver = true;
                isDone = await judge.JudgeAllAsync();
            }
            catch (Exception fault) when (fault is not OutOfMemoryException)
            {
                // What was taken lies on the disk, and is judged when that is possible again.
                logger.LogError(fault, "What an instrument sent could not be judged.");
            }

            if (isDone)
                await messages.WaitAsync(stop);
            else
                await Task.Delay(RetryAfter, time, stop);
        }
    }

    /// <summary>What a batch that is not closed rests on can still be looked at.</summary>
    private bool IsInUse(WireMessage message) => clinic.Log.Instruments.Find(message.Instrument) is { } instrument
        && benches.Find(instrument.Link.Bench.Value)?.Present.State is { } state
        && message.Fates is { } fates && fates.Any(fate => fate.Request is { } request
            && state.Find(request) is { } cartridge && cartridge.Came <= message.At);

    private async Task EraseAsync(CancellationToken stop)
    {
        while (true)
        {
            try
            {
                while (store.EraseOver(clock.Now, IsInUse, () => Provenances.Of(Itself, Through, clock)) > 0)
                    stop.ThrowIfCancellationRequested();
            }
            catch (AppendException fault)
            {
                logger.LogWarning("Messages of instruments could not be erased: {Fault}", fault.Message);
            }

            await Task.Delay(EraseEvery, time, stop);
        }
    }
}
