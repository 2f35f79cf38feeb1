using System.IO.Ports;
using System.Net;
using System.Net.Sockets;
using Incubation.Clinic.Instruments;
using Incubation.Model;

namespace Incubation.Service.Instruments;

/// <summary>Listens on one port for the instruments whose addresses may connect to it.</summary>
/// <param name="endpoint">Where.</param>
/// <param name="peers">Who may connect, and whose connection it then is.</param>
/// <param name="session">Runs a connection until it ends.</param>
/// <param name="book">The figures of the lines.</param>
internal sealed class TcpDoor(IPEndPoint endpoint, IReadOnlyDictionary<IPAddress, InstrumentId> peers,
    Func<InstrumentId, Stream, CancellationToken, Task> session, LineBook book)
{
    /// <summary>An instrument has one connection; another while the end of the first was not noticed.</summary>
    private const int MaxConnections = 4;

    /// <summary>So many connections wait to be looked at.</summary>
    private const int Backlog = 16;

    /// <summary>Listens until stopped. Throws <see cref="SocketException"/> where the port cannot be had.</summary>
    public async Task RunAsync(CancellationToken stop)
    {
        var running = new List<(InstrumentId Instrument, Task Task)>();
        using var listener = new TcpListener(endpoint);
        listener.Start(Backlog);
        foreach (var instrument in peers.Values.Distinct())
            book.Note(instrument, line => line with { Trouble = null });
        try
        {
            while (true)
            {
                var client = await listener.AcceptTcpClientAsync(stop);
                running.RemoveAll(one => one.Task.IsCompleted);
                if (OwnerOf(client) is not { } owner
                    || running.Count(one => one.Instrument == owner) >= MaxConnections)
                    Turn(client);
                else
                    running.Add((owner, ServeAsync(owner, client, stop)));
            }
        }
        catch (OperationCanceledException) when (stop.IsCancellationRequested)
        {
            await Task.WhenAll(running.Select(one => one.Task));
        }
    }

    private InstrumentId? OwnerOf(TcpClient client) =>
        client.Client.RemoteEndPoint is IPEndPoint { Address: var address }
        && peers.TryGetValue(address.IsIPv4MappedToIPv6 ? address.MapToIPv4() : address, out var owner) ? owner : null;

    /// <summary>Nothing is left of it but that it was one more.</summary>
    private void Turn(TcpClient client)
    {
        foreach (var instrument in peers.Values.Distinct())
            book.Note(instrument, line => line with { Strangers = line.Strangers + 1 });
        client.LingerState = new LingerOption(enable: true, seconds: 0);
        client.Dispose();
    }

    private async Task ServeAsync(InstrumentId owner, TcpClient client, CancellationToken stop)
    {
        book.Note(owner, line => line with { Connections = line.Connections + 1 });
        try
        {
            client.NoDelay = true;
            client.Client.SetSocketOption(SocketOptionLevel.Socket, SocketOptionName.KeepAlive, optionValue: true);
            await session(owner, client.GetStream(), stop);
        }
        catch (SocketException)
        {
            // It was gone before it began.
        }
        finally
        {
            client.Dispose();
            book.Note(owner, line => line with { Connections = line.Connections - 1 });
        }
    }
}

/// <summary>A serial line of one instrument: eight bits, no parity, one stop bit.</summary>
internal sealed class SerialDoor(InstrumentId instrument, WireTransport.Serial line,
    Func<InstrumentId, Stream, CancellationToken, Task> session, LineBook book)
{
    /// <summary>Opens it and serves until it ends or is stopped. Throws where it cannot be opened.</summary>
    public async Task RunAsync(CancellationToken stop)
    {
        using var port = new SerialPort(line.Device, line.Speed, Parity.None, 8, StopBits.One);
        port.Open();
        book.Note(instrument, one => one with { Trouble = null, Connections = 1 });
        try
        {
            await session(instrument, port.BaseStream, stop);
        }
        finally
        {
            book.Note(instrument, one => one with { Connections = 0 });
        }
    }
}
