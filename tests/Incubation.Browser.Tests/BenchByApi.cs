using System.Globalization;
using System.Net.Http.Json;
using System.Text.Json.Nodes;

namespace Incubation.Browser.Tests;

/// <summary>
/// Says things to a bench as a program does, at times that lie in the past: windows open and close at once, at the real
/// pace.
/// </summary>
internal sealed class BenchByApi(ServerProcess server)
{
    private const string Address = "api/v1/benches/bench-1";

    public async Task<JsonNode> Snapshot(CancellationToken cancel)
    {
        using var client = await server.ClientAs("lena", cancel);
        return JsonNode.Parse(await client.GetStringAsync(new Uri(Address, UriKind.Relative), cancel))!;
    }

    /// <summary>Says something that must be recorded.</summary>
    public async Task Say(string kind, TimeSpan ago, CancellationToken cancel, string? request = null,
        int? slot = null, int? reader = null, string? lot = null, string? reason = null,
        string? words = null, bool? anyway = null)
    {
        using var client = await server.ClientAs("lena", cancel);
        var now = DateTimeOffset.Parse((await Snapshot(cancel))["serverTime"]!.GetValue<string>(),
            CultureInfo.InvariantCulture);
        using var answer = await client.PostAsJsonAsync(new Uri(Address + "/commands", UriKind.Relative), new
        {
            id = Guid.NewGuid().ToString("N"),
            kind,
            at = (now - ago).UtcDateTime.ToString("O", CultureInfo.InvariantCulture),
            stated = true,
            device = "test",
            request,
            slot,
            reader,
            lot,
            reason,
            words,
            anyway,
        }, cancel);
        var said = JsonNode.Parse(await answer.Content.ReadAsStringAsync(cancel))!;
        if (!answer.IsSuccessStatusCode || !said["recorded"]!.GetValue<bool>())
            throw new InvalidOperationException($"{kind}: {said.ToJsonString()}");
    }

    /// <summary>
    /// Reports a cartridge as mixed just now and, by a time that is stated, as loaded so long ago: its mixture is never
    /// too old.
    /// </summary>
    public async Task Loaded(string request, int slot, TimeSpan ago, CancellationToken cancel)
    {
        await Say("mixed", TimeSpan.Zero, cancel, request);
        await Say("loaded", ago, cancel, request, slot);
    }
}
