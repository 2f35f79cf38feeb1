using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Text;
using Incubation.Service.Demo;
using Incubation.TestKit;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// A reader whose server is killed before its answer to a result is heard, or as soon as it is: what was answered is
/// there, and what is sent again is there once.
/// </summary>
public sealed class WireKillTest(Browser browser)
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Result_WhoseServerIsKilledAtItsAnswer_IsThereOnce()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06"]);
        var port = await SetUpAsync(server);
        await SendAndKillAsync(server, port, "T-ANSWERED", line =>
            line.ReadExactlyAsync(new byte[1], Cancel).AsTask());
        await server.Start(Cancel);
        await AreThereAsync(server, "T-ANSWERED");

        await SendAndKillAsync(server, port, "T-UNHEARD", _ => Task.CompletedTask);
        await server.Start(Cancel);
        await using (var reader = new DemoReader(await ConnectAsync(port), TimeProvider.System))
            foreach (var tube in new[] { "T-UNHEARD", "T-ANSWERED", "T-UNHEARD" })
                Assert.True(await reader.SendAsync(Encoding.ASCII.GetBytes(MessageOf(tube)), Cancel));

        await AreThereAsync(server, "T-ANSWERED", "T-UNHEARD");
    }

    private static async Task SendAndKillAsync(ServerProcess server, int port, string tube,
        Func<NetworkStream, Task> until)
    {
        await using var line = await ConnectAsync(port);
        await SendAllAsync(line, MessageOf(tube));
        await until(line);
        await server.Kill(Cancel);
    }

    /// <summary>Just these wait for a decision, each once.</summary>
    private async Task AreThereAsync(ServerProcess server, params string[] tubes)
    {
        var page = await browser.Open(server, "results-by-wire");
        await Assertions.Expect(page.Locator(".wire-question")).ToHaveCountAsync(tubes.Length);
        foreach (var tube in tubes)
            await Assertions.Expect(page.Locator(".wire-question", new() { HasText = tube })).ToHaveCountAsync(1);
    }

    /// <summary>Sets the reader up; its tests are not known, so that each message waits for a decision.</summary>
    private async Task<int> SetUpAsync(ServerProcess server)
    {
        var port = ProgramProcess.FreePort();
        var page = await browser.Open(server, "instruments");
        await page.Locator("#wire-name").FillAsync("Reader by the window");
        await page.Locator("#wire-port").FillAsync(port.ToString(CultureInfo.InvariantCulture));
        await page.Locator("#wire-peers").FillAsync("127.0.0.1");
        await page.Locator("#wire-tests").FillAsync("DA-TEST = DA = mg/L");
        await page.Locator("#wire-only").SelectOptionAsync("no");
        await page.Locator("#wire-save").ClickAsync();
        await Assertions.Expect(page.Locator(".page-status")).ToContainTextAsync("is set up");
        return port;
    }

    /// <summary>Sends all of a message; the answer to its last frame is not waited for.</summary>
    private static async Task SendAllAsync(NetworkStream line, string message)
    {
        Assert.Equal(HandWire.Ack, await HandWire.AskAsync(line, [HandWire.Enq], Cancel));
        var records = message.Split('\r', StringSplitOptions.RemoveEmptyEntries);
        for (var at = 0; at < records.Length - 1; at++)
            Assert.Equal(HandWire.Ack, await HandWire.AskAsync(line, HandWire.FrameOf(at + 1, records[at]), Cancel));
        await line.WriteAsync(HandWire.FrameOf(records.Length, records[^1]), Cancel);
    }

    private static string MessageOf(string tube) => HandWire.MessageOf(tube, "XX", "5.1");

    /// <summary>As soon as the server listens there.</summary>
    internal static async Task<NetworkStream> ConnectAsync(int port)
    {
        while (true)
        {
            var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp);
            try
            {
                await socket.ConnectAsync(IPAddress.Loopback, port, Cancel);
                return new NetworkStream(socket, ownsSocket: true);
            }
            catch (SocketException fault) when (fault.SocketErrorCode == SocketError.ConnectionRefused)
            {
                socket.Dispose();
                await Task.Yield();
            }
        }
    }
}
