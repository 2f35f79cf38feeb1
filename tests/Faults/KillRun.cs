using System.Globalization;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Records;
using Incubation.TestKit;

namespace Incubation.Faults;

/// <summary>
/// The real program on a real file, under two simulated aides who report over HTTP without a pause, killed with signal
/// 9 at random moments: after each kill everything that was acknowledged is in the log once, before what comes after
/// it, and the log is whole.
/// </summary>
internal sealed class KillRun : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-kills-").FullName;
    private readonly SeededRandom random;
    private readonly Uri address = new("http://127.0.0.1:" + ProgramProcess.FreePort()
        .ToString(CultureInfo.InvariantCulture));
    private readonly KilledLog log = new();
    private int said;

    private KillRun(ulong seed) => random = new SeededRandom(seed);

    private string Data => Path.Combine(folder, "incubation.db");

    /// <summary>
    /// Kills the program so many times; what was wrong afterwards, and how many reports were acknowledged.
    /// </summary>
    public static async Task<(IReadOnlyList<string> Faults, int Acknowledged)> RunAsync(int kills, ulong seed,
        CancellationToken cancel)
    {
        using var run = new KillRun(seed);
        for (var kill = 1; kill <= kills; kill++)
            await run.OnceAsync(kill, cancel);
        return (run.log.Faults, run.log.Acknowledged.Count);
    }

    /// <inheritdoc/>
    public void Dispose() => Directory.Delete(folder, recursive: true);

    private async Task OnceAsync(int kill, CancellationToken cancel)
    {
        using (var program = await KilledProgram.StartAsync(Data, address, cancel))
        {
            await program.SignInAsync(cancel);
            await program.KillAmidAsync(log, random.Between(1, 25), random,
                stop => [AideAsync(program.Client, "tablet-1", stop), AideAsync(program.Client, "tablet-2", stop)],
                cancel);
        }

        using var file = DataFile.Open(Data);
        log.Compare(kill, file);
    }

    /// <summary>Reports what is offered, without a person's pauses, until the server is gone.</summary>
    private Task AideAsync(HttpClient client, string device, CancellationToken cancel) =>
        KilledProgram.UntilGoneAsync(async () =>
        {
            while (!cancel.IsCancellationRequested)
            {
                var snapshot = await client.GetFromJsonAsync<JsonElement>("/api/v1/benches/bench-1", cancel);
                var command = Next(snapshot, device);
                using var answer = await client.PostAsJsonAsync("/api/v1/benches/bench-1/commands", command, cancel);
                var heard = await answer.Content.ReadFromJsonAsync<JsonElement>(cancel);
                if (heard.TryGetProperty("recorded", out var recorded) && recorded.GetBoolean())
                    log.Acknowledged[(string)command["id"]!] = true;
            }
        });

    private Dictionary<string, object?> Next(JsonElement snapshot, string device)
    {
        var time = snapshot.GetProperty("serverTime").GetString();
        var command = new Dictionary<string, object?>
        {
            ["id"] = $"K{Interlocked.Increment(ref said).ToString(CultureInfo.InvariantCulture)}",
            ["at"] = time,
            ["stated"] = false,
            ["device"] = device,
        };
        var offers = snapshot.GetProperty("offers");
        if (snapshot.GetProperty("batch").GetProperty("phase").GetString() == "preparing")
            command["kind"] = "start-batch";
        else if (offers.GetArrayLength() > 0 && offers[0].GetProperty("kind").GetString() is "mix" or "load"
            or "card-change")
            Fill(command, offers[0]);
        else
            (command["kind"], command["hands"]) = ("not-begun", 1);
        return command;
    }

    private static void Fill(Dictionary<string, object?> command, JsonElement offer)
    {
        command["kind"] = offer.GetProperty("kind")
            .GetString() switch
        { "mix" => "mixed", "load" => "loaded", _ => "card-changed" };
        foreach (var member in new[] { "request", "slot", "reader", "lot" })
            if (offer.TryGetProperty(member, out var value) && value.ValueKind != JsonValueKind.Null)
                command[member] = value;
        if (command["kind"] is "loaded" && command.ContainsKey("slot"))
            command.Remove("reader");
    }
}
