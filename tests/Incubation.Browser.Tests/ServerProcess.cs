using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Text;

namespace Incubation.Browser.Tests;

/// <summary>The real server in a process of its own, on a real data file, that can be killed and started again.</summary>
internal sealed class ServerProcess : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);
    private readonly string folder;
    private readonly string demo;
    private readonly string[] options;
    private readonly StringBuilder output = new();
    private Process? process;

    private ServerProcess(string folder, string demo, int port, string[] options)
    {
        this.folder = folder;
        this.demo = demo;
        this.options = options;
        Address = new Uri(string.Create(CultureInfo.InvariantCulture, $"http://127.0.0.1:{port}/"));
    }

    public Uri Address { get; }

    /// <summary>Everything that the server has printed.</summary>
    public string Output
    {
        get
        {
            lock (output)
                return output.ToString();
        }
    }

    /// <summary>Starts the demo on an empty data folder.</summary>
    /// <param name="cancel">Ends the wait.</param>
    /// <param name="requests">Only these of the demo's requests, all ready at the start; null for the whole morning.</param>
    /// <param name="options">Further options of the command line.</param>
    public static async Task<ServerProcess> StartDemo(CancellationToken cancel, string[]? requests = null, params string[] options)
    {
        var folder = Directory.CreateTempSubdirectory("incubation-browser-").FullName;
        var demo = requests is null ? Repository.Demo : ShortMorning.Write(Path.Combine(folder, "demo"), requests);
        var server = new ServerProcess(folder, demo, FreePort(), options);
        await server.Start(cancel);
        return server;
    }

    public async Task Start(CancellationToken cancel)
    {
        var start = new ProcessStartInfo("dotnet") { RedirectStandardOutput = true, RedirectStandardError = true, WorkingDirectory = folder };
        string[] arguments =
        [
            Repository.ServerDll, "--demo", demo, "--data", Path.Combine(folder, "incubation.db"),
            "--urls", Address.GetLeftPart(UriPartial.Authority), .. options,
        ];
        foreach (var argument in arguments)
            start.ArgumentList.Add(argument);
        process = new Process { StartInfo = start, EnableRaisingEvents = true };
        process.OutputDataReceived += (_, line) => Keep(line.Data);
        process.ErrorDataReceived += (_, line) => Keep(line.Data);
        process.Start();
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
        await UntilItAnswers(cancel);
    }

    /// <summary>kill -9: no chance to tidy up.</summary>
    public async Task Kill(CancellationToken cancel)
    {
        process!.Kill(entireProcessTree: true);
        await process.WaitForExitAsync(cancel);
        process.Dispose();
        process = null;
    }

    public async ValueTask DisposeAsync()
    {
        if (process is { HasExited: false })
            await Kill(CancellationToken.None);
        Directory.Delete(folder, recursive: true);
    }

    private async Task UntilItAnswers(CancellationToken cancel)
    {
        using var client = new HttpClient { BaseAddress = Address };
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        limit.CancelAfter(Patience);
        using var pause = new PeriodicTimer(TimeSpan.FromMilliseconds(100));
        while (await pause.WaitForNextTickAsync(limit.Token))
        {
            if (process!.HasExited)
                throw new InvalidOperationException("The server ended at its start:\n" + Output);
            try
            {
                using var answer = await client.GetAsync(new Uri("api/v1/benches", UriKind.Relative), limit.Token);
                if (answer.StatusCode == HttpStatusCode.OK)
                    return;
            }
            catch (HttpRequestException)
            {
                // Not listening yet: asked again at the next tick, until the limit.
            }
        }
    }

    private void Keep(string? line)
    {
        lock (output)
            output.AppendLine(line);
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}
