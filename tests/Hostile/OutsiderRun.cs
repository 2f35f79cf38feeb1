using System.Globalization;
using System.Net;
using System.Text.Json;
using Incubation.TestKit;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Hostile;

/// <summary>
/// What was once seen to stop a bench, spoil its record or fill the memory, said again by somebody outside who knows
/// nothing of the program but its addresses.
/// </summary>
internal sealed class OutsiderRun(AttackedServer server, TextWriter output)
{
    private const string Bench = "/api/v1/benches/bench-1";
    private const long MostMemory = 700_000_000;
    private const int LongName = 990_000;
    private static readonly string[] Standing = ["offers", "upcoming", "notPlanned"];
    private readonly HttpRun looks = new(server);
    private readonly List<string> findings = [];

    private static Instant Now => SystemClock.Instance.GetCurrentInstant();

    /// <summary>Says all of it; 0 where nothing was found, else 1.</summary>
    public static async Task<int> RunAsync(TextWriter output)
    {
        await using var server = await AttackedServer.StartAsync();
        var run = new OutsiderRun(server, output);
        await run.looks.BeginAsync();
        await run.TimesOfReportsAsync();
        await run.TimesOfInstructionsAsync();
        await run.TimesOfRequestsAsync();
        await run.LongNamesAsync();
        await run.looks.PlayAsync(0, 0, 1);
        run.findings.AddRange(run.looks.Findings);
        foreach (var finding in run.findings)
            await output.WriteLineAsync("FOUND " + finding);
        await output.WriteLineAsync(run.findings.Count == 0 ? "Nothing found." : $"{run.findings.Count} found.");
        return run.findings.Count == 0 ? 0 : 1;
    }

    /// <summary>A tablet's clock stands at 1970, in a year that no calendar has, or far ahead.</summary>
    private async Task TimesOfReportsAsync()
    {
        var waiting = await RequestsAsync();
        var times = new[] { "1970-01-01T00:00:00Z", "0001-01-01T00:00:00Z", "-9998-01-01T00:00:00Z",
            "2262-04-11T23:47:17Z", "9999-12-31T23:59:59Z", "1677-01-01T00:00:00Z", "NaN", "" };
        foreach (var (at, request) in times.Zip(waiting.Concat(waiting).Skip(3)))
        {
            var answer = await SayAsync("locked tablet", "mixed", at, request);
            if (!answer.Recorded)
                findings.Add($"a report at \"{at}\" is not recorded: {answer.Sentence}");
            await looks.LookAsync($"mixed at \"{at}\"", 12);
        }

        await looks.LookAsync("reports at impossible times", 60);
        await output.WriteLineAsync("Reports at impossible times: recorded, and pages answer.");
    }

    /// <summary>Requests are put off to where no plan can go, and then withdrawn.</summary>
    private async Task TimesOfInstructionsAsync()
    {
        foreach (var then in new[] { "2262-04-11T23:47:16Z", "2262-04-11T23:47:17Z", "9999-12-31T23:59:59Z",
            "0001-01-01T00:00:00Z", "-9998-01-01T00:00:00Z" })
        {
            var request = (await RequestsAsync())[^1];
            if ((await SayAsync("aide", "ready", Text(Now), request, $",\"then\":\"{then}\"")).Recorded)
                findings.Add($"a request is ready at {then}");
            await SayAsync("aide", "withdraw", Text(Now), request);
            await looks.LookAsync($"ready at {then}, then withdrawn", 12);
        }

        await PlannedAsync("after instructions");
        await output.WriteLineAsync("Instructions to impossible times: refused, and the bench plans.");
    }

    private async Task TimesOfRequestsAsync()
    {
        foreach (var member in new[] { "ready", "due", "loadBy", "collected", "takenOut" })
            foreach (var time in new[] { "0001-01-01T00:00:00Z", "-9998-01-01T00:00:00Z", "2262-04-11T23:47:17Z",
                "9999-12-31T23:59:59Z" })
            {
                using var answer = await server.SendAsync(server.By("key: Requests"), HttpMethod.Post,
                    Bench + "/requests",
                    $$"""{"requests":[{"specimen":"SP-9","assay":"DA","{{member}}":"{{time}}"}]}""");
                if (answer.StatusCode != HttpStatusCode.BadRequest)
                    findings.Add($"a request with {member} {time} is answered {(int)answer.StatusCode}");
            }

        var many = string.Join(',', Enumerable.Repeat("\"R01\"", 60_000));
        using (var answer = await server.SendAsync(server.By("key: Requests"), HttpMethod.Post, Bench + "/requests",
            $$"""{"requests":[{"specimen":"SP-9","assay":"DA","after":[{{many}}]}]}"""))
            if (answer.StatusCode == HttpStatusCode.Created
                || (await answer.Content.ReadAsByteArrayAsync()).Length > 20_000)
                findings.Add("a list of 60,000 requests before is taken, or answered at length");
        await PlannedAsync("after requests");
        await output.WriteLineAsync("Requests at impossible times: refused, and the bench plans.");
    }

    /// <summary>Strangers send names of 990 kB, each another, from many places.</summary>
    private async Task LongNamesAsync()
    {
        var clients = Callers.Clients(server.Place, AttackedServer.Patience, cookies: true);
        for (var time = 0; time < 160; time++)
        {
            var name = time.ToString(CultureInfo.InvariantCulture) + new string('n', LongName);
            var (page, fields) = (time % 2) switch
            {
                0 => ("/welcome", new KeyValuePair<string, string>[] { new("Form.Name", name), new("Form.Code", "1") }),
                _ => ("/sign-in", [new("Form.Name", name), new("Form.Password", "x")]),
            };
            try
            {
                using var answer = await SignIn.FillInAsync(clients[time % clients.Count], page, fields,
                    CancellationToken.None);
                if ((int)answer.StatusCode >= 500)
                    findings.Add($"a long name at {page} is answered {(int)answer.StatusCode}");
            }
            catch (HttpRequestException)
            {
                // Too long: the line is closed before all of it was sent.
            }
        }

        foreach (var client in clients)
            client.Dispose();
        if (server.Memory > MostMemory)
            findings.Add($"long names of strangers: the process holds {server.Memory / 1_000_000} MB");
        await looks.LookAsync("long names of strangers", 12);
        await output.WriteLineAsync($"Long names of strangers: the process holds {server.Memory / 1_000_000} MB.");
    }

    /// <summary>An urgent request stands somewhere, or the alarm that means it says why not.</summary>
    private async Task PlannedAsync(string after)
    {
        string request;
        using (var answer = await server.SendAsync(server.By("key: Requests"), HttpMethod.Post, Bench + "/requests",
            """{"requests":[{"specimen":"SP-8","assay":"DA","priority":"urgent"}]}"""))
        {
            if (answer.StatusCode != HttpStatusCode.Created)
            {
                findings.Add($"{after}: an urgent request is answered {(int)answer.StatusCode}");
                return;
            }

            using var document = JsonDocument.Parse(await answer.Content.ReadAsStringAsync());
            request = document.RootElement.GetProperty("ids")[0].GetString()!;
        }

        if (!await server.ComesToBeAsync(async () =>
            await server.JsonAsync(server.By(Callers.Supervisor), Bench) is { } shown && IsPlanned(shown, request)))
            findings.Add($"{after}: an urgent request stands nowhere, and no alarm says why");
    }

    private static bool IsPlanned(JsonElement shown, string request) =>
        Standing.Any(list => shown.GetProperty(list).EnumerateArray()
            .Any(row => row.GetProperty("request").GetString() == request))
        || shown.GetProperty("alarms").EnumerateArray().Select(alarm => alarm.GetProperty("id").GetString()!)
            .Any(id => id == "set-aside/" + request || id.StartsWith("cannot-plan", StringComparison.Ordinal));

    private async Task<IReadOnlyList<string>> RequestsAsync() =>
        await server.JsonAsync(server.By(Callers.Supervisor), Bench) is { } snapshot
            ? [.. snapshot.GetProperty("labels").EnumerateArray()
                .Select(label => label.GetProperty("request").GetString()!)]
            : ["R01"];

    private async Task<(bool Recorded, string? Sentence)> SayAsync(string caller, string kind, string at,
        string request, string more = "")
    {
        using var answer = await server.SendAsync(server.By(caller), HttpMethod.Post, Bench + "/commands",
            $$"""
            {"id":"{{Guid.NewGuid():N}}","kind":"{{kind}}","at":"{{at}}","stated":false,"device":"t","locked":false,
            "request":"{{request}}"{{more}}}
            """);
        var text = await answer.Content.ReadAsStringAsync();
        if (answer.StatusCode != HttpStatusCode.OK)
            return (false, text);
        using var document = JsonDocument.Parse(text);
        return (document.RootElement.GetProperty("recorded").GetBoolean(),
            document.RootElement.GetProperty("sentence").GetString());
    }

    private static string Text(Instant instant) => InstantPattern.ExtendedIso.Format(instant);
}
