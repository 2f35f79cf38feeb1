using System.Globalization;
using System.Net;
using System.Text.RegularExpressions;
using Incubation.TestKit;
using Microsoft.Playwright;
using Cookie = Microsoft.Playwright.Cookie;

namespace Incubation.Browser.Tests;

/// <summary>
/// The real server in a process of its own, on a real data file, that can be killed and started again.
/// </summary>
internal sealed partial class ServerProcess : IAsyncDisposable
{
    /// <summary>Beside the data file: by which clock a demo's data was written.</summary>
    public const string ClockFile = "incubation.clock.json";

    /// <summary>The option that invents a month behind the demo's morning.</summary>
    public const string Month = "--month";

    private const string DataName = "incubation.db";
    private const string DemoFolder = "demo";
    private const string SessionCookie = "incubation";
    private readonly string? demo;
    private readonly string[] options;
    private readonly bool works;
    private readonly Dictionary<string, string> tokens = [];
    private ProgramProcess? process;

    private ServerProcess(string folder, string? demo, string[] options, bool works = false)
    {
        Folder = folder;
        this.demo = demo;
        this.options = options;
        this.works = works || options.Contains(Month);
        Address = new Uri(string.Create(CultureInfo.InvariantCulture,
            $"http://127.0.0.1:{ProgramProcess.FreePort()}/"));
    }

    public Uri Address { get; }

    /// <summary>Where all that the server keeps lies.</summary>
    public string Folder { get; }

    /// <summary>The data file; to be opened only while the server is not running.</summary>
    public string DataFile => Path.Combine(Folder, DataName);

    /// <summary>Starts the demo on an empty data folder.</summary>
    /// <param name="cancel">Ends the wait.</param>
    /// <param name="requests">Only these of the demo's requests, all ready at the start; null for the whole
    /// morning.</param>
    /// <param name="options">Further options of the command line.</param>
    public static async Task<ServerProcess> StartDemo(CancellationToken cancel, string[]? requests = null,
        params string[] options)
    {
        var folder = Directory.CreateTempSubdirectory("incubation-browser-").FullName;
        var demo = requests is null ? Repository.Demo : ShortMorning.Write(Path.Combine(folder, DemoFolder), requests);
        return await Started(new ServerProcess(folder, demo, options), cancel);
    }

    /// <summary>Starts the demo with its whole morning for a test that has much worked out.</summary>
    public static Task<ServerProcess> StartWorking(CancellationToken cancel) => Started(new ServerProcess(
        Directory.CreateTempSubdirectory("incubation-browser-").FullName, Repository.Demo, [], works: true), cancel);

    /// <summary>
    /// The demo, whose requests came half an hour ago by the server's clock: what is told of their cartridges may have
    /// happened since.
    /// </summary>
    public static Task<ServerProcess> StartEarlierDemo(string[] requests, CancellationToken cancel,
        params string[] options) => GoOn(requests, month: false, TimeSpan.FromMinutes(30), options, cancel);

    /// <summary>The demo with its whole morning, and an invented month behind it.</summary>
    public static Task<ServerProcess> StartMonth(CancellationToken cancel) =>
        GoOn(null, month: true, TimeSpan.Zero, [], cancel);

    /// <summary>Goes on from a demo that was begun once for all tests, on a copy.</summary>
    private static async Task<ServerProcess> GoOn(string[]? requests, bool month, TimeSpan later, string[] options,
        CancellationToken cancel)
    {
        var begun = await BegunDemo.Of(requests, month).WaitAsync(cancel);
        var folder = Directory.CreateTempSubdirectory("incubation-browser-").FullName;
        begun.CopyTo(folder, later);
        return await Started(new ServerProcess(folder,
            requests is null ? Repository.Demo : Path.Combine(folder, DemoFolder), options), cancel);
    }

    /// <summary>Starts without a demo, on an empty data folder.</summary>
    public static Task<ServerProcess> StartEmpty(CancellationToken cancel) => Started(
        new ServerProcess(Directory.CreateTempSubdirectory("incubation-browser-").FullName, null, []), cancel);

    /// <summary>
    /// A server that answers; where it does not come to that, neither its process nor its folder is left.
    /// </summary>
    private static async Task<ServerProcess> Started(ServerProcess server, CancellationToken cancel)
    {
        try
        {
            await server.Start(cancel);
            return server;
        }
        catch
        {
            await server.DisposeAsync();
            throw;
        }
    }

    public async Task Start(CancellationToken cancel)
    {
        string[] arguments =
        [
            .. demo is null ? Array.Empty<string>() : ["--demo", demo], "--data", DataFile,
            "--urls", Address.GetLeftPart(UriPartial.Authority), .. options,
        ];
        process = new ProgramProcess(Repository.ServerDll, arguments, start =>
        {
            start.WorkingDirectory = Folder;
            // It lives for a minute at most: to compile anew what is called often would take a seventh of its work.
            // Where a month is invented or a bench is tried, what is called often is all the work: it pays there.
            if (!works)
                start.Environment["DOTNET_TC_CallCounting"] = "0";
        });
        using var client = new HttpClient { BaseAddress = Address };
        await process.UntilAnsweredAsync<HttpStatusCode>(async limit =>
        {
            using var answer = await client.GetAsync(new Uri("sign-in", UriKind.Relative), limit);
            return answer.StatusCode == HttpStatusCode.OK ? answer.StatusCode : null;
        }, Patience.Usual, cancel);
    }

    /// <summary>A client that is signed in as one of the demo's people.</summary>
    public async Task<HttpClient> ClientAs(string person, CancellationToken cancel)
    {
        var client = new HttpClient { BaseAddress = Address };
        client.DefaultRequestHeaders.Add("Cookie", $"{SessionCookie}={await TokenOf(person, cancel)}");
        return client;
    }

    /// <summary>Signs a page's browser in as one of the demo's people.</summary>
    public async Task SignIn(IPage page, string person, CancellationToken cancel) => await page.Context.AddCookiesAsync(
        [new Cookie { Name = SessionCookie, Value = await TokenOf(person, cancel), Url = Address.ToString(),
            HttpOnly = true }]);

    private async Task<string> TokenOf(string person, CancellationToken cancel)
    {
        if (tokens.TryGetValue(person, out var known))
            return known;
        var cookies = new CookieContainer();
        using var handler = new HttpClientHandler { CookieContainer = cookies };
        using var client = new HttpClient(handler) { BaseAddress = Address };
        var html = await client.GetStringAsync(new Uri("sign-in", UriKind.Relative), cancel);
        // The button with which the demo signs its invented people in.
        var form = Forms().Matches(html).Select(one => one.Value)
            .Single(one => one.Contains($"value=\"{person}\"", StringComparison.Ordinal));
        using var fields = new FormUrlEncodedContent(Hidden().Matches(form)
            .Select(field => KeyValuePair.Create(field.Groups[1].Value, field.Groups[2].Value)));
        using var answer = await client.PostAsync(new Uri("sign-in", UriKind.Relative), fields, cancel);
        return tokens[person] = cookies.GetCookies(Address)[SessionCookie]?.Value
            ?? throw new InvalidOperationException("Not signed in: " + answer.StatusCode);
    }

    [GeneratedRegex("<form.*?</form>", RegexOptions.Singleline)]
    private static partial Regex Forms();

    [GeneratedRegex("""<input type="hidden" name="([^"]+)" value="([^"]*)" ?/?>""")]
    private static partial Regex Hidden();

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
        Directory.Delete(Folder, recursive: true);
        return ValueTask.CompletedTask;
    }
}
