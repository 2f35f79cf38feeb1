using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using NodaTime;

namespace Incubation.Hostile;

/// <summary>Cases over HTTP against the real program; after each, what it still answers.</summary>
internal sealed class HttpRun(AttackedServer server)
{
    /// <summary>Looks after each case; all of them after each fiftieth.</summary>
    private const int LooksAfterEach = 4;

    private const int AllAfter = 50;
    private const long MostOfAPage = 20_000_000;

    /// <summary>What answers anybody, signed in or not, and says in its answer what it did not accept.</summary>
    private static readonly string[] OpenToAnybody = ["/time", "/passkeys/sign-in/ask", "/passkeys/sign-in"];

    private readonly List<string> findings = [];
    private readonly Dictionary<int, int> statuses = [];
    private int turn;
    private int slowOnce;
    private string lastReport = "x";
    private Known known = new([], SystemClock.Instance.GetCurrentInstant());

    /// <summary>What must not be.</summary>
    public IReadOnlyList<string> Findings => findings;

    /// <summary>
    /// How many answers of which status cases were given, and how many looks took longer than they may at first: on a
    /// machine with other work each is made once more.
    /// </summary>
    public string Statuses => string.Join(", ", statuses.OrderBy(status => status.Key)
        .Select(status => string.Create(CultureInfo.InvariantCulture, $"{status.Key} x {status.Value}")))
        + string.Create(CultureInfo.InvariantCulture, $"; slow once: {slowOnce}");

    /// <summary>Everything that can be looked at, plainly.</summary>
    private List<string> Looks { get; } =
    [
        .. server.Addresses.Where(address => address.IsLook).Select(address =>
            new HttpCase(0, address with { Query = [] }, Callers.Administrator, 1, [])
                .Path(new Known(["R01"], Instant.FromUnixTimeSeconds(0)))),
        "/api/v1/benches/bench-1?layout=portrait", "/api/v1/benches/bench-1?layout=narrow",
        "/api/v1/benches/bench-1?layout=wall", "/api/v1/benches/bench-1/events?limit=500", "/openapi/v1.json",
        "/record?order=oldest", "/reports?day=2026-03-02", "/reports/time-by-assay.csv", "/benches/bench-1/labels",
    ];

    /// <summary>Brings the bench into the middle of a batch, as people do.</summary>
    public async Task BeginAsync()
    {
        await SayAsync("start-batch");
        await RefreshAsync();
        foreach (var (request, place) in known.Requests.Take(2).Zip([1, 2]))
        {
            await SayAsync("mixed", $",\"request\":\"{request}\"");
            await SayAsync("loaded", string.Create(CultureInfo.InvariantCulture,
                $",\"request\":\"{request}\",\"slot\":{place}"));
        }
    }

    /// <summary>Plays cases; stops at the first finding where that is wanted.</summary>
    public async Task PlayAsync(int first, int count, ulong seed)
    {
        var names = server.Everybody.Select(caller => caller.Name).ToList();
        for (var number = first; number < first + count && findings.Count == 0; number++)
        {
            if (number % 25 == 24)
                await ReviveAsync();
            await RefreshAsync();
            var one = HttpCase.Draw(number, seed, server.Addresses, names, known.Now);
            await PlayAsync(one);
            await LookAsync(one.ToString(), number % AllAfter == AllAfter - 1 ? Looks.Count : LooksAfterEach);
        }

        if (findings.Count > 0)
            return;
        await LookAsync("at the end", Looks.Count);
        await RestartAndCompareAsync();
    }

    /// <summary>Every page, file and export once, from whoever may see all.</summary>
    public async Task LookAsync(string after, int many)
    {
        for (var look = 0; look < many; look++)
            await LookAtAsync(Looks[turn++ % Looks.Count], after);
        foreach (var fault in server.NewFaults())
            findings.Add($"{after}: logged: {fault}");
        if (server.IsGone)
            findings.Add($"{after}: the program has ended: {server.Output[^Math.Min(2000, server.Output.Length)..]}");
        else
            await HealthAsync(after);
    }

    private async Task PlayAsync(HttpCase one)
    {
        try
        {
            using var answer = await server.SendAsync(server.By(one.Caller), new HttpMethod(one.To.Method),
                one.Path(known), one.Body(known));
            statuses[(int)answer.StatusCode] = statuses.GetValueOrDefault((int)answer.StatusCode) + 1;
            if (one.Caller == Callers.Inspector && one.To.Body is not null && answer.IsSuccessStatusCode
                && !OpenToAnybody.Any(open => one.To.Pattern.EndsWith(open, StringComparison.Ordinal)))
                findings.Add($"{one}: taken from somebody who may only read");
            if ((int)answer.StatusCode >= 500 && !one.To.Pattern.StartsWith("/health", StringComparison.Ordinal))
                findings.Add($"{one}: answered {(int)answer.StatusCode} {await TextAsync(answer)}");
        }
        catch (Exception fault) when (fault is HttpRequestException or OperationCanceledException)
        {
            findings.Add($"{one}: {fault.Message}");
        }
    }

    private async Task LookAtAsync(string path, string after, bool again = false)
    {
        var begun = Stopwatch.GetTimestamp();
        try
        {
            using var answer = await server.SendAsync(server.By(Callers.Administrator), HttpMethod.Get, path,
                until: HttpCompletionOption.ResponseHeadersRead);
            await using var body = await answer.Content.ReadAsStreamAsync();
            var buffer = new byte[64 * 1024];
            var length = 0L;
            for (int read; (read = await body.ReadAsync(buffer)) > 0;)
                length += read;
            var isHealth = path.StartsWith("/health", StringComparison.Ordinal);
            if ((int)answer.StatusCode >= 500 && !isHealth)
                findings.Add($"{after}: {path} answers {(int)answer.StatusCode}");
            if (length > MostOfAPage && !IsExport(path))
                findings.Add($"{after}: {path} has {length} bytes");
            if (Stopwatch.GetElapsedTime(begun) is var took && took > AttackedServer.Patience && !IsExport(path))
            {
                if (again)
                    findings.Add($"{after}: {path} took {took.TotalSeconds:0.0} s");
                else
                    await OnceMoreAsync(() => LookAtAsync(path, after, again: true));
            }
        }
        catch (OperationCanceledException) when (!again)
        {
            await OnceMoreAsync(() => LookAtAsync(path, after, again: true));
        }
        catch (Exception fault) when (fault is HttpRequestException or OperationCanceledException or IOException)
        {
            findings.Add($"{after}: {path}: {fault.Message}");
        }
    }

    private Task OnceMoreAsync(Func<Task> look)
    {
        slowOnce++;
        return look();
    }

    /// <summary>Ready, or it says why not; a time that is doubted is confirmed, as people do.</summary>
    private async Task HealthAsync(string after, bool again = false)
    {
        try
        {
            using var answer = await server.SendAsync(server.By("stranger"), HttpMethod.Get, "/health/ready");
            using var said = JsonDocument.Parse(await answer.Content.ReadAsStringAsync());
            foreach (var check in said.RootElement.GetProperty("checks").EnumerateObject())
            {
                if (check.Value.GetProperty("ok").GetBoolean())
                    continue;
                if (check.Name == "clock")
                    using (await server.SendAsync(server.By(Callers.Supervisor), HttpMethod.Post,
                        "/api/v1/clock/confirm", """{"machine":true}"""))
                        continue;
                if (string.IsNullOrEmpty(check.Value.GetProperty("sentence").GetString()))
                    findings.Add($"{after}: {check.Name} is not well and says nothing");
                else if (!IsToldAtTheBench(await server.JsonAsync(server.By(Callers.Supervisor),
                    "/api/v1/benches/bench-1")))
                    findings.Add($"{after}: {check.Name} is not well, and no alarm stands");
            }

            if (await server.JsonAsync(server.By(Callers.Supervisor), "/api/v1/benches/bench-1") is not { } snapshot)
                findings.Add($"{after}: the bench shows nothing");
            else if (snapshot.GetProperty("batch").GetProperty("phase").GetString() == "running"
                && Shows(snapshot) == 0)
                findings.Add($"{after}: a batch runs, nothing is due, and nothing says why");
        }
        catch (OperationCanceledException) when (!again)
        {
            await OnceMoreAsync(() => HealthAsync(after, again: true));
        }
        catch (Exception fault) when (fault is HttpRequestException or OperationCanceledException or JsonException)
        {
            findings.Add($"{after}: /health/ready: {fault.Message}");
        }
    }

    private static bool IsToldAtTheBench(JsonElement? snapshot) =>
        snapshot is { } shown && shown.GetProperty("alarms").GetArrayLength() > 0;

    /// <summary>How much a bench shows that could be done, awaited or seen to.</summary>
    private static int Shows(JsonElement snapshot) => snapshot.EnumerateObject()
        .Where(member => member.Name is "offers" or "upcoming" or "alarms" or "questions" or "missingResults"
            or "losses" or "notPlanned" or "labels")
        .Sum(member => member.Value.ValueKind == JsonValueKind.Array ? member.Value.GetArrayLength() : 0);

    /// <summary>What is shown after a kill and a replay is what was shown before.</summary>
    private async Task RestartAndCompareAsync()
    {
        var before = await server.JsonAsync(server.By(Callers.Supervisor), "/api/v1/benches/bench-1");
        try
        {
            server.VerifyByReplay();
            await server.RestartAsync();
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            findings.Add("after a kill: " + fault.Message);
            return;
        }

        var after = await server.JsonAsync(server.By(Callers.Supervisor), "/api/v1/benches/bench-1");
        foreach (var member in new[] { "missingResults", "labels", "unchecked" })
            if (Text(before, member) != Text(after, member))
                findings.Add($"after a kill the bench shows other {member}: "
                    + $"{Text(before, member)} {Text(after, member)}");
    }

    private static string Text(JsonElement? snapshot, string member) =>
        snapshot is { } shown && shown.TryGetProperty(member, out var value) ? value.ToString() : "";

    /// <summary>Requests and a batch anew, where earlier cases have ended it.</summary>
    private async Task ReviveAsync()
    {
        using (await server.SendAsync(server.By(Callers.Supervisor), HttpMethod.Post,
            "/api/v1/benches/bench-1/requests",
            """{"requests":[{"specimen":"SP-500","assay":"DA"},{"specimen":"SP-501","assay":"DB"}]}"""))
        {
        }

        await SayAsync("resume-intake");
        await SayAsync("start-batch");
        await RefreshAsync();
        if (known.Requests.Count > 0)
            await SayAsync("mixed", $",\"request\":\"{known.Requests[^1]}\"");
    }

    private async Task RefreshAsync()
    {
        var shown = await server.JsonAsync(server.By(Callers.Supervisor), "/api/v1/benches/bench-1");
        known = new Known(
            shown is { } snapshot ? [.. snapshot.GetProperty("labels").EnumerateArray()
                .Select(label => label.TryGetProperty("request", out var request) ? request.GetString()! : "R01")] : [],
            SystemClock.Instance.GetCurrentInstant(), lastReport);
    }

    private async Task SayAsync(string kind, string more = "")
    {
        lastReport = Guid.NewGuid().ToString("N");
        var now = NodaTime.Text.InstantPattern.ExtendedIso.Format(SystemClock.Instance.GetCurrentInstant());
        using var answer = await server.SendAsync(server.By(Callers.Aide), HttpMethod.Post,
            "/api/v1/benches/bench-1/commands",
            $$"""
            {"id":"{{lastReport}}","kind":"{{kind}}","at":"{{now}}","stated":false,"device":"tablet-1",
            "locked":false{{more}}}
            """);
    }

    private static bool IsExport(string path) => path.EndsWith(".csv", StringComparison.Ordinal)
        || path.EndsWith(".jsonl", StringComparison.Ordinal);

    private static async Task<string> TextAsync(HttpResponseMessage answer)
    {
        var text = await answer.Content.ReadAsStringAsync();
        return text[..Math.Min(text.Length, 300)];
    }
}
