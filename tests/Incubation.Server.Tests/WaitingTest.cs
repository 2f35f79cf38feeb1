using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Commands;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Server.Tests;

/// <summary>Nobody falls off the list: who still waits, over batches, as page, as record and over HTTP.</summary>
public sealed class WaitingTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();
    private readonly HttpClient lena;

    public WaitingTest() => lena = server.ClientAs("lena");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private BenchState State => server.Services.GetRequiredService<BenchRegistry>().Find("bench-1")!.Present.State;

    public ValueTask DisposeAsync()
    {
        lena.Dispose();
        return server.DisposeAsync();
    }

    [Fact]
    public async Task Requests_WithoutAValue_AreOnThePageInTheRecordAndOverHttp()
    {
        var all = State.Cartridges.Select(cartridge => cartridge.Id.Value).ToList();
        Assert.Equal(all.Order(StringComparer.Ordinal), await Waiting("waiting"));
        await Must(Flat("start-batch"));
        await Must(Flat("mixed") with { Request = "R06" });
        await Must(Flat("discarded") with { Request = "R06", Reason = "dropped" });
        await Must(Flat("mixed") with { Request = "R05" });
        await Must(Flat("discarded") with { Request = "R05", Reason = "bubbles" });
        Assert.Equal(2, (await Get("day")).GetProperty("open").GetInt32());
        var refused = await Send(Flat("close-batch"));
        Assert.Contains("nobody has said what becomes of it", refused.GetProperty("sentence").GetString(),
            StringComparison.Ordinal);
        Assert.Contains("open: nobody has said", await Page("/waiting"), StringComparison.Ordinal);

        await Must(Flat("carry-over") with { Request = "R05" });
        var unmeant = await Send(Flat("give-up") with { Request = "R06", Words = "clotted" });
        Assert.Equal("refused", unmeant.GetProperty("kind").GetString());
        await Must(Flat("give-up") with { Request = "R06", Words = "clotted", Anyway = true });
        foreach (var other in all.Where(id => id is not ("R06" or "R05")))
            await Must(Flat("carry-over") with { Request = other });
        await Must(Flat("close-batch"));

        Assert.Equal(2, State.Batch);
        Assert.Equal([.. all.Where(id => id is not ("R06" or "R05")).Append("R05-2").Order(StringComparer.Ordinal)],
            await Waiting("waiting"));
        Assert.Equal(["R06"], await Waiting("ended"));
        var clinic = server.Services.GetRequiredService<ClinicHost>();
        Assert.Contains(new RequestId("R05-2"), clinic.Log.Requests);
        var page = await Page("/waiting");
        Assert.Contains("repeat of R05 · from batch 1", page, StringComparison.Ordinal);
        Assert.Contains("ended without a value: clotted", page, StringComparison.Ordinal);
        var record = await Page("/record/bench-1/1");
        Assert.Contains("Without a value", record, StringComparison.Ordinal);
        Assert.Contains("repeat in the next batch", record, StringComparison.Ordinal);
        Assert.Contains("carried over to the next batch", record, StringComparison.Ordinal);
        Assert.Contains("ended without a value: clotted", record, StringComparison.Ordinal);
        Assert.Contains("Carried over from batch 1", await Page("/record/bench-1/2"), StringComparison.Ordinal);
    }

    /// <summary>
    /// Who waits for a value waits until there is one; a wall counts what hands have still to bring through a bench:
    /// two counts, by two names.
    /// </summary>
    [Fact]
    public async Task Urgent_ThatWasDiscarded_StillWaits_AndIsOnNoBench_AsBothPagesSay()
    {
        var urgent = State.Cartridges.First(one => one.Wanted.Request.Priority == Priority.Urgent).Id.Value;
        await Must(Flat("start-batch"));
        var before = (await Get("day")).GetProperty("urgentWaiting").GetInt32();
        await Must(Flat("mixed") with { Request = urgent });
        await Must(Flat("discarded") with { Request = urgent, Reason = "dropped" });

        Assert.Contains(urgent, await Waiting("waiting"));
        Assert.Equal(before - 1, (await Get("day")).GetProperty("urgentWaiting").GetInt32());
        Assert.Contains("A wall counts as urgent or late only what is on a bench.", await Page("/waiting"),
            StringComparison.Ordinal);
        var wall = await Page("/wall");
        Assert.Contains("Urgent on benches", wall, StringComparison.Ordinal);
        Assert.Contains("Late on benches", wall, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Cartridge_ThatWasRead_WaitsUntilItsValueIsEntered_AndNobodyHasToSayWhatBecomesOfIt()
    {
        await Must(Flat("start-batch"));
        // A demo's assay of 8 min with a window of 90 s.
        await Must(Flat("card-changed") with { Reader = 1, Lot = "DB-L1" });
        await Must(Flat("mixed") with { Request = "R06" });
        await Must(Flat("loaded", 560) with { Request = "R06", Slot = 2 });
        await Must(Flat("read-started", 60) with { Request = "R06", Reader = 1 });
        await Must(Flat("cleared") with { Request = "R06", Reader = 1 });

        var line = (await Get("waiting")).GetProperty("waiting").EnumerateArray()
            .Single(one => one.GetProperty("request").GetString() == "R06");
        Assert.Equal("to be entered", line.GetProperty("fate").GetString());
        Assert.False(line.GetProperty("isOpen").GetBoolean());
        Assert.Contains("result missing", line.GetProperty("status").GetString(), StringComparison.Ordinal);
        Assert.Contains($"{State.Cartridges.Length} requests without a value", await Page("/waiting"),
            StringComparison.Ordinal);

        await Must(Flat("result") with { Request = "R06", Value = "1.8", Shown = "SP-005" });
        Assert.DoesNotContain("R06", await Waiting("waiting"));
    }

    [Fact]
    public async Task Page_ForAWall_IsNotThere()
    {
        using var stranger = server.CreateClient();
        using var answer = await stranger.GetAsync(new Uri("/api/v1/waiting", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.Unauthorized, answer.StatusCode);
    }

    private async Task<List<string>> Waiting(string list) =>
    [
        .. (await Get("waiting")).GetProperty(list).EnumerateArray()
            .Select(line => line.GetProperty("request").GetString()!).Order(StringComparer.Ordinal),
    ];

    private async Task<JsonElement> Get(string address) =>
        await lena.GetFromJsonAsync<JsonElement>(new Uri("/api/v1/" + address, UriKind.Relative), Cancel);

    private async Task<string> Page(string address) =>
        WebUtility.HtmlDecode(await lena.GetStringAsync(new Uri(address, UriKind.Relative), Cancel));

    private async Task Must(ScreenCommand command)
    {
        var answer = await Send(command);
        Assert.True(answer.GetProperty("kind").GetString() == "recorded", $"{command.Kind}: {answer}");
    }

    private async Task<JsonElement> Send(ScreenCommand command)
    {
        using var answer = await lena.PostAsJsonAsync("/api/v1/benches/bench-1/commands", command, Cancel);
        return await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
    }

    private static ScreenCommand Flat(string kind, int secondsAgo = 0) => new(
        Guid.NewGuid().ToString("N", CultureInfo.InvariantCulture), kind, InstantPattern.ExtendedIso.Format(
            SystemClock.Instance.GetCurrentInstant() - Duration.FromSeconds(secondsAgo)), secondsAgo > 0,
        "test", null, null, null, null, null, null, null, null, null, null, null, null);
}
