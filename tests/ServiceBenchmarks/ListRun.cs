using System.Diagnostics;
using System.Globalization;
using System.Net.Http.Json;
using System.Text;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Incubation.TestKit;

namespace Incubation.ServiceBenchmarks;

/// <summary>How long a list of 500 lines takes, from its text to the bench, and into the worklist.</summary>
/// <param name="What">What was asked.</param>
/// <param name="Median">Median of the runs.</param>
/// <param name="Slowest">The slowest of them: the first, as a rule, whose code is not compiled yet.</param>
internal sealed partial record ListRun(string What, TimeSpan Median, TimeSpan Slowest)
{
    private const int Lines = 500;
    private const int MostLines = 10_000;
    private const int Runs = 5;
    private static readonly string[] Assays = ["DA", "DB", "DC", "DD"];
    private static readonly TimeSpan Patience = TimeSpan.FromMinutes(1);

    /// <summary>Starts the published server anew for each run, on an empty bench of the demo.</summary>
    /// <param name="dll">The server.</param>
    /// <param name="demo">The demo's folder.</param>
    /// <param name="work">Where its files are made.</param>
    public static async Task<IReadOnlyList<ListRun>> MeasureAsync(string dll, string demo, string work)
    {
        var empty = Path.Combine(work, "empty-demo");
        Directory.CreateDirectory(empty);
        foreach (var from in Directory.GetFiles(demo, "*.json"))
            File.Copy(from, Path.Combine(empty, Path.GetFileName(from)), overwrite: true);
        var morning = Path.Combine(empty, "morning.json");
        var day = JsonNode.Parse(await File.ReadAllTextAsync(morning))!;
        day["requests"] = new JsonArray();
        await File.WriteAllTextAsync(morning, day.ToJsonString());

        var all = new List<(string What, TimeSpan Length)>();
        for (var run = 0; run < Runs; run++)
        {
            var data = Path.Combine(work, string.Create(CultureInfo.InvariantCulture, $"list-{run}.db"));
            var address = "http://127.0.0.1:" + ProgramProcess.FreePort().ToString(CultureInfo.InvariantCulture);
            using var server = new ProgramProcess(dll, ["--demo", empty, "--data", data, "--urls", address]);
            using var client = new HttpClient { BaseAddress = new Uri(address) };
            await server.UntilAnsweredAsync<bool>(async limit =>
                (await client.GetAsync(new Uri("/health/ready", UriKind.Relative), limit)).IsSuccessStatusCode
                    ? true : null, Patience, CancellationToken.None);
            await SignInAsync(client, "lena");
            all.AddRange(await OnceAsync(client));
        }

        return [.. all.GroupBy(one => one.What).Select(same =>
        {
            var lengths = same.Select(one => one.Length).Order().ToList();
            return new ListRun(same.Key, lengths[lengths.Count / 2], lengths[^1]);
        })];
    }

    private static async Task<List<(string What, TimeSpan Length)>> OnceAsync(HttpClient client)
    {
        var measured = new List<(string, TimeSpan)>();
        async Task<JsonNode> AskAsync(string what, string path, object body)
        {
            var clock = Stopwatch.StartNew();
            using var answer = await client.PostAsJsonAsync(new Uri(path, UriKind.Relative), body);
            var said = await answer.Content.ReadFromJsonAsync<JsonNode>();
            measured.Add((what, clock.Elapsed));
            return answer.IsSuccessStatusCode ? said! : throw new InvalidOperationException(said!.ToString());
        }

        const string Rack = "/api/v1/benches/bench-1/rack";
        var read = await AskAsync("a list of 500 lines: read", Rack + "/read", new { text = TextOf("T", Lines) });
        var lines = read["lines"]!.AsArray();
        if (lines.Count != Lines)
            throw new InvalidOperationException(read["faults"]!.ToString());
        // As the browser's list names them.
        for (var line = 0; line < lines.Count; line++)
            lines[line]!["id"] = line.ToString(CultureInfo.InvariantCulture);
        var checkedLines = await AskAsync("the same: checked", Rack + "/check", new { lines });
        // What the demo's stock is short of is added all the same.
        foreach (var doubts in checkedLines["doubts"]!.AsArray().ToLookup(doubt => (string)doubt!["line"]!))
            lines.Single(line => (string)line!["id"]! == doubts.Key)!["settled"] =
                new JsonArray([.. doubts.Select(doubt => doubt!["code"]!.DeepClone())]);
        var added = await AskAsync("the same: on the bench", Rack, new { report = (string)read["report"]!, lines });
        if (!(bool)added["added"]!)
            throw new InvalidOperationException(added.ToString());

        var orders = (await AskAsync("500 orders: read", "/api/v1/worklist/read",
            new { text = TextOf("O", Lines) }))["orders"]!;
        await AskAsync("the same: in the worklist", "/api/v1/worklist", new { orders });
        await AskAsync("a list of 10,000 lines: refused", Rack + "/read", new { text = TextOf("M", MostLines) });
        return measured;
    }

    /// <summary>A list whose numbers differ in more than one character, so that none is asked about as alike.</summary>
    private static string TextOf(string prefix, int lines)
    {
        var text = new StringBuilder("specimen,assay,priority\r\n");
        for (var line = 0; line < lines; line++)
            text.Append(CultureInfo.InvariantCulture,
                $"{prefix}{line * 9973 % 1_000_000:000000}-{line * 7919 % 1_000_000:000000},{Assays[line % 4]},"
                + $"{(line % 20 == 0 ? "urgent" : "routine")}\r\n");
        return text.ToString();
    }

    /// <summary>By the button with which the demo signs its invented people in.</summary>
    private static async Task SignInAsync(HttpClient client, string person)
    {
        var page = new Uri("/sign-in", UriKind.Relative);
        var form = Forms().Matches(await client.GetStringAsync(page)).Select(one => one.Value)
            .Single(one => one.Contains($"value=\"{person}\"", StringComparison.Ordinal));
        using var fields = new FormUrlEncodedContent(Hidden().Matches(form)
            .Select(field => KeyValuePair.Create(field.Groups[1].Value, field.Groups[2].Value)));
        using var answer = await client.PostAsync(page, fields);
        answer.EnsureSuccessStatusCode();
    }

    [GeneratedRegex("<form.*?</form>", RegexOptions.Singleline)]
    private static partial Regex Forms();

    [GeneratedRegex("""<input type="hidden" name="([^"]+)" value="([^"]*)" ?/?>""")]
    private static partial Regex Hidden();
}
