using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Text;

namespace Incubation.ServiceBenchmarks;

/// <summary>Other systems, over ports of this machine, that take every message after a while.</summary>
internal sealed class SlowReceivers : IAsyncDisposable
{
    private static readonly byte[] Taken = Encoding.ASCII.GetBytes("HTTP/1.1 204 Taken\r\nContent-Length: 0\r\n\r\n");

    private readonly TimeSpan answersIn;
    private readonly CancellationTokenSource stop = new();
    private readonly TcpListener[] listeners;
    private readonly Task[] runs;
    private readonly HashSet<(int Receiver, string Id)> came = [];
    private TaskCompletionSource all = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private int awaited;
    private int messages;

    public SlowReceivers(int many, TimeSpan answersIn)
    {
        this.answersIn = answersIn;
        listeners = [.. Enumerable.Range(0, many).Select(_ => new TcpListener(IPAddress.Loopback, 0))];
        foreach (var one in listeners)
            one.Start();
        runs = [.. listeners.Select(AcceptAsync)];
    }

    /// <summary>Where messages are posted.</summary>
    public IReadOnlyList<Uri> Addresses => [.. listeners.Select(one => new Uri(string.Create(
        CultureInfo.InvariantCulture, $"http://127.0.0.1:{((IPEndPoint)one.LocalEndpoint).Port}/told")))];

    /// <summary>How many messages came, repeats too.</summary>
    public int Messages => Volatile.Read(ref messages);

    /// <summary>Forgets what came; ends when so many different messages have come and were answered.</summary>
    public Task UntilAsync(int different)
    {
        lock (came)
        {
            came.Clear();
            (awaited, messages) = (different, 0);
            all = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
            return all.Task;
        }
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        await stop.CancelAsync();
        foreach (var one in listeners)
            one.Dispose();
        await Task.WhenAll(runs);
        stop.Dispose();
    }

    private async Task AcceptAsync(TcpListener listener, int number)
    {
        var open = new List<Task>();
        try
        {
            while (true)
                open.Add(ServeAsync(await listener.AcceptSocketAsync(stop.Token), number));
        }
        catch (Exception e) when (e is OperationCanceledException or SocketException)
        {
            await Task.WhenAll(open);
        }
    }

    private async Task ServeAsync(Socket socket, int number)
    {
        try
        {
            await using var stream = new NetworkStream(socket, ownsSocket: true);
            using var reader = new StreamReader(stream, Encoding.Latin1);
            while (await reader.ReadLineAsync(stop.Token) is { Length: > 0 })
            {
                var (id, length) = ("", 0);
                while (await reader.ReadLineAsync(stop.Token) is { Length: > 0 } line)
                    if (line.StartsWith("webhook-id:", StringComparison.OrdinalIgnoreCase))
                        id = line[11..].Trim();
                    else if (line.StartsWith("content-length:", StringComparison.OrdinalIgnoreCase))
                        length = int.Parse(line.AsSpan(15), NumberStyles.AllowLeadingWhite,
                            CultureInfo.InvariantCulture);
                await reader.ReadBlockAsync(new char[length], stop.Token);
                await Task.Delay(answersIn, stop.Token);
                await stream.WriteAsync(Taken, stop.Token);
                Note(number, id);
            }
        }
        catch (Exception e) when (e is OperationCanceledException or IOException)
        {
            // The other end has gone, or the measuring is over.
        }
    }

    private void Note(int number, string id)
    {
        lock (came)
        {
            messages++;
            if (came.Add((number, id)) && came.Count == awaited)
                all.TrySetResult();
        }
    }
}
