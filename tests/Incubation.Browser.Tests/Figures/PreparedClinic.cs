using System.Globalization;
using System.Text.Json.Nodes;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Log;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.TestKit;
using Microsoft.Playwright;

namespace Incubation.Browser.Tests.Figures;

/// <summary>
/// The demo's clinic with so many benches, each with the demo's morning, and a program's key that opens all of them.
/// </summary>
internal sealed class PreparedClinic : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-figures-").FullName;

    private PreparedClinic()
    {
    }

    /// <summary>Opens every bench to look and to report.</summary>
    public string Key { get; private set; } = "";

    private string Demo => Path.Combine(folder, "demo");

    private string Seeded => Path.Combine(folder, "seeded.db");

    public static async Task<PreparedClinic> MakeAsync(int benches, CancellationToken cancel)
    {
        var clinic = new PreparedClinic();
        clinic.WriteDemo(benches);
        await using (var server = await FigureServer.StartAsync(clinic.Demo, clinic.Seeded, 1, cancel))
            await server.StopAsync(cancel);
        using var file = DataFile.Open(clinic.Seeded);
        var book = new ClinicHost(file);
        var clock = new BenchClock(TimeProvider.System, 1);
        var store = new PeopleStore(file, book.Log);
        var desk = new DeviceService(book, store,
            new Sessions(book, store, clock, SessionLengths.Usual, TimeProvider.System),
            new BackOff(TimeProvider.System), clock, TimeProvider.System);
        clinic.Key = desk.MakeKey("Figures", [KeyScope.Look, KeyScope.Requests, KeyScope.Bench], null,
            new PersonId("mara"), new DeviceId("figures")).Shown!;
        return clinic;
    }

    /// <summary>A server on a copy of the morning, at its beginning.</summary>
    public Task<FigureServer> StartAsync(double pace, CancellationToken cancel)
    {
        var copy = Path.Combine(Directory.CreateDirectory(Path.Combine(folder, Guid.NewGuid().ToString("N"))).FullName,
            "incubation.db");
        File.Copy(Seeded, copy);
        File.Copy(SigningKey.PathBeside(Seeded), SigningKey.PathBeside(copy));
        return FigureServer.StartAsync(Demo, copy, pace, cancel);
    }

    public void Dispose() => Directory.Delete(folder, recursive: true);

    private void WriteDemo(int benches)
    {
        Directory.CreateDirectory(Demo);
        File.Copy(Path.Combine(Repository.Demo, "assays.json"), Path.Combine(Demo, "assays.json"));
        for (var number = 1; number <= benches; number++)
            File.WriteAllText(Path.Combine(Demo, Morning(number)), MorningOf(number));
        var clinic = JsonNode.Parse(File.ReadAllText(Path.Combine(Repository.Demo, "clinic.json")))!;
        clinic["benches"] = new JsonArray([.. Enumerable.Range(1, benches).Select(number => (JsonNode)new JsonObject
        {
            ["id"] = string.Create(CultureInfo.InvariantCulture, $"bench-{number}"),
            ["name"] = string.Create(CultureInfo.InvariantCulture, $"Bench {number}"),
            ["promptAhead"] = 20,
            ["day"] = Morning(number),
        })]);
        foreach (var lot in clinic["lots"]!.AsArray())
            lot!["count"] = benches * lot["count"]!.GetValue<int>();
        File.WriteAllText(Path.Combine(Demo, "clinic.json"), clinic.ToJsonString());
    }

    private static string Morning(int bench) => string.Create(CultureInfo.InvariantCulture, $"morning-{bench}.json");

    /// <summary>The demo's morning for one bench of many: a request's id is given once in a clinic.</summary>
    private static string MorningOf(int bench)
    {
        var day = JsonNode.Parse(File.ReadAllText(Path.Combine(Repository.Demo, "morning.json")))!;
        foreach (var request in day["requests"]!.AsArray())
            request!["id"] = string.Create(CultureInfo.InvariantCulture, $"B{bench}-{request["id"]}");
        return day.ToJsonString();
    }
}

/// <summary>A demo server of these figures, in a process of its own.</summary>
internal sealed class FigureServer : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(120);
    private readonly string[] arguments;
    private ProgramProcess process;

    private FigureServer(string[] arguments, Uri address, double pace)
    {
        this.arguments = arguments;
        (Address, Pace) = (address, pace);
        process = new ProgramProcess(Repository.ServerDll, arguments);
    }

    public Uri Address { get; }

    /// <summary>Seconds of the server's time in a real one.</summary>
    public double Pace { get; }

    public System.Diagnostics.Process Process => process.Process;

    public static async Task<FigureServer> StartAsync(string demo, string data, double pace, CancellationToken cancel)
    {
        var address =
            new Uri(string.Create(CultureInfo.InvariantCulture, $"http://127.0.0.1:{ProgramProcess.FreePort()}/"));
        string[] arguments =
        [
            "--demo", demo, "--data", data, "--urls", address.GetLeftPart(UriPartial.Authority),
            "--pace", pace.ToString(CultureInfo.InvariantCulture),
        ];
        var server = new FigureServer(arguments, address, pace);
        await server.UntilReadyAsync(cancel);
        return server;
    }

    /// <summary>kill -9, a while of nothing, and a new start.</summary>
    public async Task KillAndStartAsync(TimeSpan pause, CancellationToken cancel)
    {
        await process.KillAsync(cancel);
        process.Dispose();
        await Task.Delay(pause, cancel);
        process = new ProgramProcess(Repository.ServerDll, arguments);
        await UntilReadyAsync(cancel);
    }

    /// <summary>
    /// A page of this server as one of the demo's aides sees it, from when it shows what is waited for.
    /// </summary>
    public async Task<IPage> OpenAsync(Browser browser, int width, int height, string address, string until,
        string? script = null)
    {
        var page = await browser.Open(width, height);
        if (script is not null)
            await page.AddInitScriptAsync(script);
        await page.GotoAsync(new Uri(Address, "sign-in").ToString());
        await page.GetByText("Sign in as Lena").ClickAsync();
        await page.WaitForURLAsync(Address.ToString());
        await page.GotoAsync(new Uri(Address, address).ToString());
        await page.WaitForSelectorAsync(until);
        return page;
    }

    public async Task StopAsync(CancellationToken cancel)
    {
        process.Terminate();
        await Process.WaitForExitAsync(cancel).WaitAsync(Patience, cancel);
    }

    public ValueTask DisposeAsync()
    {
        process.Dispose();
        return ValueTask.CompletedTask;
    }

    private async Task UntilReadyAsync(CancellationToken cancel)
    {
        using var client = new HttpClient { BaseAddress = Address };
        await process.UntilAnsweredAsync<bool>(
            async limit => (await client.GetAsync(new Uri("health/live", UriKind.Relative), limit)).IsSuccessStatusCode
                ? true : null, Patience, cancel);
    }
}
