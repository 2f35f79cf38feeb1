using System.Net;
using System.Net.Sockets;
using System.Text;

namespace Incubation.Service.Tests.Support;

/// <summary>How an answer has no end.</summary>
public enum Endless
{
    /// <summary>Line after line of its head, as fast as they are taken.</summary>
    Head,

    /// <summary>A byte of its head each second.</summary>
    HeadDrips,

    /// <summary>A body, as fast as it is taken.</summary>
    Body,

    /// <summary>A byte of a body, and the rest never.</summary>
    BodyStalls,
}

/// <summary>A webhook in this process, over a real port, whose answer to each message has no end.</summary>
internal sealed class EndlessReceiver : IAsyncDisposable
{
    private readonly TcpListener listener = new(IPAddress.Loopback, 0);
    private readonly CancellationTokenSource stop = new();
    private readonly Endless how;
    private readonly TimeProvider time;
    private readonly Task runs;
    private long most;
    private int hungUp;

    public EndlessReceiver(Endless how, TimeProvider time)
    {
        (this.how, this.time) = (how, time);
        listener.Start();
        runs = AcceptAsync();
    }

    public Uri Address => new($"http://127.0.0.1:{((IPEndPoint)listener.LocalEndpoint).Port}/in");

    /// <summary>The most bytes of an answer that were taken, by the other end or on the way to it.</summary>
    public long Most => Interlocked.Read(ref most);

    /// <summary>How often the other end hung up.</summary>
    public int HungUp => hungUp;

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
                open.Add(AnswerAsync(await listener.AcceptSocketAsync(stop.Token)));
        }
        catch (Exception e) when (e is OperationCanceledException or SocketException)
        {
            await Task.WhenAll(open);
        }
    }

    private async Task AnswerAsync(Socket socket)
    {
        await using var stream = new NetworkStream(socket, ownsSocket: true);
        long sent = 0;
        async Task SayAsync(string text)
        {
            await stream.WriteAsync(Encoding.Latin1.GetBytes(text), stop.Token);
            sent += text.Length;
            if (sent > Most)
                Interlocked.Exchange(ref most, sent);
        }

        try
        {
            await stream.ReadAtLeastAsync(new byte[16], 16, cancellationToken: stop.Token);
            await SayAsync("HTTP/1.1 200 Told\r\n");
            if (how == Endless.Body)
                await SayAsync("Transfer-Encoding: chunked\r\n\r\n");
            if (how == Endless.BodyStalls)
                await SayAsync("Content-Length: 1000\r\n\r\na");
            if (how == Endless.BodyStalls)
                // Whatever is left of the message, then its end.
                while (await stream.ReadAsync(new byte[4096], stop.Token) > 0) { }
            var piece = how switch
            {
                Endless.Head => "x: " + new string('a', 1000) + "\r\n",
                Endless.Body => "10000\r\n" + new string('a', 0x10000) + "\r\n",
                _ => "a",
            };
            while (how != Endless.BodyStalls)
            {
                if (how == Endless.HeadDrips)
                    await Task.Delay(TimeSpan.FromSeconds(1), time, stop.Token);
                await SayAsync(piece);
            }

            Interlocked.Increment(ref hungUp);
        }
        catch (IOException)
        {
            Interlocked.Increment(ref hungUp);
        }
        catch (OperationCanceledException)
        {
            // The test is over.
        }
    }
}
