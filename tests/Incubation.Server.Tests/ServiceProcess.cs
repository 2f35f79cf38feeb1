using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Text;
using System.Text.Json;

namespace Incubation.Server.Tests;

/// <summary>The real program in a process of its own, on one data file.</summary>
internal sealed class ServiceProcess : IDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(90);
    private readonly StringBuilder output = new();
    private readonly HttpClient client;

    public ServiceProcess(string dataFile, IReadOnlyDictionary<string, string>? variables = null, params string[] more)
    {
        var address = "http://127.0.0.1:" + FreePort().ToString(CultureInfo.InvariantCulture);
        client = new HttpClient { BaseAddress = new Uri(address) };
        var start = new ProcessStartInfo("dotnet") { RedirectStandardOutput = true, RedirectStandardError = true };
        foreach (var argument in new[] { Dll, "--data", dataFile, "--urls", address }.Concat(more))
            start.ArgumentList.Add(argument);
        // A test host's own settings are not the program's.
        start.Environment.Remove("ASPNETCORE_URLS");
        foreach (var (name, value) in variables ?? new Dictionary<string, string>())
            start.Environment[name] = value;
        Process = new Process { StartInfo = start, EnableRaisingEvents = true };
        Process.OutputDataReceived += (_, line) => Keep(line.Data);
        Process.ErrorDataReceived += (_, line) => Keep(line.Data);
        Process.Start();
        Process.BeginOutputReadLine();
        Process.BeginErrorReadLine();
    }

    public Process Process { get; }

    public string Output
    {
        get
        {
            lock (output)
                return output.ToString();
        }
    }

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private static string Dll => Path.Combine(
        ServerFactory.Checkout(), "src", "Incubation.Server", "bin", new DirectoryInfo(AppContext.BaseDirectory).Parent!.Name, "net10.0", "Incubation.Server.dll");

    /// <summary>Waits until the server answers, and returns what it says about its readiness.</summary>
    public async Task<(HttpStatusCode Status, JsonElement Body)> ReadyAsync()
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(Cancel);
        limit.CancelAfter(Patience);
        using var pause = new PeriodicTimer(TimeSpan.FromMilliseconds(100));
        while (await pause.WaitForNextTickAsync(limit.Token))
        {
            Assert.False(Process.HasExited, "The server ended at its start:\n" + Output);
            try
            {
                return await GetAsync("/health/ready");
            }
            catch (HttpRequestException)
            {
                // Not listening yet: asked again at the next tick, until the limit.
            }
        }

        throw new InvalidOperationException("Never reached.");
    }

    public async Task<(HttpStatusCode Status, JsonElement Body)> GetAsync(string path)
    {
        using var answer = await client.GetAsync(path, Cancel);
        using var body = JsonDocument.Parse(await answer.Content.ReadAsStringAsync(Cancel));
        return (answer.StatusCode, body.RootElement.Clone());
    }

    /// <summary>Asks it to stop, as a service manager does, and returns its exit code.</summary>
    public async Task<int> TerminateAsync()
    {
        using var kill = Process.Start("kill", ["-TERM", Process.Id.ToString(CultureInfo.InvariantCulture)]);
        return await ExitAsync();
    }

    public async Task KillAsync()
    {
        Process.Kill(entireProcessTree: true);
        await ExitAsync();
    }

    public async Task<int> ExitAsync()
    {
        await Process.WaitForExitAsync(Cancel).WaitAsync(Patience, Cancel);
        return Process.ExitCode;
    }

    public void Dispose()
    {
        if (!Process.HasExited)
            Process.Kill(entireProcessTree: true);
        Process.WaitForExit();
        Process.Dispose();
        client.Dispose();
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
