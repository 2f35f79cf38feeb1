using System.Collections.Concurrent;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Text;

namespace Incubation.Service.Tests.Support;

/// <summary>A message that came.</summary>
internal sealed record ReceivedMessage(string Id, long Timestamp, string Signature, string Body);

/// <summary>A webhook in this process, over a real port: it answers as it is told, or not at all.</summary>
internal sealed class WebhookReceiver : IAsyncDisposable
{
    private readonly TcpListener listener = new(IPAddress.Loopback, 0);
    private readonly CancellationTokenSource stop = new();
    private readonly Task runs;
    private int connections;

    public WebhookReceiver()
    {
        listener.Start();
        runs = AcceptAsync();
    }

    /// <summary>Hangs: no answer ever comes.</summary>
    public const int Never = 0;

    public int Port => ((IPEndPoint)listener.LocalEndpoint).Port;

    public Uri Address => new($"http://127.0.0.1:{Port}/in");

    /// <summary>What it answers now.</summary>
    public volatile int Status = 204;

    /// <summary>A line of its answer's head, or none.</summary>
    public string Header { get; set; } = "";

    public ConcurrentQueue<ReceivedMessage> All { get; } = [];

    public int Connections => connections;

    public async ValueTask DisposeAsync()
    {
        await stop.CancelAsync();
        listener.Stop();
        await runs;
        stop.Dispose();
    }

    private async Task AcceptAsync()
    {
        var open = new List<Task>();
        try
        {
            while (true)
            {
                var socket = await listener.AcceptSocketAsync(stop.Token);
                Interlocked.Increment(ref connections);
                open.Add(ServeAsync(socket));
            }
        }
        catch (Exception e) when (e is OperationCanceledException or SocketException)
        {
            await Task.WhenAll(open);
        }
    }

    private async Task ServeAsync(Socket socket)
    {
        try
        {
            await using var stream = new NetworkStream(socket, ownsSocket: true);
            using var reader = new StreamReader(stream, Encoding.Latin1);
            while (await reader.ReadLineAsync(stop.Token) is { Length: > 0 })
            {
                var headers = new Dictionary<string, string>(StringComparer.OrdinalIgnoreCase);
                while (await reader.ReadLineAsync(stop.Token) is { Length: > 0 } line)
                    headers[line[..line.IndexOf(':')]] = line[(line.IndexOf(':') + 1)..].Trim();
                var body = new char[int.Parse(headers["Content-Length"], CultureInfo.InvariantCulture)];
                await reader.ReadBlockAsync(body, stop.Token);
                All.Enqueue(new ReceivedMessage(headers["webhook-id"],
                    long.Parse(headers["webhook-timestamp"], CultureInfo.InvariantCulture),
                    headers["webhook-signature"], new string(body)));
                if (Status == Never)
                    await Task.Delay(Timeout.Infinite, stop.Token);
                await stream.WriteAsync(Encoding.Latin1.GetBytes(
                    $"HTTP/1.1 {Status} Told\r\n{Header}Content-Length: 0\r\n\r\n"), stop.Token);
            }
        }
        catch (Exception e) when (e is OperationCanceledException or IOException or ObjectDisposedException)
        {
            // The other end has gone, or the test is over.
        }
    }
}
