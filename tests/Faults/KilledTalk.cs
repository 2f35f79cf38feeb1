using System.Globalization;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults;

/// <summary>What people say to a program that is killed: each command until it is answered, and counted then.</summary>
/// <param name="log">Counts what was acknowledged.</param>
/// <param name="bench">The bench that they speak to.</param>
internal sealed class KilledTalk(KilledLog log, string bench) : IDisposable
{
    private readonly SemaphoreSlim hands = new(1, 1);
    private int said;

    /// <summary>A name that no other command or request has.</summary>
    public ReportId NewReport() =>
        new($"K{Interlocked.Increment(ref said).ToString(CultureInfo.InvariantCulture)}");

    /// <summary>Who says something that is written into the file itself.</summary>
    public Provenance By(string person)
    {
        var now = SystemClock.Instance.GetCurrentInstant();
        return new Provenance(NewReport(), now, now, new PersonId(person), new DeviceId("office"));
    }

    /// <inheritdoc/>
    public void Dispose() => hands.Dispose();

    /// <summary>
    /// Runs cartridges one after the other until the program is gone, and says of each what is to be said of its
    /// result; only one pair of hands is at a cartridge at a time.
    /// </summary>
    /// <param name="client">Who speaks.</param>
    /// <param name="slot">The slot of these hands.</param>
    /// <param name="next">Makes the next one: its request, as it is put on the bench.</param>
    /// <param name="decide">What is said of it once it was cleared.</param>
    /// <param name="cancel">Ends it.</param>
    public Task WorkAsync<T>(HttpClient client, int slot, Func<(T One, string Request, object Wanted)> next,
        Func<T, Task> decide, CancellationToken cancel) => KilledProgram.UntilGoneAsync(async () =>
        {
            await SayAsync(client, "start-batch", [], cancel);
            while (!cancel.IsCancellationRequested)
            {
                T one;
                await hands.WaitAsync(cancel);
                try
                {
                    (one, var request, var wanted) = next();
                    await AskAsync(client, wanted, cancel);
                    await RunAsync(client, request, slot, cancel);
                }
                finally
                {
                    hands.Release();
                }

                await decide(one);
            }
        });

    /// <summary>Puts a request on the bench.</summary>
    private async Task AskAsync(HttpClient client, object request, CancellationToken cancel)
    {
        using var answer = await client.PostAsJsonAsync($"/api/v1/benches/{bench}/requests",
            new { requests = new[] { request } }, cancel);
        if (!answer.IsSuccessStatusCode)
            throw new InvalidOperationException(await answer.Content.ReadAsStringAsync(cancel));
    }

    /// <summary>Reports a cartridge's way as quickly as can be told: it is read far too early.</summary>
    private async Task RunAsync(HttpClient client, string request, int slot, CancellationToken cancel)
    {
        foreach (var (kind, place) in new[] { ("mixed", ""), ("loaded", "slot"), ("read-started", "reader"),
            ("cleared", "reader") })
            await SayAsync(client, kind, [("request", request), (place, place == "slot" ? slot : 1)], cancel);
    }

    /// <summary>
    /// Says something until it is recorded; that it was refused is a fault, but for a batch that runs already.
    /// </summary>
    public async Task SayAsync(HttpClient client, string kind, IEnumerable<(string Name, object Value)> members,
        CancellationToken cancel)
    {
        var id = NewReport().Value;
        var command = members.Where(member => member.Name.Length > 0).ToDictionary(member => member.Name,
            member => member.Value);
        (command["id"], command["kind"], command["device"], command["stated"]) = (id, kind, "tablet-1", false);
        while (true)
        {
            command["at"] = NodaTime.Text.InstantPattern.ExtendedIso.Format(
                SystemClock.Instance.GetCurrentInstant());
            using var answer = await client.PostAsJsonAsync($"/api/v1/benches/{bench}/commands", command, cancel);
            var heard = await answer.Content.ReadFromJsonAsync<JsonElement>(cancel);
            switch (heard.GetProperty("kind").GetString())
            {
                case "recorded":
                    log.Acknowledged[id] = true;
                    return;
                case "refused" when kind != "start-batch":
                    log.Add($"{kind} was refused: {heard.GetProperty("sentence").GetString()}");
                    return;
                case "refused":
                    return;
            }
        }
    }
}
