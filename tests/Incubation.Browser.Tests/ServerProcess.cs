using System.Globalization;
using System.Net;
using Incubation.TestKit;

namespace Incubation.Browser.Tests;

/// <summary>The real server in a process of its own, on a real data file, that can be killed and started again.</summary>
internal sealed class ServerProcess : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);
    private readonly string folder;
    private readonly string demo;
    private readonly string[] options;
    private ProgramProcess? process;

    private ServerProcess(string folder, string demo, int port, string[] options)
    {
        this.folder = folder;
        this.demo = demo;
        this.options = options;
        Address = new Uri(string.Create(CultureInfo.InvariantCulture, $"http://127.0.0.1:{port}/"));
    }

    public Uri Address { get; }

    /// <summary>Starts the demo on an empty data folder.</summary>
    /// <param name="cancel">Ends the wait.</param>
    /// <param name="requests">Only these of the demo's requests, all ready at the start; null for the whole morning.</param>
    /// <param name="options">Further options of the command line.</param>
    public static async Task<ServerProcess> StartDemo(CancellationToken cancel, string[]? requests = null, params string[] options)
    {
        var folder = Directory.CreateTempSubdirectory("incubation-browser-").FullName;
        var demo = requests is null ? Repository.Demo : ShortMorning.Write(Path.Combine(folder, "demo"), requests);
        var server = new ServerProcess(folder, demo, ProgramProcess.FreePort(), options);
        await server.Start(cancel);
        return server;
    }

    public async Task Start(CancellationToken cancel)
    {
        string[] arguments =
        [
            "--demo", demo, "--data", Path.Combine(folder, "incubation.db"),
            "--urls", Address.GetLeftPart(UriPartial.Authority), .. options,
        ];
        process = new ProgramProcess(Repository.ServerDll, arguments, start => start.WorkingDirectory = folder);
        using var client = new HttpClient { BaseAddress = Address };
        await process.UntilAnsweredAsync<HttpStatusCode>(async limit =>
        {
            using var answer = await client.GetAsync(new Uri("api/v1/benches", UriKind.Relative), limit);
            return answer.StatusCode == HttpStatusCode.OK ? answer.StatusCode : null;
        }, Patience, cancel);
    }

    /// <summary>kill -9: no chance to tidy up.</summary>
    public async Task Kill(CancellationToken cancel)
    {
        await process!.KillAsync(cancel);
        process.Dispose();
        process = null;
    }

    public ValueTask DisposeAsync()
    {
        process?.Dispose();
        Directory.Delete(folder, recursive: true);
        return ValueTask.CompletedTask;
    }
}
