using System.Globalization;
using System.Net;
using System.Text.Json;
using Incubation.Records.Backup;
using Incubation.TestKit;

namespace Incubation.Hostile;

/// <summary>
/// The real program in a process of its own with 400 MB of heap, on a file in which everybody is enrolled.
/// </summary>
internal sealed class AttackedServer : IAsyncDisposable
{
    /// <summary>What every page, file and export answers within.</summary>
    public static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    private const string HeapLimit = "0x18000000";
    private readonly string folder;
    private readonly bool demo;
    private readonly Uri address =
        new("http://127.0.0.1:" + ProgramProcess.FreePort().ToString(CultureInfo.InvariantCulture));
    private ProgramProcess program;
    private int calls;
    private int seen;

    private AttackedServer(string folder, bool demo, IReadOnlyList<Caller> callers, IReadOnlyList<Address> addresses)
    {
        (this.folder, this.demo, Everybody, Addresses) = (folder, demo, callers, addresses);
        Clients = Callers.Clients(address, Patience);
        program = Start();
    }

    /// <summary>Everybody who can say something.</summary>
    public IReadOnlyList<Caller> Everybody { get; }

    /// <summary>Everywhere where something can be said.</summary>
    public IReadOnlyList<Address> Addresses { get; }

    /// <summary>Clients from many places, so that no limit of one place is met by chance.</summary>
    public IReadOnlyList<HttpClient> Clients { get; }

    /// <summary>What the program has printed.</summary>
    public string Output => program.Output;

    private string Data => Path.Combine(folder, "incubation.db");

    /// <summary>Prepares a file and starts the program on it.</summary>
    /// <param name="fill">Puts something into the new file first; null for the demo's clinic.</param>
    public static async Task<AttackedServer> StartAsync(Action<string>? fill = null)
    {
        var folder = Directory.CreateTempSubdirectory("incubation-attacked-").FullName;
        var data = Path.Combine(folder, "incubation.db");
        fill?.Invoke(data);
        IReadOnlyList<Caller> callers;
        IReadOnlyList<Address> addresses;
        await using (var house = await House.OpenAsync(data, time: null, demo: fill is null))
        {
            callers = Callers.Of(house);
            addresses = Address.Of(house.Endpoints());
        }

        var server = new AttackedServer(folder, fill is null, callers, addresses);
        await server.ReadyAsync();
        return server;
    }

    /// <summary>One of those who can say something.</summary>
    public Caller By(string name) => Everybody.First(caller => caller.Name == name);

    /// <summary>Sends something from the next place.</summary>
    public Task<HttpResponseMessage> SendAsync(Caller caller, HttpMethod method, string path, string? json = null,
        HttpCompletionOption until = HttpCompletionOption.ResponseContentRead) =>
        Clients[++calls % Clients.Count].SendAsync(Callers.Request(caller, method, path, json), until);

    /// <summary>Reads an answer of the API as JSON; null where it is none.</summary>
    public async Task<JsonElement?> JsonAsync(Caller caller, string path)
    {
        using var answer = await SendAsync(caller, HttpMethod.Get, path);
        if (answer.StatusCode != HttpStatusCode.OK)
            return null;
        using var document = JsonDocument.Parse(await answer.Content.ReadAsStringAsync());
        return document.RootElement.Clone();
    }

    /// <summary>
    /// Asks until something is so; false where it does not come to be. An answer that is too slow is asked for again.
    /// </summary>
    public async Task<bool> ComesToBeAsync(Func<Task<bool>> ask)
    {
        try
        {
            return await program.UntilAnsweredAsync<bool>(async _ =>
            {
                try
                {
                    return await ask() ? true : null;
                }
                catch (TaskCanceledException)
                {
                    return null;
                }
            }, TestKit.Patience.Usual, CancellationToken.None);
        }
        catch (TimeoutException)
        {
            return false;
        }
    }

    /// <summary>What the program has logged as an error since the last look.</summary>
    public IReadOnlyList<string> NewFaults()
    {
        var output = program.Output;
        var added = output[Math.Min(seen, output.Length)..];
        seen = output.Length;
        var lines = added.Split('\n');
        // That the service is not well it says at its own address, which is looked at after each case.
        return [.. lines.Select((line, at) => (line, at)).Where(one =>
            (one.line.StartsWith("fail:", StringComparison.Ordinal)
                || one.line.StartsWith("crit:", StringComparison.Ordinal)
                || one.line.Contains("Unhandled", StringComparison.Ordinal))
            && !one.line.Contains("HealthCheckService", StringComparison.Ordinal))
            .Select(one => string.Join('\n', lines.Skip(one.at).Take(8)))];
    }

    /// <summary>Whether the process has ended by itself.</summary>
    public bool IsGone => program.Process.HasExited;

    /// <summary>What the process holds of the machine's memory, in bytes.</summary>
    public long Memory
    {
        get
        {
            program.Process.Refresh();
            return program.Process.WorkingSet64;
        }
    }

    /// <summary>Where it listens.</summary>
    public Uri Place => address;

    /// <summary>Kills the program and starts it anew on what is in its file.</summary>
    public async Task RestartAsync()
    {
        await program.KillAsync(CancellationToken.None);
        program.Dispose();
        program = Start();
        seen = 0;
        await ReadyAsync();
    }

    /// <summary>A copy is verified and its whole record replayed; throws with a sentence where it does not.</summary>
    public void VerifyByReplay()
    {
        var copy = Path.Combine(folder, "copy.db");
        DataBackup.Make(Data, copy);
        File.Delete(copy);
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        foreach (var client in Clients)
            client.Dispose();
        if (!program.Process.HasExited)
            await program.KillAsync(CancellationToken.None);
        program.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    private ProgramProcess Start() => new(typeof(Server.Hosting.ServerHost).Assembly.Location,
        ["--data", Data, "--urls", address.ToString().TrimEnd('/'), .. demo ? new[] { "--demo", House.Demo } : []],
        start => start.Environment["DOTNET_GCHeapHardLimit"] = HeapLimit);

    private async Task ReadyAsync() => await program.UntilAnsweredAsync<HttpStatusCode>(async cancel =>
    {
        using var answer = await Clients[0].GetAsync(new Uri("/health/live", UriKind.Relative), cancel);
        return answer.StatusCode;
    }, TimeSpan.FromSeconds(300), CancellationToken.None);
}
