using System.Globalization;
using System.Net.Http.Json;
using System.Text.Json;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>A list for several benches, whose server is killed while it puts it on one after the other.</summary>
public sealed class RackKillTest(Browser browser)
{
    /// <summary>So often it is tried to hit the middle; whatever is hit must end with all, once.</summary>
    private const int MostTries = 6;

    /// <summary>A bench, and the tubes that are for it: no two are alike, so that nothing is asked.</summary>
    private static readonly (string Bench, string[] Tubes)[] Parts =
    [
        ("bench-1", ["ALDER", "BIRCH"]), ("bench-2", ["CEDAR"]), ("bench-3", ["HAZEL"]), ("bench-4", ["LARCH"]),
    ];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task List_ForFourBenches_WhoseServerIsKilledInTheMiddle_EndsWithAllOnce()
    {
        await using var server = await ServerProcess.StartDemo(Cancel, ["R06"]);
        await OpenBenchesAsync(server);
        using var client = await server.ClientAs("lena", Cancel);
        for (var tried = 1; ; tried++)
        {
            Assert.True(tried <= MostTries, "The list was never cut in the middle.");
            var report = string.Create(CultureInfo.InvariantCulture, $"file-{tried}");
            var name = new string((char)('A' + tried), 4) + "-";
            // Cut off by the kill, whatever it answers.
            var sent = client.PostAsJsonAsync(Rack, ListOf(report, name), Cancel);
            while (!sent.IsCompleted && (await TubesAsync(client, name)).Count == 0)
                Cancel.ThrowIfCancellationRequested();
            await server.Kill(Cancel);
            await Task.WhenAny(sent);
            await server.Start(Cancel);
            var left = (await TubesAsync(client, name)).Count;

            // Sent again, and once more.
            for (var again = 0; again < 2; again++)
            {
                using var answer = await client.PostAsJsonAsync(Rack, ListOf(report, name), Cancel);
                var said = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
                Assert.True(said.GetProperty("added").GetBoolean(), said.ToString());
                Assert.Equal(
                    Parts.SelectMany(part => part.Tubes.Select(tube => $"{part.Bench} {name}{tube}")),
                    await TubesAsync(client, name));
            }

            if (left is > 0 and < 5)
                break;
        }
    }

    private static Uri Rack => new("api/v1/benches/bench-1/rack", UriKind.Relative);

    private static object ListOf(string report, string name) => new
    {
        report,
        lines = Parts.SelectMany(part => part.Tubes.Select(tube => new
        {
            id = tube,
            specimen = name + tube,
            assays = new[] { "DA" },
            bench = part.Bench,
        })),
    };

    /// <summary>Bench and specimen of each request of a list, as often as it stands there.</summary>
    private static async Task<IReadOnlyList<string>> TubesAsync(HttpClient client, string name)
    {
        using var waiting = JsonDocument.Parse(
            await client.GetStringAsync(new Uri("api/v1/waiting", UriKind.Relative), Cancel));
        return [.. waiting.RootElement.GetProperty("waiting").EnumerateArray()
            .Select(line => (Bench: line.GetProperty("bench").GetString(),
                Tube: line.GetProperty("specimen").GetString()!))
            .Where(line => line.Tube.StartsWith(name, StringComparison.Ordinal))
            .Select(line => $"{line.Bench} {line.Tube}").Order(StringComparer.Ordinal)];
    }

    private async Task OpenBenchesAsync(ServerProcess server)
    {
        var page = await browser.Open(1280, 800);
        await server.SignIn(page, "ines", Cancel);
        for (var number = 2; number <= Parts.Length; number++)
        {
            await page.GotoAsync(new Uri(server.Address, "benches/new").ToString());
            await page.Locator("#bench-name").FillAsync(string.Create(CultureInfo.InvariantCulture, $"Bench {number}"));
            await page.Locator("form.panel button[type=submit]").ClickAsync();
            await Assertions.Expect(page.Locator($"a[href*='bench-{number}']").First).ToBeVisibleAsync();
        }
    }
}
