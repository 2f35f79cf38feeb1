using System.Globalization;
using System.Net;
using System.Text.Json;
using Incubation.TestKit;

namespace Incubation.Server.Tests;

/// <summary>The real program in a process of its own, on one data file.</summary>
internal sealed class ServiceProcess : IDisposable
{
    private readonly ProgramProcess program;
    private readonly HttpClient client;

    public ServiceProcess(string dataFile, IReadOnlyDictionary<string, string>? variables = null, params string[] more)
    {
        Address = "http://127.0.0.1:" + ProgramProcess.FreePort().ToString(CultureInfo.InvariantCulture);
        client = new HttpClient { BaseAddress = new Uri(Address) };
        program = new ProgramProcess(Dll, ["--data", dataFile, "--urls", Address, .. more], start =>
        {
            foreach (var (name, value) in variables ?? new Dictionary<string, string>())
                start.Environment[name] = value;
        });
    }

    /// <summary>The program as built for this configuration, beside these tests.</summary>
    public static string Dll => Path.Combine(
        ServerFactory.Checkout(), "src", "Incubation.Server", "bin",
            new DirectoryInfo(AppContext.BaseDirectory).Parent!.Name, "net10.0", "Incubation.Server.dll");

    public string Address { get; }

    public string Output => program.Output;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    /// <summary>Waits until the server answers, and returns what it says about its readiness.</summary>
    public Task<(HttpStatusCode Status, JsonElement Body)> ReadyAsync() =>
        program.UntilAnsweredAsync<(HttpStatusCode, JsonElement)>(async _ => await GetAsync("/health/ready"),
            Patience.Usual, Cancel);

    public async Task<(HttpStatusCode Status, JsonElement Body)> GetAsync(string path)
    {
        using var answer = await client.GetAsync(path, Cancel);
        using var body = JsonDocument.Parse(await answer.Content.ReadAsStringAsync(Cancel));
        return (answer.StatusCode, body.RootElement.Clone());
    }

    /// <summary>Asks it to stop, as a service manager does, and returns its exit code.</summary>
    public async Task<int> TerminateAsync()
    {
        program.Terminate();
        return await ExitAsync();
    }

    public Task KillAsync() => program.KillAsync(Cancel).WaitAsync(Patience.Usual, Cancel);

    public async Task<int> ExitAsync()
    {
        await program.Process.WaitForExitAsync(Cancel).WaitAsync(Patience.Usual, Cancel);
        return program.Process.ExitCode;
    }

    public void Dispose()
    {
        program.Dispose();
        client.Dispose();
    }
}
